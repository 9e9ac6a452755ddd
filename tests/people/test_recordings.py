"""Hearing on the shared recordings in quiet: a floor, so that a change that breaks it is seen. The
full table over noise is `make bench`. Skipped, by name, where the recordings are absent."""

from collections import Counter

from assistant.hearing.listen import may_say_for
from assistant.meaning.weigh import understand
from tests.benchmarks.__main__ import outcome
from tests.benchmarks.mixing import mixed, samples


def test_quiet_recordings_are_heard(recordings, whisper):
    """Every fifth recording: readings and answers mostly right, hardly any wrong, side talk never
    taken, yes and no never swapped."""
    counts = {}
    for sample in samples()[::5]:
        may = may_say_for(sample.expect, None)
        meaning = understand(whisper.transcribe(mixed(sample, [], None), may), may).meaning
        kind = "side talk" if sample.meaning == "none" else sample.expect
        found = outcome(meaning, sample)
        counts.setdefault(kind, Counter())[found] += 1
        if sample.meaning in ("confirm", "deny"):
            swapped = {"confirm": "deny", "deny": "confirm"}[sample.meaning]
            assert getattr(meaning, "name", "") != swapped, sample
    for kind, floor in (("reading", 0.8), ("answer", 0.8), ("number", 0.55)):
        total = counts[kind].total()
        assert counts[kind]["right"] / total >= floor, counts
        assert counts[kind]["wrong"] / total <= 0.1, counts
    assert counts["side talk"]["wrong"] == 0, counts
