"""The speech queue: order, priorities, cutting in, and nothing lost."""

from assistant.speaking.mouth import Mouth
from assistant.speaking.words import Saying
from assistant.testing import RecordingVoice


def mouth(seconds=1.0):
    """A mouth with a voice that takes a second a sentence."""
    voice = RecordingVoice(seconds)
    shown = []
    return Mouth(voice, shown.append), voice, shown


def run(m, until, step=0.05, start=0.0):
    """Pump to a time."""
    now = start
    while now < until:
        m.pump(now)
        now += step


def test_sentences_are_said_one_after_the_other():
    """In the order given."""
    m, voice, _ = mouth()
    m.say(Saying("one"))
    m.say(Saying("two"))
    run(m, 0.5)
    assert [t for t, _ in voice.said] == ["one"]
    run(m, 2.5, start=0.5)
    assert [t for t, _ in voice.said] == ["one", "two"]


def test_a_high_warning_cuts_in_within_150_ms_and_the_prompt_is_said_again():
    """At the next look, with the tone; what it cut off starts over after it."""
    m, voice, _ = mouth()
    m.say(Saying("a long prompt"))
    run(m, 0.5)
    m.say(Saying("Warning.", "high"))
    m.pump(0.5)
    assert voice.cut_off == ["a long prompt"]
    assert voice.said[-1] == ("Warning.", True)
    run(m, 3.0, start=0.5)
    assert [t for t, _ in voice.said] == ["a long prompt", "Warning.", "a long prompt"]


def test_low_waits_for_a_gap():
    """A reminder comes after everything else, whenever it was queued."""
    m, voice, _ = mouth()
    m.say(Saying("reminder", "low"))
    m.say(Saying("prompt"))
    run(m, 3.0)
    assert [t for t, _ in voice.said] == ["prompt", "reminder"]


def test_a_high_warning_does_not_cut_off_another():
    """Never more than one high warning speaking."""
    m, voice, _ = mouth()
    m.say(Saying("Warning one.", "high"))
    run(m, 0.5)
    m.say(Saying("Warning two.", "high"))
    run(m, 0.9, start=0.5)
    assert voice.cut_off == [] and len(voice.said) == 1


def test_everything_spoken_is_shown_as_it_begins():
    """Never speech alone."""
    m, voice, shown = mouth()
    for text in ("one", "two"):
        m.say(Saying(text))
    run(m, 3.0)
    assert [s.text for s in shown] == [t for t, _ in voice.said]


def test_hush_keeps_only_high():
    """An emergency drops prompts that wait."""
    m, voice, _ = mouth()
    m.say(Saying("prompt"))
    m.pump(0.0)
    m.say(Saying("next prompt"))
    m.hush()
    m.say(Saying("Emergency.", "high"))
    run(m, 3.0)
    assert [t for t, _ in voice.said] == ["prompt", "Emergency."]
    assert voice.cut_off == ["prompt"]
