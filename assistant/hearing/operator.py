"""A recorded operator who waits his turn: each line is said once the tool has fallen silent.

He knows what he means. If the tool says it did not understand, he says the line again; if it
reads a wrong value back, he denies it and says the line again, as a person would.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np

from assistant.hearing.detector import FRAME_SECONDS
from assistant.hearing.recogniser import PCM, RATE, as_float, as_pcm
from assistant.hearing.sources import Fault, Frame, frames_of, read_sound
from assistant.job import events as e
from assistant.meaning.vocabulary import vocabulary
from assistant.units import convert
from assistant.yamldata import Mapping, load_yaml

REACTION = 0.45
"""Seconds of the tool's silence before the operator answers: past the echo guard."""
PATIENCE = 6.0
"""Seconds he waits for an answer before he says the line again."""
MOST_REPEATS = 3


@dataclass(frozen=True, eq=False)
class Line:
    """One thing the operator does."""

    say: str = ""
    pcm: PCM = field(default_factory=lambda: np.zeros(0, dtype=np.int16))
    value: float | None = None
    typed: str = ""
    over: float | None = None
    wait: float = 0.0
    snr: float | None = None
    changes_noise: bool = False


@dataclass(frozen=True)
class Script:
    """A recorded job."""

    title: str
    profile: str
    bed: PCM
    lines: tuple[Line, ...]

    def typed(self) -> list[str]:
        """The same job as typed lines, for the keyboard."""
        found = []
        for line in self.lines:
            if line.say:
                # A typist is as slow as a talker, so that times of day play the same part.
                found += ["(6 s)", line.typed or line.say]
            elif line.wait:
                found.append(f"({line.wait:g} s)")
        return found


def load_script(path: Path) -> Script:
    """Read a recorded job: its lines, its sound and where each line lies in it."""
    top = load_yaml(path)
    top.only({"title", "profile", "sound", "bed", "lines"}, "the recorded job")
    sound = read_sound(path.parent / top.need("sound", str, "the recorded job"))
    cues = load_yaml(path.parent / "cues.yaml")["cues"]
    bed = read_sound(path.parent / top.need("bed", str, "the recorded job"))
    rows = top.need("lines", list, "the recorded job")
    return Script(top.need("title", str, "the recorded job"),
                  top.need("profile", str, "the recorded job"), bed,
                  tuple(_line(row, sound, cues) for row in rows))


def _line(row: Mapping, sound: PCM, cues: Any) -> Line:
    row.only({"say", "value", "typed", "dropout", "over", "noise", "wait"}, "a line")
    if "noise" in row:
        return Line(changes_noise=True, snr=None if row["noise"] == "off" else float(row["noise"]))
    if "wait" in row:
        return Line(wait=float(row["wait"]))
    text = row.need("say", str, "a line")
    if text not in cues:
        row.fail(f"'{text}' has no place in the sound; run demo/make_voice.py.")
    began, ended = (int(t * RATE) for t in cues[text])
    pcm = sound[began:ended].copy()
    if "dropout" in row:
        first, last = (int(t * RATE) for t in row["dropout"])
        pcm = np.concatenate([pcm[:first], pcm[last:]])
    return Line(text, pcm, row.maybe("value", (int, float), "a line"), row.maybe("typed", str,
                "a line", ""), row.maybe("over", (int, float), "a line"))


def at_snr(speech: PCM, noise: PCM, snr: float) -> float:
    """The factor for `noise` that gives `snr` [dB]: speech power over the samples above the 60th
    percentile of magnitude, noise power over the whole clip."""
    loud = as_float(speech)
    loud = loud[np.abs(loud) > np.quantile(np.abs(loud), 0.6)]
    power = float(np.mean(loud**2)) / float(np.mean(as_float(noise) ** 2))
    return float(np.sqrt(power / 10 ** (snr / 10)))


class RecordedOperator:
    """A sound source that plays a script as a conversation."""

    live = False

    def __init__(self, script: Script) -> None:
        self._script = script
        self._left = list(script.lines)
        self._at = 0.0
        self._frames: Iterator[PCM] = iter(())
        self._speaking_tool = False
        self._tool_since = 0.0
        self._tool_has_spoken = False
        self._line_ended = 0.0
        self._last: Line | None = None
        self._repeats = 0
        self._misheard = False
        self._snr: float | None = None
        self._bed_at = 0
        self._gain = at_snr(np.concatenate([x.pcm for x in script.lines if x.say]), script.bed, 0)
        self._negative = next((x for x in script.lines if x.say == "negative"), None)

    def told(self, event: e.Event) -> None:
        """What the tool made of the last line, as the operator hears it."""
        last = self._last
        if last is None or self._repeats >= MOST_REPEATS:
            return
        if isinstance(event, e.SpeechHeard):
            self._misheard = event.meaning == "misheard"
        if isinstance(event, e.ValueRefused) or (
                isinstance(event, e.WarningRepeated | e.ReminderGiven) and self._misheard):
            self._misheard = False
            self._again([last])
        elif isinstance(event, e.ValueOffered) and last.value is not None and self._negative and (
                abs(_own(event) - last.value) > 1e-6):
            self._again([self._negative, last])

    def _again(self, lines: list[Line]) -> None:
        self._repeats += 1
        self._left = [*lines, *self._left]

    def tool_speaks(self, speaking: bool) -> None:
        """Note when the tool starts and stops, and that it spoke since the last line ended."""
        if speaking != self._speaking_tool:
            self._speaking_tool = speaking
            self._tool_since = self._at
        if speaking and self._at > self._line_ended:
            self._tool_has_spoken = True

    def read(self) -> Frame | Fault | None:
        """The next 32 ms of the operator's side: speech, or what the place sounds like."""
        pcm = next(self._frames, None)
        if pcm is None:
            if not self._left and self._at - self._line_ended > 2 * PATIENCE:
                return None
            self._next_line()
            pcm = next(self._frames, None)
        frame = Frame(self._with_bed(pcm), self._at)
        self._at += FRAME_SECONDS
        if pcm is not None:
            self._line_ended = self._at
        return frame

    def _next_line(self) -> None:
        """Start what comes next, if it is time for it."""
        since = self._at - max(self._tool_since, self._line_ended)
        if not self._left or (self._unanswered() and self._left[0].over is None):
            if self._unanswered() and since >= PATIENCE and self._repeats < MOST_REPEATS:
                self._again([self._last] if self._last else [])
                self._say(self._left.pop(0))
            elif self._left and since >= 2 * PATIENCE:
                self._tool_has_spoken = True  # he gives that line up
            return
        line = self._left[0]
        if line.changes_noise:
            self._snr = line.snr
            self._left.pop(0)
            return
        if line.over is not None:
            ready = self._speaking_tool and since >= line.over
        else:
            ready = not self._speaking_tool and since >= REACTION + line.wait
        if not ready:
            return
        self._left.pop(0)
        if not line.wait:
            self._say(line)

    def _unanswered(self) -> bool:
        return not self._tool_has_spoken and not self._speaking_tool

    def _say(self, line: Line) -> None:
        if line is not self._negative:
            self._repeats = self._repeats if line is self._last else 0
            self._last = line
        self._frames = frames_of(line.pcm)
        self._tool_has_spoken = False

    def _with_bed(self, pcm: PCM | None) -> PCM:
        size = int(FRAME_SECONDS * RATE)
        out = np.zeros(size, dtype=np.float32) if pcm is None else as_float(pcm)
        if self._snr is not None:
            bed = np.take(self._script.bed, range(self._bed_at, self._bed_at + size), mode="wrap")
            self._bed_at += size
            out = out + as_float(bed) * np.float32(self._gain / 10 ** (self._snr / 20))
        return as_pcm(out)

    def close(self) -> None:
        """Nothing to let go."""


def _own(event: e.ValueOffered) -> float:
    return convert(event.value, event.unit, vocabulary().quantities[event.quantity].unit)
