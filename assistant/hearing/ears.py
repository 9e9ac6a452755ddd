"""Ears: whatever is listened to, turned into understood utterances, faults or silence."""

from __future__ import annotations

import queue
import sys
import threading
import time
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Protocol, TextIO

from assistant.hearing.detector import FRAME_SECONDS, SpeechDetector, Utterance
from assistant.hearing.recogniser import PCM, Heard, Hypothesis, Recogniser, Timing
from assistant.hearing.sources import Fault, Frame, SoundSource
from assistant.meaning.parse import words_of
from assistant.meaning.results import MaySay, Request, Understood
from assistant.meaning.weigh import understand

OWN_VOICE_ECHO = 0.3
"""Seconds after the tool's own speech in which its sound may still be in the room."""


@dataclass(frozen=True)
class EndOfInput:
    """Nothing more will be heard."""


@dataclass(frozen=True)
class Said:
    """Something understood, with the times that the benchmark shows."""

    understood: Understood
    speech_ended: float
    known_at: float
    timing: Timing
    pcm: PCM | None = None
    """The sound of it; None where it was typed."""


Perceived = Said | Fault | EndOfInput | None


class Ears(Protocol):
    """Anything that hears an operator."""

    live: bool

    def now(self) -> float:
        """The job's clock [s]."""
        ...

    def poll(self, may: MaySay, own_words: str | None) -> Perceived:
        """What was perceived in the next moment. `own_words` is what the tool is saying just
        now, or None while it is silent."""
        ...

    def close(self) -> None:
        """Let the device go."""
        ...


SHORT_PAUSE, LONG_PAUSE = 0.45, 0.7
"""Seconds of pause that end an utterance: nobody breathes inside "affirm", but people do
between the digits of a reading."""


def pause_for(may: MaySay) -> float:
    """How long a pause ends what may be said now."""
    awaits_value = may.quantity is not None and "confirm" not in may.requests
    return LONG_PAUSE if awaits_value or may.readings or may.number else SHORT_PAUSE


class SoundEars:
    """Sound through detector, recogniser and parser, with the tool's own voice ignored."""

    def __init__(self, source: SoundSource, recogniser: Recogniser,
                 detector: SpeechDetector | None = None) -> None:
        self.source, self.recogniser = source, recogniser
        self.detector = detector or SpeechDetector()
        self.live = source.live
        self._now = 0.0
        self._own_until = -1.0
        self._own_words = ""
        self._detecting = 0.0

    def now(self) -> float:
        """The source's clock [s]."""
        return self._now

    def poll(self, may: MaySay, own_words: str | None) -> Perceived:
        """One frame of 32 ms on."""
        self.source.tool_speaks(own_words is not None)
        got = self.source.read()
        if got is None:
            return EndOfInput()
        if isinstance(got, Fault):
            self._now = got.at
            self.detector.drop()  # an overflow inside an utterance voids it
            return got
        if own_words is not None:
            self._own_until = got.at + FRAME_SECONDS + OWN_VOICE_ECHO
            self._own_words = own_words
        return self._frame(got, may)

    def _frame(self, frame: Frame, may: MaySay) -> Said | Fault | None:
        self._now = frame.at + FRAME_SECONDS
        began = time.perf_counter()
        utterance = self.detector.push(frame.pcm, frame.at, pause_for(may))
        self._detecting += time.perf_counter() - began
        if utterance is None:
            return None
        timing = Timing()
        timing.add("detector", self._detecting)
        timing.add("pause", utterance.ended - utterance.speech_ended)
        self._detecting = 0.0
        over_speech = utterance.speech_began < self._own_until
        try:
            heard = self.recogniser.transcribe(utterance.pcm, MaySay() if over_speech else may)
        except Exception:  # engines fail in their own ways; the job must go on without
            return Fault("failed", self._now)
        timing.add("recognition", heard.seconds)
        began = time.perf_counter()
        understood = self._emergency_only(heard) if over_speech else understand(heard, may)
        timing.add("parse", time.perf_counter() - began)
        return self._said(understood, utterance, timing) if understood else None

    def _emergency_only(self, heard: Heard) -> Understood | None:
        """Over the tool's own voice only the one word counts, unless the tool says it itself."""
        if "emergency" in words_of(self._own_words):
            return None
        for hypothesis in heard.alternatives[:2]:
            if "emergency" in words_of(hypothesis.text):
                return Understood(Request("emergency"), hypothesis.text, heard.score)
        return None

    def _said(self, understood: Understood, utterance: Utterance, timing: Timing) -> Said:
        return Said(understood, utterance.speech_ended, self._now, timing, utterance.pcm)

    def close(self) -> None:
        """Close the source."""
        self.source.close()


class KeyboardEars:
    """Typed lines through the same meaning stage. Only when named, never fallen back to.

    From a terminal, lines are read by a thread so that time goes on; from a list (`lines`), each
    is taken when the tool has fallen silent, on a clock that only moves as asked.
    """

    def __init__(self, lines: Iterable[str] | None = None, stream: TextIO | None = None) -> None:
        self._began = time.monotonic()
        self.live = lines is None
        self._clock = 0.0
        self._lines = iter(lines) if lines is not None else None
        self._typed: queue.Queue[str | None] = queue.Queue()
        if lines is None:
            threading.Thread(target=self._read, args=(stream or sys.stdin,), daemon=True).start()

    def _read(self, stream: TextIO) -> None:
        for line in stream:
            self._typed.put(line)
        self._typed.put(None)

    def now(self) -> float:
        """Seconds since it was opened, or the virtual clock."""
        return time.monotonic() - self._began if self.live else self._clock

    def poll(self, may: MaySay, own_words: str | None) -> Perceived:
        """The next typed line, if there is one."""
        if self._lines is not None:
            self._clock += 0.1
            if own_words is not None:
                return None
            line = next(self._lines, None)
            if line is None:
                return EndOfInput()
            return self._take(line, may)
        try:
            typed = self._typed.get(timeout=0.05)
        except queue.Empty:
            return None
        return EndOfInput() if typed is None else self._take(typed, may)

    def _take(self, line: str, may: MaySay) -> Said | None:
        text = line.strip()
        if not text or text.startswith("#"):
            return None
        if text.startswith("(") and text.endswith("s)"):  # "(25 s)": that long nothing is said
            self._clock += float(text[1:-2])
            return None
        heard = Heard(text, (Hypothesis(text, 0.0),), 1.0, 0.0)
        now = self.now()
        return Said(understand(heard, may), now, now, Timing())

    def close(self) -> None:
        """Nothing to let go."""
