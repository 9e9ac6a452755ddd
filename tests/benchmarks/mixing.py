"""Speech and noise mixed at a stated ratio, the same way for every engine and version."""

from __future__ import annotations

import json
import zlib
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from assistant import paths
from assistant.hearing.operator import at_snr
from assistant.hearing.recogniser import PCM, RATE, as_float, as_pcm
from assistant.hearing.sources import read_sound

RECORDINGS = paths.ROOT.parent / "shared" / "recordings"
LEVELS = (None, 20, 15, 10, 5, 0)
"""Signal-to-noise ratios [dB]; None is quiet."""


@dataclass(frozen=True)
class Sample:
    """One recording and what is true of it."""

    file: Path
    speaker: str
    expect: str
    meaning: str
    quantity: str | None
    value: float | None


# The labels of the recordings against the words of the vocabulary.
SAME = {"repeat": "say_again", "standby": "stand_by", "cancel": "disregard",
        "correct": "correction", "next": "go_ahead", "readback": "read_back"}
PEOPLE = {"yes": "confirm", "no": "deny", "help": "help", "repeat": "say_again",
          "stop": "stand_by"}


def manifest(folder: str) -> list[dict]:
    """The lines of a folder's manifest."""
    lines = (RECORDINGS / folder / "manifest.jsonl").read_text().splitlines()
    return [json.loads(x) for x in lines]


def samples() -> list[Sample]:
    """All recordings that the benchmark judges: synthetic phrases and real people."""
    from assistant.meaning.numbers import parse_number

    found = []
    for row in manifest("phrases"):
        meaning = SAME.get(row["meaning"], row["meaning"])
        expect = {"reading": "reading", "number": "number"}.get(meaning, "answer")
        found.append(Sample(RECORDINGS / "phrases" / row["file"], row["voice"], expect, meaning,
                            row.get("quantity"), row.get("value")))
    for row in manifest("people"):
        file = RECORDINGS / "people" / row["file"]
        if row["kind"] == "number" and (value := parse_number(row["text"])) is not None:
            found.append(Sample(file, row["speaker"], "number", "number", None, value))
        elif row["kind"] == "command" and row["text"] in PEOPLE:
            found.append(Sample(file, row["speaker"], "answer", PEOPLE[row["text"]], None, None))
        elif row["kind"] == "other":
            found.append(Sample(file, row["speaker"], "answer", "none", None, None))
    return found


def noises() -> list[PCM]:
    """All noise clips."""
    return [read_sound(f) for f in sorted((RECORDINGS / "noise").glob("*.flac"))]


def mixed(sample: Sample, clips: list[PCM], snr: float | None) -> PCM:
    """A recording with half a second before and after, in the noise its name picks."""
    speech = read_sound(sample.file)
    edge = np.zeros(RATE // 2, dtype=np.float32)
    out = np.concatenate([edge, as_float(speech), edge])
    if snr is not None:
        clip = clips[zlib.crc32(sample.file.name.encode()) % len(clips)]
        out = out + np.resize(as_float(clip), len(out)) * np.float32(at_snr(speech, clip, snr))
    return as_pcm(out)
