"""The default recogniser on the demo's recorded operator: real weights, real sound."""

import numpy as np
import pytest

from assistant import paths
from assistant.errors import HosesideError
from assistant.hearing.operator import load_script
from assistant.hearing.recogniser import RATE
from assistant.hearing.whisper import Whisper, hint
from assistant.meaning.results import MaySay, Misheard, Reading, Request
from assistant.meaning.weigh import understand

SCRIPT = load_script(paths.ROOT / "demo" / "job.yaml")


def clip(text):
    """One line of the recorded operator with some silence around it."""
    pcm = next(x.pcm for x in SCRIPT.lines if x.say == text)
    quiet = np.zeros(RATE // 2, dtype=np.int16)
    return np.concatenate([quiet, pcm, quiet])


def test_a_reading_is_heard(whisper):
    """Quantity, value and unit of a spoken reading."""
    may = MaySay(readings=frozenset({"hose out", "hose in", "inlet pressure"}))
    found = understand(whisper.transcribe(clip("hose out thirty feet"), may), may)
    assert found.meaning == Reading("hose out", 30, "ft", digits=True)
    assert 0 < found.score <= 1


def test_an_answer_is_heard(whisper):
    """A procedure word."""
    may = MaySay(frozenset({"confirm", "deny", "say_again"}))
    assert understand(whisper.transcribe(clip("affirmative"), may), may).meaning == Request(
        "confirm")


def test_silence_is_nothing(whisper):
    """Two seconds of silence are no answer."""
    may = MaySay(frozenset({"confirm", "deny"}))
    heard = whisper.transcribe(np.zeros(2 * RATE, dtype=np.int16), may)
    assert isinstance(understand(heard, may).meaning, Misheard)


def test_hint_has_the_words_and_no_example_numbers():
    """Example numbers in the prompt come back as answers (measured, design.md)."""
    text = hint(MaySay(frozenset({"confirm"}), quantity="inlet pressure"))
    assert "nlet pressure" in text
    assert not any(word in text.split() for word in ("one", "twenty")) and not any(
        c.isdigit() for c in text)


def test_a_folder_without_weights_is_one_sentence(tmp_path):
    """It names the folder and the mend."""
    with pytest.raises(HosesideError, match=r"lacks model.bin.*models --fetch"):
        Whisper(tmp_path)
