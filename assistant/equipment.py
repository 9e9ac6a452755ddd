"""The equipment profile: what the machine on site is, from its own manual and markings."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

from assistant.errors import HosesideError
from assistant.units import Quantity, parse_quantity, short, unit
from assistant.yamldata import Mapping, load_yaml

PURPOSES = ("penetrate", "flush", "scour", "tee")


@dataclass(frozen=True)
class Hose:
    """A jetting hose on board."""

    name: str
    bore: Quantity
    length: Quantity
    working: Quantity
    burst: Quantity
    bend_radius: Quantity
    outside_diameter: Quantity
    weight: Quantity
    """Of the empty hose, per length."""


@dataclass(frozen=True)
class Nozzle:
    """A nozzle with equal jets, and the hose it fits."""

    name: str
    hose: str
    purpose: tuple[str, ...]
    rear: int
    front: int
    orifice: Quantity
    angle: Quantity
    """Of the rear jets from the hose's axis."""
    cd: float
    diameter: Quantity
    length: Quantity

    @property
    def jets(self) -> int:
        """How many jets it has in all."""
        return self.rear + self.front


@dataclass(frozen=True)
class Inlet:
    """Limits at the pump's inlet, from the machine's manual."""

    highest_pressure: Quantity
    highest_temperature: Quantity
    lowest_pressure: Quantity
    npsh_required: Quantity | None


@dataclass(frozen=True)
class Pump:
    """The pump and what guards it."""

    flow: Quantity
    pressure: Quantity
    relief: Quantity
    bypass: Quantity
    """Pressure at which it goes round when the jet is off: low with an unloader."""
    gearcase_oil: bool
    pulsation: bool
    inlet: Inlet


@dataclass(frozen=True)
class Motor:
    """An electric unit's nameplate."""

    voltage: Quantity
    current: Quantity
    circuit: Quantity


@dataclass(frozen=True)
class Engine:
    """An engine unit's plate."""

    rated_power: Quantity
    oil_change: Quantity | None
    since_oil: Quantity
    """Hours run since the last oil change, kept up by the owner."""


@dataclass(frozen=True)
class Cord:
    """An extension cord."""

    gauge: int
    length: Quantity


@dataclass(frozen=True)
class Equipment:
    """The whole profile."""

    name: str
    power: str
    carriage: str
    celsius: bool
    emergency_number: str
    pump: Pump
    engine: Engine | None
    motor: Motor | None
    reel: str
    hoses: tuple[Hose, ...]
    nozzles: tuple[Nozzle, ...]
    cords: tuple[Cord, ...]
    tank: Quantity | None
    supply_bore: Quantity
    supply_length: Quantity
    bucket: Quantity
    marks: Quantity | None
    """Distance between the marks on the hoses; None where they have none."""
    keys: tuple[tuple[str, str], ...]
    """Key -> request, for a foot switch or a presentation remote: the one-button twin."""

    def hose(self, name: str) -> Hose:
        """The hose of that name; HosesideError naming those on board."""
        for hose in self.hoses:
            if hose.name == name:
                return hose
        raise HosesideError(f"There is no hose '{name}' on {self.name}; on board are "
                            f"{', '.join(h.name for h in self.hoses)}.")

    def facts(self) -> dict[str, str]:
        """What decides which checklist items apply."""
        return {
            "power": self.power, "carriage": self.carriage, "reel": self.reel,
            "gearcase": "fitted" if self.pump.gearcase_oil else "none",
            "pulsation": "fitted" if self.pump.pulsation else "none",
            "cord": "used" if self.cords else "none",
        }


def _quantity(row: Mapping, key: str, unit_name: str, what: str, default: str | None = None
              ) -> Quantity:
    text = row.need(key, str, what) if default is None else row.maybe(key, str, what, default)
    try:
        value = parse_quantity(text)
    except HosesideError as error:
        row.fail(f"'{key}' of {what}: {error}")
    if not value.is_compatible_with(unit(unit_name)):
        row.fail(f"'{key}' of {what} is {text!r}, not something measured in "
                 f"{short(unit(unit_name))}; give it in {short(unit(unit_name))}.")
    if unit_name != "degF" and value.magnitude < 0:
        row.fail(f"'{key}' of {what} is negative ({text}).")
    return value


def _optional(row: Mapping, key: str, unit_name: str, what: str) -> Quantity | None:
    return _quantity(row, key, unit_name, what) if key in row else None


def _one_of(row: Mapping, key: str, allowed: tuple[str, ...], what: str) -> str:
    value = row.need(key, str, what)
    if value not in allowed:
        row.fail(f"'{key}' of {what} is '{value}'; it must be {' or '.join(allowed)}.")
    return str(value)


def _hose(row: Mapping) -> Hose:
    what = f"hose '{row.need('name', str, 'a hose')}'"
    row.only({"name", "bore", "length", "working", "burst", "bend_radius", "outside_diameter",
              "weight"}, what)
    hose = Hose(
        row["name"], _quantity(row, "bore", "in", what), _quantity(row, "length", "ft", what),
        _quantity(row, "working", "psi", what), _quantity(row, "burst", "psi", what),
        _quantity(row, "bend_radius", "in", what),
        _quantity(row, "outside_diameter", "in", what), _quantity(row, "weight", "lbf/ft", what))
    if hose.outside_diameter <= hose.bore:
        row.fail(f"{what} is thinner outside than its bore; check outside_diameter and bore.")
    return hose


def _nozzle(row: Mapping, hoses: set[str]) -> Nozzle:
    what = f"nozzle '{row.need('name', str, 'a nozzle')}'"
    row.only({"name", "hose", "purpose", "rear", "front", "orifice", "angle", "cd", "diameter",
              "length"}, what)
    purpose = tuple(row.need("purpose", list, what))
    for one in purpose:
        if one not in PURPOSES:
            row.fail(f"the purpose of {what} is '{one}'; it must be {', '.join(PURPOSES)}.")
    if row.need("hose", str, what) not in hoses:
        row.fail(f"{what} fits hose '{row['hose']}', which is not listed under hoses.")
    rear, front = row.need("rear", int, what), row.maybe("front", int, what, 0)
    if rear < 0 or front < 0 or rear + front == 0:
        row.fail(f"{what} needs at least one jet; give rear and front.")
    cd = float(row.maybe("cd", (int, float), what, 0.9))
    if not 0.3 <= cd <= 1:
        row.fail(f"'cd' of {what} is {cd}; it must be from 0.3 to 1.")
    return Nozzle(row["name"], row["hose"], purpose, rear, front,
                  _quantity(row, "orifice", "in", what),
                  _quantity(row, "angle", "deg", what, "30 deg"), cd,
                  _quantity(row, "diameter", "in", what), _quantity(row, "length", "in", what))


def _pump(row: Mapping) -> Pump:
    what = "the pump"
    row.only({"flow", "pressure", "relief", "bypass", "gearcase_oil", "pulsation", "inlet"}, what)
    inlet = row.maybe("inlet", dict, what, Mapping())
    inlet.only({"highest_pressure", "highest_temperature", "lowest_pressure", "npsh_required"},
               "the pump's inlet")
    at = "the pump's inlet"
    pump = Pump(
        _quantity(row, "flow", "gpm", what), _quantity(row, "pressure", "psi", what),
        _quantity(row, "relief", "psi", what),
        # Without the manual's figure the relief's own pressure is assumed: it heats fastest.
        _quantity(row, "bypass", "psi", what, row.maybe("relief", str, what)),
        row.maybe("gearcase_oil", bool, what, False),
        row.maybe("pulsation", bool, what, False),
        # Common practice, no source, where the manual's own figure is not given.
        Inlet(_quantity(inlet, "highest_pressure", "psi", at, "100 psi"),
              _quantity(inlet, "highest_temperature", "degF", at, "140 degF"),
              _quantity(inlet, "lowest_pressure", "psi", at, "10 psi"),
              _optional(inlet, "npsh_required", "ft", at)))
    if pump.flow.magnitude == 0:
        row.fail("'flow' of the pump is 0; give what its plate says.")
    return pump


def load_equipment(path: Path) -> Equipment:
    """Read and check an equipment profile. Errors name the file, line and part."""
    top = load_yaml(path)
    what = "the profile"
    top.only({"name", "power", "carriage", "degrees", "emergency_number", "pump", "engine",
              "motor", "reel", "hoses", "nozzles", "cords", "tank", "supply_hose", "bucket",
              "marks", "keys"}, what)
    power = _one_of(top, "power", ("engine", "electric"), what)
    hoses = tuple(_hose(row) for row in _rows(top, "hoses"))
    supply = top.need("supply_hose", dict, what)
    engine, motor = None, None
    if power == "engine":
        row = top.need("engine", dict, what)
        row.only({"rated_power", "oil_change", "since_oil"}, "the engine")
        engine = Engine(_quantity(row, "rated_power", "hp", "the engine"),
                        _optional(row, "oil_change", "h", "the engine"),
                        _quantity(row, "since_oil", "h", "the engine", "0 h"))
    else:
        row = top.need("motor", dict, what)
        row.only({"voltage", "current", "circuit"}, "the motor")
        motor = Motor(*(_quantity(row, key, u, "the motor") for key, u in
                        (("voltage", "V"), ("current", "A"), ("circuit", "A"))))
    degrees = top.maybe("degrees", str, what, "fahrenheit")
    if degrees not in ("fahrenheit", "celsius"):
        top.fail(f"'degrees' is '{degrees}'; it must be fahrenheit or celsius.")
    return Equipment(
        top.need("name", str, what), power,
        _one_of(top, "carriage", ("trailer", "cart"), what), degrees == "celsius",
        top.need("emergency_number", str, what), _pump(top.need("pump", dict, what)),
        engine, motor, _one_of(top, "reel", ("none", "fixed", "remote"), what),
        hoses, tuple(_nozzle(row, {h.name for h in hoses}) for row in _rows(top, "nozzles")),
        tuple(_cord(row) for row in top.maybe("cords", list, what, [])),
        _optional(top, "tank", "gal", what),
        _quantity(supply, "bore", "in", "the supply hose"),
        _quantity(supply, "length", "ft", "the supply hose"),
        _quantity(top, "bucket", "gal", what, "5 gal"), _optional(top, "marks", "ft", what),
        _keys(top))


KEY_REQUESTS = ("confirm", "stand_by", "emergency", "acknowledge", "go_ahead")
USUAL_KEYS = (("space", "confirm"), ("s", "stand_by"), ("e", "emergency"))


def _keys(top: Mapping) -> tuple[tuple[str, str], ...]:
    row = top.maybe("keys", dict, "the profile")
    if row is None:
        return USUAL_KEYS
    found = []
    for request, key in row.items():
        if request not in KEY_REQUESTS:
            row.fail(f"'keys' names '{request}'; it must be one of {', '.join(KEY_REQUESTS)}.")
        if not isinstance(key, str) or not key:
            row.fail(f"the key for {request} is {key!r}; write a character in quotes, or "
                     "space, enter, tab, page up or page down.")
        found.append((key, request))
    if len({k for k, _ in found}) != len(found):
        row.fail("'keys' gives one key two meanings; give each its own.")
    return tuple(found)


def _cord(row: Any) -> Cord:
    row.only({"gauge", "length"}, "a cord")
    return Cord(row.need("gauge", int, "a cord"), _quantity(row, "length", "ft", "a cord"))


def _rows(top: Mapping, key: str) -> list[Mapping]:
    rows: list[Mapping] = top.need(key, list, "the profile")
    if not rows:
        top.fail(f"'{key}' is empty; list at least one.")
    for row in rows:
        if not isinstance(row, Mapping):
            top.fail(f"'{key}' must be a list of mappings, each with a name.")
    return rows
