"""The protocol every recogniser keeps, and what it returns."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any, Protocol

import numpy as np
import numpy.typing as npt

from assistant.meaning.results import MaySay

RATE = 16_000
"""Sample rate of all sound inside the tool [1/s]; mono, signed 16 bit."""

PCM = npt.NDArray[np.int16]


@dataclass(frozen=True)
class Hypothesis:
    """One text an utterance may have been."""

    text: str
    log_probability: float
    """Natural logarithm of the engine's own belief; only differences mean anything."""


@dataclass(frozen=True)
class Heard:
    """What a recogniser made of one utterance."""

    text: str
    """Its best text."""
    alternatives: tuple[Hypothesis, ...]
    """All texts it offers, best first; the best is among them."""
    score: float
    """0 to 1: the engine's confidence in its best text."""
    seconds: float
    """Time the recognition took."""


class Recogniser(Protocol):
    """Turns one utterance into text. `may` says what can be said now: a hint, not a promise."""

    name: str

    def transcribe(self, pcm: PCM, may: MaySay) -> Heard:
        """Text of one utterance of at most 8 s."""
        ...


class StreamingRecogniser(Recogniser, Protocol):
    """An engine that can listen while the utterance is still being said."""

    def begin(self, may: MaySay) -> None:
        """Start an utterance; refuses words the model lacks."""
        ...

    def accept(self, block: PCM) -> str:
        """Take the next block and give the text so far: for display only, it may change."""
        ...

    def finish(self) -> Heard:
        """End the utterance."""
        ...


@dataclass
class Timing:
    """Seconds spent in each stage for one utterance; shown by the benchmark."""

    stages: dict[str, float] = field(default_factory=dict)

    def add(self, stage: str, seconds: float) -> None:
        """Count `seconds` towards `stage`."""
        self.stages[stage] = self.stages.get(stage, 0.0) + seconds


def as_float(pcm: PCM) -> npt.NDArray[np.float32]:
    """Samples from -1 to 1.

    >>> float(as_float(np.array([16384], dtype=np.int16))[0])
    0.5
    """
    return (pcm.astype(np.float32) / 32768.0).astype(np.float32)


def as_pcm(samples: npt.NDArray[Any]) -> PCM:
    """16-bit samples from floats; values past full scale are clipped, not wrapped.

    >>> as_pcm(np.array([0.5, 2.0])).tolist()
    [16384, 32767]
    """
    return np.clip(np.round(samples * 32768.0), -32768, 32767).astype(np.int16)
