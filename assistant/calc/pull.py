"""Reaction of the jets, the pull they leave, and how far that can drag the hose."""

from __future__ import annotations

import math
from collections.abc import Sequence

from assistant.calc import hose, water
from assistant.calc.constants import note_of, value_of
from assistant.calc.figure import Input, Outcome, figure

CV = value_of("jet velocity coefficient")
CV_NOTE = note_of("jet velocity coefficient")
FRICTION = value_of("hose friction")
FRICTION_NOTE = note_of("hose friction") + "; calibrate on your own runs"
CAPSTAN = "cable-pulling equations (capstan), as quoted"
MOMENTUM = "momentum of the jet, F = rho Q v"

BUOYANCY = math.pi / 4
"""Displaced volume of hose per length over outside diameter squared."""


def reaction_force(flow: float, pressure: float, kelvin: float) -> float:
    """Ideal reaction [N] of a flow [m³/s] leaving at a pressure [Pa]: rho Q sqrt(2 p / rho)."""
    return flow * math.sqrt(2 * pressure * water.density(kelvin))


MOST = 600.0
"""Reach given where nothing holds the hose back [m]."""


@figure(
    "reaction",
    takes={"flow": Input("gpm", 0, 100), "pressure": Input("psi", 0, 15000),
           "angle": Input("deg", 0, 90, 0, "of the jets from the hose's axis"),
           "cv": Input("", 0.5, 1.0, 1.0, "velocity coefficient; 1 for the ideal jet"),
           "temperature": hose.TEMPERATURE},
    gives={"force": "lbf", "pull": "lbf"},
    sources=(MOMENTUM, water.SOURCE))
def reaction(
    flow: float, pressure: float, angle: float, cv: float, temperature: float
) -> Outcome:
    """Reaction of the jets and, with their angle, the pull along the hose: Cv rho Q v cos(angle).

    >>> from assistant.units import quantity as q
    >>> r = reaction(flow=q(4, "gpm"), pressure=q(2000, "psi"), angle=q(30, "deg"))
    >>> round(r.number("force", "lbf"), 2), round(r.number("pull", "lbf"), 2)
    (9.41, 8.15)
    """
    force = cv * reaction_force(flow, pressure, temperature)
    notes = () if cv < 1 else ("Ideal jet: the real one gives 0.8 to 1.0 of it (from memory).",)
    return Outcome({"force": force, "pull": force * math.cos(angle)}, notes)


@figure(
    "net-pull",
    takes={"flow": Input("gpm", 0, 100), "pressure": Input("psi", 0, 15000),
           "rear": Input("", 0, 40, about="number of rear jets"),
           "front": Input("", 0, 40, 0, "number of forward jets"),
           "rear_angle": Input("deg", 0, 90, 30), "front_angle": Input("deg", 0, 90, 0),
           "cv": Input("", 0.5, 1.0, 1.0), "temperature": hose.TEMPERATURE},
    gives={"pull": "lbf"},
    sources=(MOMENTUM, water.SOURCE))
def net_pull(
    flow: float, pressure: float, rear: float, front: float, rear_angle: float,
    front_angle: float, cv: float, temperature: float,
) -> Outcome:
    """Forward pull of equal jets, some to the rear and some to the front.

    >>> from assistant.units import quantity as q
    >>> r = net_pull(q(4, "gpm"), q(2000, "psi"), rear=4, front=1)
    >>> round(r.number("pull", "lbf"), 2)
    4.64
    """
    if rear + front == 0:
        return Outcome({"pull": 0.0}, ("No jets, no pull.",))
    force = cv * reaction_force(flow, pressure, temperature)
    pull = net_pull_si(force, rear / (rear + front), rear_angle, front_angle)
    notes = () if pull > 0 else ("The jets push the hose back out: not for entering a line.",)
    return Outcome({"pull": pull}, notes)


def net_pull_si(
    force: float, rear_share: float, rear_angle: float, front_angle: float = 0.0
) -> float:
    """Forward pull [N] of a reaction [N] of which `rear_share` (0 to 1) leaves to the rear."""
    return force * (
        rear_share * math.cos(rear_angle) - (1 - rear_share) * math.cos(front_angle))


def drag(path: Sequence[tuple[str, float]], weight: float, friction: float) -> float:
    """Tension needed at the nozzle [N] to drag a hose of `weight` [N/m] along a path.

    The path is given from the entry to the nozzle as ("straight", metres), ("bend", radians) or
    ("up", metres); tension starts from 0 (slack feed). A bend multiplies it by e^(mu beta).
    """
    tension = 0.0
    for kind, size in path:
        if kind == "straight":
            tension += friction * weight * size
        elif kind == "up":
            tension += weight * size
        else:
            tension *= math.exp(friction * size)
    return tension


@figure(
    "hose-weight",
    takes={"weight": Input("lbf/ft", 0, 5, about="of the empty hose"), "bore": hose.BORE,
           "outside_diameter": Input("in", 0, 6, 0), "flooded": Input("", 0, 1, 0),
           "temperature": hose.TEMPERATURE},
    gives={"weight": "lbf/ft"},
    sources=("weight of the water in the bore less the water displaced (derived)",))
def hose_weight(
    weight: float, bore: float, outside_diameter: float, flooded: float, temperature: float
) -> Outcome:
    """Weight of a filled hose, less its buoyancy where the pipe is flooded.

    >>> from assistant.units import quantity as q
    >>> r = hose_weight(weight=q(0.1, "lbf/ft"), bore=q(0.25, "in"))
    >>> round(r.number("weight", "lbf/ft"), 4)
    0.1212
    """
    specific = water.density(temperature) * water.GRAVITY
    filled = weight + specific * math.pi / 4 * bore**2
    lifted = flooded * specific * BUOYANCY * outside_diameter**2
    return Outcome({"weight": max(filled - lifted, 0.0)})


@figure(
    "drag",
    takes={"weight": Input("lbf/ft", 0.001, 5), "friction": Input("", 0.05, 1.5, FRICTION),
           "lengths": Input("ft", 0, 2000, about="straight pieces from the entry on", many=True),
           "bend": Input("deg", 0, 180, 90, "between each two pieces")},
    gives={"pull_needed": "lbf"},
    sources=(CAPSTAN,))
def drag_of_path(
    weight: float, friction: float, lengths: tuple[float, ...], bend: float
) -> Outcome:
    """Pull needed to drag the hose through straight pieces with a bend between each two.

    >>> from assistant.units import quantity as q
    >>> r = drag_of_path(q(0.1412, "lbf/ft"), 0.3, [q(n, "ft") for n in (20, 30, 40)])
    >>> round(r.number("pull_needed", "lbf"), 3)
    5.904
    """
    path: list[tuple[str, float]] = []
    for piece in lengths:
        path += [("bend", bend)] if path else []
        path.append(("straight", piece))
    return Outcome({"pull_needed": drag(path, weight, friction)}, (FRICTION_NOTE,))


@figure(
    "reach",
    takes={"pull": Input("lbf", 0, 500), "weight": Input("lbf/ft", 0.001, 5),
           "friction": Input("", 0.05, 1.5, FRICTION),
           "bends": Input("", 0, 20, 0, "number of bends passed"),
           "spacing": Input("ft", 0, 1000, 25, "straight before each bend"),
           "angle": Input("deg", 0, 180, 90, "of each bend"),
           "rise": Input("deg", -45, 90, 0, "slope of the line, upward positive")},
    gives={"reach": "ft"},
    sources=(CAPSTAN, note_of("hose friction")))
def reach(
    pull: float, weight: float, friction: float, bends: float, spacing: float, angle: float,
    rise: float,
) -> Outcome:
    """How far a pull can drag the hose: straight mu w L, each bend times e^(mu beta).

    The bends come after each `spacing`, counted from the entry. An upper bound: slack feed, no
    hang-up. Where the pull does not pass a bend, the reach ends there.

    >>> from assistant.units import quantity as q
    >>> r = reach(q(8.152, "lbf"), q(0.1412, "lbf/ft"), 0.3)
    >>> round(r.number("reach", "ft"), 1)
    192.4
    """
    how_far, notes = reach_si(pull, weight, friction, bends, spacing, angle, rise)
    return Outcome({"reach": how_far}, notes)


def reach_si(
    pull: float, weight: float, friction: float, bends: float, spacing: float,
    angle: float = math.pi / 2, rise: float = 0.0,
) -> tuple[float, tuple[str, ...]]:
    """Reach [m] of a pull [N] and what to say with it; see the figure "reach"."""
    per_length = weight * (friction * math.cos(rise) + math.sin(rise))
    notes = [FRICTION_NOTE, "An upper bound: the hose is fed slack and does not hang up."]
    if per_length <= 0:
        return MOST, (*notes, "Downhill the hose slides by itself.")
    tension, gone = 0.0, 0.0
    for number in range(1, round(bends) + 1):
        if tension + per_length * spacing > pull:
            notes.append(f"The pull ends before bend {number}.")
            return gone + (pull - tension) / per_length, tuple(notes)
        tension += per_length * spacing
        gone += spacing
        tension *= math.exp(friction * angle)
        if tension > pull:
            notes.append(f"Bend {number} cannot be passed.")
            return gone, tuple(notes)
    return gone + (pull - tension) / per_length, tuple(notes)
