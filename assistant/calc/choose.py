"""Hose and nozzle for a line: what suits, why, and what was ruled out and why."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

from assistant.calc import bends as bend_geometry
from assistant.calc.constants import rules, value_of
from assistant.calc.figure import OutsideRange, Result
from assistant.calc.operating import operating_point
from assistant.calc.pull import hose_weight, reach
from assistant.equipment import Equipment, Hose, Nozzle
from assistant.units import Quantity, parse_quantity, quantity

ROUGH, SLIPPERY = value_of("hose friction, rough"), value_of("hose friction, slippery")
NOTES = ("Hose by line and nozzle by stoppage are common practice, no source.",
         "Radius of the elbows is assumed at 0.73 of the pipe (from memory).",
         "Friction of wet hose in a drain is assumed at 0.3 to 0.5 (no source).")
STOPPAGES = ("grease", "ice", "sand", "roots", "scale", "unknown")


@dataclass(frozen=True)
class RuledOut:
    """A hose or nozzle that will not do here."""

    name: str
    why: str


@dataclass(frozen=True)
class Choice:
    """What to fit."""

    hose: Hose | None
    first: Nozzle | None
    then: Nozzle | None
    reason: str
    ruled_out: tuple[RuledOut, ...]
    point: Result | None
    """The operating point with the first nozzle."""
    reach: tuple[float, float] | None
    """Worked-out reach [ft]: with rough friction in a dry pipe, and slippery in a flooded one."""
    notes: tuple[str, ...]

    def as_json(self) -> dict[str, Any]:
        """In the form of a figure; names come with an empty unit."""
        results: dict[str, dict[str, Any]] = {
            "hose": {"value": self.hose.name if self.hose else None, "unit": ""},
            "first_nozzle": {"value": self.first.name if self.first else None, "unit": ""},
            "follow_up_nozzle": {"value": self.then.name if self.then else None, "unit": ""},
            "reason": {"value": self.reason, "unit": ""},
        }
        if self.point:
            results |= {k: v for k, v in self.point.as_json()["results"].items()
                        if k in ("flow", "nozzle_pressure", "pull")}
        if self.reach:
            results |= {"reach_rough": {"value": self.reach[0], "unit": "ft"},
                        "reach_slippery": {"value": self.reach[1], "unit": "ft"}}
        return {
            "name": "choose", "results": results,
            "ruled_out": [{"name": r.name, "why": r.why} for r in self.ruled_out],
            "notes": list(self.notes),
            "sources": ["hose by line and nozzle by stoppage: common practice, no source",
                        *(self.point.sources if self.point else ())]}


def _feet(q: Quantity) -> float:
    return float(q.to("ft").magnitude)


def _inches(q: Quantity) -> float:
    return float(q.to("inch").magnitude)


def _row_for(hose: Hose) -> Any | None:
    for row in rules()["hose_by_line"]["rows"]:
        if abs(_inches(parse_quantity(row["bore"])) - _inches(hose.bore)) < 0.02:
            return row
    return None


def _hose_misfit(
    hose: Hose, equipment: Equipment, diameter: float, length: float, bends: int
) -> str | None:
    """Why a hose will not do for this line, before any nozzle is looked at; None if it may."""
    row = _row_for(hose)
    if _feet(hose.length) < length:
        return f"{_feet(hose.length):g} feet of hose do not reach {length:g} feet"
    if row is not None:
        low, high = (_inches(parse_quantity(row[k])) for k in ("from", "to"))
        if not low - 0.01 <= diameter <= high + 0.01:
            return f"it is for lines of {low:g} to {high:g} inches"
        most = _feet(parse_quantity(row[equipment.power]))
        # "Somewhat over" the figure is in the trade's own words, so a tenth is let pass.
        if length > most * 1.1:
            return f"it is used to {most:g} feet with this kind of unit"
    if equipment.pump.relief > hose.working:
        return "its working pressure is below the pump's limit"
    if bends and (why := _bend_misfit(hose, diameter)):
        return why
    return None


def _bend_misfit(hose: Hose, diameter: float) -> str | None:
    radius = float(rules()["elbow_radius_ratio"]["value"]) * diameter
    room = bend_geometry.available_radius(
        radius, diameter, _inches(hose.outside_diameter), 1.5707963)
    least = _inches(hose.bend_radius)
    if room < least:
        return f"it bends to {least:g} inches and an elbow here leaves about {room:.1f}"
    return None


def _nozzle_misfit(nozzle: Nozzle, diameter: float, bends: int) -> str | None:
    if _inches(nozzle.diameter) >= diameter:
        return "it is too thick for the line"
    radius = float(rules()["elbow_radius_ratio"]["value"]) * diameter
    longest = bend_geometry.longest_rigid(radius, diameter, _inches(nozzle.diameter))
    if bends and _inches(nozzle.length) > longest:
        return f"it is {_inches(nozzle.length):g} inches long and a bend passes {longest:.1f}"
    return None


def point_of(
    equipment: Equipment, hose: Hose, nozzle: Nozzle,
    supply: Quantity | None = None, pump_limit: Quantity | None = None,
) -> Result:
    """The operating point of one hose and nozzle on this machine."""
    weight = hose_weight(weight=hose.weight, bore=hose.bore)["weight"]
    limit = pump_limit if pump_limit is not None else equipment.pump.relief
    given = {} if supply is None else {"supply": supply}
    return operating_point(
        pump_flow=equipment.pump.flow, pump_limit=limit, bore=hose.bore, length=hose.length,
        orifice=nozzle.orifice, count=nozzle.jets, cd=nozzle.cd, angle=nozzle.angle,
        front=nozzle.front, weight=weight, **given)


def reach_range(hose: Hose, pull: Quantity, length: float, bends: int) -> tuple[float, float]:
    """Reach [ft] of a pull with the bends spread evenly over the line: rough friction and a dry
    pipe, then slippery and flooded. Friction of wet hose has no published figure."""
    spacing = quantity(max(length, 1.0) / (bends + 1), "ft")
    ends = []
    for friction, flooded in ((ROUGH, 0), (SLIPPERY, 1)):
        weight = hose_weight(weight=hose.weight, bore=hose.bore, flooded=flooded,
                             outside_diameter=hose.outside_diameter)["weight"]
        light = quantity(max(weight.to("force_pound / foot").magnitude, 0.001), "lbf/ft")
        drive = max(pull, quantity(0, "lbf"))
        ends.append(_feet(reach(drive, light, friction, bends, spacing)["reach"]))
    return ends[0], ends[1]


def choose(
    equipment: Equipment, line: Quantity, length: Quantity, bends: int = 0,
    stoppage: str = "unknown", supply: Quantity | None = None,
) -> Choice:
    """Hose and nozzles for a line of inside diameter `line` and a length, with so many bends.

    Hoses are tried widest first: the widest that fits loses least and pulls most. Range: line
    1 to 12 in, length 1 to 1000 ft, bends 0 to 20. Raises OutsideRange outside it. Where nothing
    fits, `hose` is None and `ruled_out` says why for each.
    """
    diameter, feet = _inches(line), _feet(length)
    for name, value, low, high, unit in (("line", diameter, 1, 12, "in"),
                                         ("length", feet, 1, 1000, "ft"),
                                         ("bends", bends, 0, 20, "")):
        if not low <= value <= high:
            raise OutsideRange("choose", name, f"{value:g} {unit}".strip(),
                               f"from {low} to {high} {unit}".strip())
    if stoppage not in STOPPAGES:
        raise OutsideRange("choose", "stoppage", stoppage, "one of " + ", ".join(STOPPAGES))
    wanted = rules()["nozzle_by_stoppage"]["rows"][stoppage]
    least = parse_quantity(rules()["least_nozzle_pressure"]["value"])
    out: list[RuledOut] = []
    suited: list[Choice] = []
    for hose in sorted(equipment.hoses, key=lambda h: -_inches(h.bore)):
        why = _hose_misfit(hose, equipment, diameter, feet, bends)
        if why:
            out.append(RuledOut(hose.name, why))
            continue
        fitting = []
        for nozzle in (n for n in equipment.nozzles if n.hose == hose.name):
            bad = _nozzle_misfit(nozzle, diameter, bends)
            if bad:
                out.append(RuledOut(nozzle.name, bad))
            else:
                fitting.append(nozzle)
        first = _for(fitting, wanted["first"])
        then = _for(fitting, wanted["then"])
        if first is None:
            out.append(RuledOut(hose.name, "no nozzle for it suits"))
            continue
        point = point_of(equipment, hose, first, supply)
        if point["nozzle_pressure"] < least:
            left = point.number("nozzle_pressure", "psi")
            out.append(RuledOut(hose.name, f"only about {left:.0f} psi would reach the nozzle"))
            continue
        span = reach_range(hose, point["pull"], feet, bends)
        suited.append(Choice(hose, first, then, _reason(hose, first, diameter, stoppage), (),
                             point, span, NOTES))
    for choice in suited:
        assert choice.hose and choice.reach
        if choice.reach[1] >= feet:
            return replace(choice, ruled_out=tuple(out))
        out.append(RuledOut(choice.hose.name, "its pull is worked out to end at about "
                            f"{choice.reach[1]:.0f} feet even in a flooded pipe"))
    if suited:
        best = max(suited, key=lambda c: c.reach[1] if c.reach else 0)
        kept = tuple(r for r in out if best.hose is None or r.name != best.hose.name)
        return replace(best, ruled_out=kept, notes=(
            "The pull is worked out to end before the line does: expect to help the hose by hand, "
            "or to use the pulsation.", *NOTES))
    return Choice(None, None, None, "Nothing on board suits this line as it stands.",
                  tuple(out), None, None, NOTES)


def _for(nozzles: list[Nozzle], purpose: str) -> Nozzle | None:
    exact = next((n for n in nozzles if purpose in n.purpose), None)
    return exact or next((n for n in nozzles if "tee" not in n.purpose), None)


def _reason(hose: Hose, first: Nozzle, diameter: float, stoppage: str) -> str:
    verb = {"penetrate": "to bore through", "flush": "to wash out", "scour": "to scour"}
    job = next((verb[p] for p in first.purpose if p in verb), "to clear")
    what = "the stoppage" if stoppage == "unknown" else stoppage
    return (f"The widest hose on board that suits a {diameter:g} inch line; "
            f"{first.name} first, {job} {what}.")
