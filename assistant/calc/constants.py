"""Rules of thumb and assumed constants, from one file, each with its tag and source."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

from assistant.errors import HosesideError
from assistant.units import Quantity, quantity
from assistant.yamldata import load_yaml

FILE = Path(__file__).parent / "data" / "rules.yaml"
TAGS = {"P": "published", "L": "reference library", "D": "derived here",
        "C": "common practice, no source", "M": "from memory"}


@dataclass(frozen=True)
class Constant:
    """One constant."""

    name: str
    value: float
    """In its unit."""
    unit: str
    tag: str
    source: str

    @property
    def quantity(self) -> Quantity:
        """As a pint quantity."""
        return quantity(self.value, self.unit)

    @property
    def note(self) -> str:
        """Where it comes from, as it is shown with a figure."""
        return f"{self.name} {self.value:g} {self.unit}".strip() + (
            f": {TAGS[self.tag]} ({self.source})")


@cache
def rules() -> Any:
    """The whole file."""
    return load_yaml(FILE)


@cache
def constant(name: str) -> Constant:
    """The constant of a name.

    >>> constant("pump efficiency").value
    0.85
    """
    rows = rules().need("constants", dict, "the rules")
    if name not in rows:
        raise HosesideError(f"{FILE}: there is no constant '{name}'; add it.")
    row, what = rows[name], f"constant '{name}'"
    tag = row.need("tag", str, what)
    if tag not in TAGS:
        row.fail(f"the tag of {what} is '{tag}'; it must be one of {', '.join(TAGS)}.")
    return Constant(name, float(row.need("value", (int, float), what)),
                    row.need("unit", str, what), tag, row.need("source", str, what))


def value_of(name: str) -> float:
    """Its number, in its own unit."""
    return constant(name).value


def note_of(name: str) -> str:
    """Its note."""
    return constant(name).note
