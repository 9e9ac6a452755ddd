"""Ears: the tool's own voice ignored, emergency heard over it, faults passed on."""

from collections.abc import Iterator

import numpy as np

from assistant.hearing.detector import FRAME, FRAME_SECONDS, SpeechDetector
from assistant.hearing.ears import EndOfInput, KeyboardEars, Said, SoundEars
from assistant.hearing.recogniser import Heard, Hypothesis
from assistant.hearing.sources import Fault, Frame
from assistant.meaning.results import MaySay, Request


class Source:
    """Frames whose first sample tells the fake detector the speech probability."""

    live = False

    def __init__(self, levels):
        self._levels: Iterator = iter(levels)
        self._at = 0.0

    def read(self):
        level = next(self._levels, None)
        if level is None or isinstance(level, Fault):
            return level
        frame = Frame(np.full(FRAME, level, dtype=np.int16), self._at)
        self._at += FRAME_SECONDS
        return frame

    def tool_speaks(self, speaking):
        pass

    def close(self):
        pass


class Says:
    """A recogniser that always hears one text."""

    name = "fake"

    def __init__(self, text):
        self.text, self.asked = text, []

    def transcribe(self, pcm, may):
        self.asked.append(may)
        return Heard(self.text, (Hypothesis(self.text, 0.0),), 0.9, 0.1)


SPEECH, PAUSE = [1000] * 20, [0] * 30
MAY = MaySay(frozenset({"confirm"}), states=("worn",))


def listen(levels, text, own=None):
    """Everything perceived in a run of frames."""
    ears = SoundEars(Source(levels), Says(text),
                     SpeechDetector(probability=lambda frame: 0.9 if frame[0] else 0.0))
    found = []
    while not isinstance(found[-1] if found else None, EndOfInput):
        perceived = ears.poll(MAY, own(ears.now()) if own else None)
        if perceived is not None:
            found.append(perceived)
    return found


def test_an_utterance_is_understood():
    """Speech, a pause, and the meaning comes out with the time of each stage."""
    said = listen(PAUSE + SPEECH + PAUSE, "affirm")[0]
    assert isinstance(said, Said) and said.understood.meaning == Request("confirm")
    assert {"detector", "pause", "recognition", "parse"} <= set(said.timing.stages)


def test_the_tools_own_voice_ticks_nothing():
    """What began while the tool spoke is dropped, though it parses."""
    assert len(listen(PAUSE + SPEECH + PAUSE, "worn", own=lambda t: "Eye protection?")) == 1


def test_its_echo_is_ignored_too():
    """Speech that begins within 0.3 s of the tool's last word is still the tool's."""
    own = lambda t: "Eye protection?" if t < 1.0 else None  # noqa: E731
    quiet = [0] * int(1.1 / FRAME_SECONDS)
    assert len(listen(quiet + SPEECH + PAUSE, "worn", own)) == 1


def test_emergency_is_heard_over_the_tools_voice():
    """The exception that must get through."""
    said = listen(PAUSE + SPEECH + PAUSE, "emergency", own=lambda t: "Eye protection?")[0]
    assert said.understood.meaning == Request("emergency")


def test_the_tool_saying_emergency_itself_is_no_emergency():
    """Its own word in its own sentence does not call one."""
    assert len(listen(PAUSE + SPEECH + PAUSE, "emergency",
                      own=lambda t: "You may say: worn, or emergency.")) == 1


def test_a_fault_voids_the_utterance_in_progress():
    """After an overflow the half-heard words count for nothing."""
    found = listen([*PAUSE, *SPEECH[:10], Fault("overflow", 1.0), *PAUSE], "worn")
    assert [type(x) for x in found] == [Fault, EndOfInput]


def test_typed_lines_take_the_same_path():
    """Comments and empty lines are skipped; the clock moves without waiting."""
    ears = KeyboardEars(["# a comment", "", "affirm"])
    found = [ears.poll(MAY, None) for _ in range(4)]
    assert found[0] is None and found[1] is None
    assert found[2].understood.meaning == Request("confirm")
    assert isinstance(found[3], EndOfInput) and ears.now() > 0
