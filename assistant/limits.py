"""Limits as data: which are passed by a value, what is said, what to do, where each comes from."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from assistant.calc.constants import TAGS, constant
from assistant.equipment import Equipment
from assistant.errors import HosesideError
from assistant.units import Quantity, parse_quantity, quantity
from assistant.yamldata import Mapping, load_yaml

FILE = Path(__file__).with_name("limits.yaml")
PRIORITIES = ("high", "medium", "low")

USUAL_CIRCUIT = quantity(20, "A")

PROFILE_PATHS = {
    "pump.inlet.highest_pressure": lambda e: e.pump.inlet.highest_pressure,
    "pump.inlet.lowest_pressure": lambda e: e.pump.inlet.lowest_pressure,
    "pump.inlet.highest_temperature": lambda e: e.pump.inlet.highest_temperature,
    "lowest_rating": lambda e: min(h.working for h in e.hoses),
    "circuit_allowed": lambda e: constant("share of a circuit").value * (
        e.motor.circuit if e.motor else USUAL_CIRCUIT),
}


@dataclass(frozen=True)
class Limit:
    """One limit."""

    name: str
    quantity: str
    above: bool
    """Passed above the threshold; else below it. The threshold itself is still within."""
    threshold: str
    """A written quantity, or a path into the profile."""
    from_profile: bool
    priority: str
    say: str
    do: str
    holds: bool
    tag: str
    source: str

    def level(self, equipment: Equipment) -> Quantity:
        """The threshold for this machine."""
        if self.from_profile:
            value: Quantity = PROFILE_PATHS[self.threshold](equipment)
            return value
        return parse_quantity(self.threshold)

    def passed_by(self, value: Quantity, equipment: Equipment) -> bool:
        """Whether a value is past the threshold."""
        level = self.level(equipment)
        size = float(value.to(level.units).magnitude)
        edge = float(level.magnitude)
        return size > edge + 1e-9 if self.above else size < edge - 1e-9


def load_limits(path: Path = FILE) -> tuple[Limit, ...]:
    """Read and check the limits; errors name file, line and limit."""
    rows = load_yaml(path).need("limits", list, "the file")
    return tuple(_limit(row) for row in rows)


def _limit(row: Mapping) -> Limit:
    what = f"limit '{row.need('name', str, 'a limit')}'"
    row.only({"name", "quantity", "above", "below", "priority", "say", "do", "holds", "tag",
              "source"}, what)
    if ("above" in row) == ("below" in row):
        row.fail(f"{what} needs exactly one of above or below.")
    given = row["above"] if "above" in row else row["below"]
    profile = isinstance(given, Mapping)
    threshold = given.need("profile", str, what) if profile else str(given)
    if profile and threshold not in PROFILE_PATHS:
        row.fail(f"{what} names '{threshold}', which is not in the profile; known are "
                 f"{', '.join(PROFILE_PATHS)}.")
    if not profile:
        try:
            parse_quantity(threshold)
        except HosesideError as error:
            row.fail(f"the threshold of {what}: {error}")
    priority, tag = row.need("priority", str, what), row.need("tag", str, what)
    if priority not in PRIORITIES:
        row.fail(f"the priority of {what} is '{priority}'; it must be {', '.join(PRIORITIES)}.")
    if tag not in TAGS:
        row.fail(f"the tag of {what} is '{tag}'; it must be one of {', '.join(TAGS)}.")
    return Limit(row["name"], row.need("quantity", str, what), "above" in row, threshold, profile,
                 priority, row.need("say", str, what), row.need("do", str, what),
                 row.maybe("holds", bool, what, False), tag, row.need("source", str, what))


@cache
def limits() -> tuple[Limit, ...]:
    """The shipped limits."""
    return load_limits()


def limit_named(name: str) -> Limit:
    """The shipped limit of a name."""
    return next(x for x in limits() if x.name == name)


def passed(
    quantity: str, value: Quantity, equipment: Equipment, among: Iterable[Limit] | None = None
) -> tuple[Limit, ...]:
    """Limits on a quantity that a value passes; of several on one side only the worst is kept,
    and the worst is the one listed first."""
    found: list[Limit] = []
    for limit in limits() if among is None else among:
        same_side = any(f.above == limit.above for f in found)
        if limit.quantity == quantity and not same_side and limit.passed_by(value, equipment):
            found.append(limit)
    return tuple(found)
