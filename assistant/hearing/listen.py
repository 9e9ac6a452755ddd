"""One sound file at a time: what it was heard as, for `hoseside hear`."""

from __future__ import annotations

import time
from pathlib import Path
from typing import Any

from assistant.errors import HosesideError
from assistant.hearing.recogniser import RATE, Recogniser
from assistant.hearing.sources import read_sound
from assistant.meaning.results import MaySay, Number, Reading, Request, StateSaid, Understood
from assistant.meaning.vocabulary import vocabulary
from assistant.meaning.weigh import understand

CAP = 8 * RATE
ANSWERS = frozenset({"confirm", "deny", "say_again", "read_back", "correction", "disregard",
                     "stand_by", "go_ahead", "not_fitted", "finish", "help", "emergency"})
MEANWHILE = frozenset({"say_again", "disregard", "stand_by", "help", "emergency"})
"""What may also be said while a value is awaited."""


def may_say_for(expect: str, quantity: str | None) -> MaySay:
    """What may be said for `--expect` and `--quantity`."""
    v = vocabulary()
    if quantity is not None and quantity not in v.quantities:
        raise HosesideError(f"There is no quantity '{quantity}'; known are "
                            f"{', '.join(v.quantities)}.")
    if expect == "answer":
        return MaySay(ANSWERS)
    if expect == "number":
        return MaySay(MEANWHILE, quantity=quantity, number=quantity is None)
    readings = frozenset(v.quantities) if quantity is None else frozenset({quantity})
    return MaySay(MEANWHILE | {"correction"}, quantity=quantity, readings=readings)


def hear_file(file: Path, recogniser: Recogniser, may: MaySay, expect: str) -> dict[str, Any]:
    """The contract of `hoseside hear --json`: file, heard, meaning, quantity, value, unit, score,
    seconds, and the alternatives with their probabilities."""
    pcm = read_sound(file)
    began = time.perf_counter()
    heard = recogniser.transcribe(pcm[:CAP], may)
    understood = understand(heard, may)
    seconds = time.perf_counter() - began
    return {"file": str(file), "heard": understood.text, **_meaning(understood, expect),
            "score": understood.score, "seconds": round(seconds, 3),
            "alternatives": [
                {**_parts(a.meaning, expect), "heard": a.text, "probability": a.probability}
                for a in understood.alternatives]}


def _meaning(understood: Understood, expect: str) -> dict[str, Any]:
    found = _parts(understood.meaning, expect)
    if found["meaning"] == "none":
        found["refused_as"] = type(understood.meaning).__name__
    return found


def _parts(meaning: Any, expect: str) -> dict[str, Any]:
    if isinstance(meaning, Request):
        return {"meaning": meaning.name, "quantity": None, "value": None, "unit": None}
    if isinstance(meaning, StateSaid):
        return {"meaning": "confirm", "quantity": None, "value": None, "unit": None}
    if isinstance(meaning, Reading):
        kind = "number" if expect == "number" else "reading"
        return {"meaning": kind, "quantity": meaning.quantity, "value": meaning.value,
                "unit": meaning.unit}
    if isinstance(meaning, Number):
        return {"meaning": "number", "quantity": None, "value": meaning.value,
                "unit": meaning.unit}
    return {"meaning": "none", "quantity": None, "value": None, "unit": None}


