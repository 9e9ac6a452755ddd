"""Where an utterance begins and ends, in engine noise too: the Silero detector, frame by frame.

The network is the one faster-whisper ships; it held to 5 dB in pump noise where energy-based
detectors never ended. The rules around it (lead-in, hang-over, cap) are ours.
"""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass
from functools import cache
from typing import Any

import numpy as np

from assistant.hearing.recogniser import PCM, RATE, as_float

FRAME = 512
"""Samples the network takes at a time (32 ms)."""
FRAME_SECONDS = FRAME / RATE
_CONTEXT = 64


@dataclass(frozen=True)
class Rules:
    """When speech has begun and ended."""

    on: float = 0.5
    """Speech probability that begins an utterance."""
    off: float = 0.35
    """Below this a frame counts as a pause."""
    lead_in: float = 0.4
    """Seconds kept from before the first speech frame."""
    pause: float = 0.7
    """Seconds of pause that end an utterance: people breathe between digits."""
    shortest: float = 0.1
    """Less speech than this is a knock, not a word."""
    cap: float = 8.0
    """An utterance is cut here, whatever the detector says."""


@dataclass(frozen=True)
class Utterance:
    """One stretch of speech with its times on the source's own clock."""

    pcm: PCM
    began: float
    """Time of its first sample, the lead-in before the speech included [s]."""
    speech_began: float
    """When the speaker started [s]."""
    speech_ended: float
    """When the speaker stopped [s]; the pause that proved it comes after."""
    ended: float
    """When the detector knew [s]."""
    cut: bool
    """It ran into the cap."""


@cache
def _session() -> Any:
    from faster_whisper.vad import get_vad_model

    return get_vad_model().session


class SpeechProbability:
    """The Silero network with its memory, one 32 ms frame at a time."""

    def __init__(self) -> None:
        self._session = _session()
        self.reset()

    def reset(self) -> None:
        """Forget everything heard so far."""
        self._h = np.zeros((1, 1, 128), dtype=np.float32)
        self._c = np.zeros((1, 1, 128), dtype=np.float32)
        self._context = np.zeros(_CONTEXT, dtype=np.float32)

    def __call__(self, frame: PCM) -> float:
        """Probability (0 to 1) that a frame of 512 samples is speech."""
        samples = as_float(frame)
        framed = np.concatenate([self._context, samples])[np.newaxis, :]
        out, self._h, self._c = self._session.run(
            None, {"input": framed, "h": self._h, "c": self._c})
        self._context = samples[-_CONTEXT:]
        return float(np.asarray(out).ravel()[0])


class SpeechDetector:
    """Feed it frames of 512 samples; it hands back an utterance when one has ended."""

    def __init__(self, rules: Rules = Rules(), probability: Any = None) -> None:
        self.rules = rules
        self._probability = probability or SpeechProbability()
        self._lead: deque[PCM] = deque(maxlen=max(1, round(rules.lead_in / FRAME_SECONDS)))
        self._frames: list[PCM] = []
        self._time = 0.0
        self._clear()

    def _clear(self) -> None:
        self._frames = []
        self._began = 0.0
        self._speech_began = 0.0
        self._last_speech = 0.0
        self._speech = 0.0

    @property
    def open(self) -> bool:
        """Whether an utterance has begun and not yet ended."""
        return bool(self._frames)

    def drop(self) -> None:
        """Forget the utterance in progress, as after a lost block."""
        self._clear()
        self._lead.clear()

    def push(
        self, frame: PCM, at: float | None = None, pause: float | None = None
    ) -> Utterance | None:
        """Take the next frame, whose first sample is at time `at` (default: right after the
        last); return the utterance it ended, if it ended one. `pause` [s] replaces the rule's
        where the reply awaited is a short one."""
        start = self._time if at is None else at
        self._time = start + FRAME_SECONDS
        p = self._probability(frame)
        if not self._frames:
            self._lead.append(frame)
            if p < self.rules.on:
                return None
            self._frames = list(self._lead)
            self._began = self._time - len(self._frames) * FRAME_SECONDS
            self._speech_began = start
            self._lead.clear()
        else:
            self._frames.append(frame)
        if p >= self.rules.off:
            self._last_speech = self._time
            self._speech += FRAME_SECONDS
        paused = self._time - self._last_speech >= (pause or self.rules.pause)
        cut = len(self._frames) * FRAME_SECONDS >= self.rules.cap
        if not paused and not cut:
            return None
        utterance = Utterance(
            np.concatenate(self._frames), self._began, self._speech_began, self._last_speech,
            self._time, cut)
        long_enough = self._speech >= self.rules.shortest
        self._clear()
        return utterance if long_enough else None
