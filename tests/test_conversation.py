"""The loop: on disk before spoken, resume, and faults, with real parts but no sound."""

import pytest

from assistant.conversation import Conversation
from assistant.errors import HosesideError
from assistant.hearing.ears import EndOfInput, KeyboardEars
from assistant.hearing.sources import Fault
from assistant.job import events as e
from assistant.job.plan import make_plan
from assistant.joblog.store import MemoryLog, SqliteLog
from assistant.speaking.mouth import Mouth
from assistant.speaking.voice import TextVoice
from assistant.testing import FINISH, PRE_START, SET_UP, START, RecordingVoice, shipped_profile

PLAN = make_plan(shipped_profile())


def converse(lines, log=None, voice=None, show=lambda _s: None):
    """Run typed lines to their end; the state and the log."""
    log = log or MemoryLog()
    mouth = Mouth(voice or TextVoice(), show)
    talk = Conversation(PLAN, KeyboardEars(list(lines)), mouth, log)
    return talk.run("Test job"), log


def test_a_whole_job_by_keyboard():
    """From the greeting to the end."""
    state, log = converse(SET_UP + PRE_START + START + FINISH)
    assert state.over
    assert isinstance(list(log.entries())[-1].event, e.JobFinished)


def test_nothing_is_spoken_before_it_is_in_the_log():
    """When "Logged." is said, the value is on record already."""
    log = MemoryLog()
    seen = []

    def show(saying):
        if saying.text == "Logged.":
            seen.append(sum(isinstance(x.event, e.ValueConfirmed) for x in log.entries()))

    converse(SET_UP[:6], log, show=show)
    assert seen == [1, 2, 3]


def test_a_log_that_cannot_write_stops_before_a_word():
    """A full disk: the error comes out and "Logged." was never said."""
    class Full(MemoryLog):
        def append(self, event):
            if isinstance(event, e.ValueConfirmed):
                raise HosesideError("the disk is full")
            super().append(event)

    said = []
    with pytest.raises(HosesideError, match="disk is full"):
        converse(SET_UP[:2], Full(), show=lambda s: said.append(s.text))
    assert "Logged." not in said


@pytest.mark.parametrize("cut", [1, 8, 14, 30, 45])
def test_resumed_anywhere_the_job_ends_the_same(tmp_path, cut):
    """Cut off after any line and resumed from disk, the answers and values are the same."""
    lines = SET_UP + PRE_START + START + FINISH
    path = tmp_path / "cut.job"
    first = SqliteLog(path, create=True)
    converse(lines[:cut], first)
    first.close()
    second = SqliteLog(path)
    state, _ = converse(lines[cut:], second)
    second.close()
    whole, _ = converse(lines)
    assert state.over
    assert state.answered == whole.answered
    assert {k: v.value for k, v in state.logged.items()} == {
        k: v.value for k, v in whole.logged.items()}


def test_a_lost_microphone_is_logged_and_announced():
    """The fault from the ears pauses the list and says so."""
    class Failing(KeyboardEars):
        faults = iter([Fault("lost", 1.0)])

        def poll(self, may, own_words):
            if own_words is None and (fault := next(self.faults, None)):
                return fault
            return EndOfInput() if own_words is None else super().poll(may, own_words)

    said = []
    log = MemoryLog()
    Conversation(PLAN, Failing([]), Mouth(TextVoice(), lambda s: said.append(s.text)), log
                 ).run("Test")
    assert any(isinstance(x.event, e.FaultNoticed) for x in log.entries())
    assert any("Microphone lost" in text for text in said)


def test_a_silent_speaker_pauses_the_list():
    """It is announced on what is left: the screen."""
    class Dying(RecordingVoice):
        alive = False

    said = []
    log = MemoryLog()
    Conversation(PLAN, KeyboardEars(["(2 s)"]), Mouth(Dying(), lambda s: said.append(s.text)), log
                 ).run("Test")
    assert any(isinstance(x.event, e.StoodBy) and x.event.why == "sound lost"
               for x in log.entries())
    assert any("Look at the screen" in text for text in said)


def test_time_passes_for_reminders_and_warnings():
    """Silence on the ears' clock leads to the question being put again."""
    said = []
    mouth = Mouth(TextVoice(), lambda s: said.append(s.text))
    Conversation(PLAN, KeyboardEars(["(25 s)", "(1 s)", "(1 s)", "(1 s)", "(1 s)", "(1 s)"]),
                 mouth, MemoryLog()).run("Test")
    assert said.count("Line diameter?") == 2
