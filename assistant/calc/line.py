"""The drain line: filling behind a stoppage, what it can carry, and whether debris moves."""

from __future__ import annotations

import math

from assistant.calc.constants import note_of, value_of
from assistant.calc.figure import Input, Outcome, OutsideRange, figure

MANNING = "Manning's equation"
ROUGHNESS_N = "n 0.009 to 0.011 PVC, 0.013 cast iron, as quoted"
FULL_NOTE = "Assume the line is already full: a backed-up line has no spare volume."
SELF_CLEANSING = value_of("self-cleansing velocity") * 0.3048

DIAMETER = Input("in", 0.5, 48, about="true inside diameter")
N = Input("", 0.006, 0.05, 0.011, "Manning roughness")
SLOPE = Input("", 0.0005, 0.5, about="fall over length, such as 0.0208 for 1/4 in a foot")


def area(diameter: float) -> float:
    """Area of a round bore [m²]."""
    return math.pi / 4 * diameter**2


def full_capacity(diameter: float, slope: float, n: float) -> float:
    """Flow [m³/s] of a full round pipe by Manning: (1/n) A R^(2/3) sqrt(S), R = d/4."""
    return float(area(diameter) * (diameter / 4) ** (2 / 3) * math.sqrt(slope) / n)


@figure(
    "fill-time",
    takes={"diameter": DIAMETER, "length": Input("ft", 0, 2000, about="empty part behind it"),
           "flow": Input("gpm", 0.01, 500), "leak": Input("gpm", 0, 500, 0, "what runs away"),
           "riser_diameter": Input("in", 0.5, 48, 3), "riser": Input("ft", 0, 100, 0),
           "standing": Input("gal", 0, 10000, 0, "water already in it")},
    gives={"volume": "gal", "time": "min"},
    sources=("V = pi/4 d² L, t = V/(Q - leak)",))
def fill_time(
    diameter: float, length: float, flow: float, leak: float, riser_diameter: float,
    riser: float, standing: float,
) -> Outcome:
    """How long a blocked, empty line takes to fill. The default to plan with is none at all.

    >>> from assistant.units import quantity as q
    >>> r = fill_time(q(4.026, "in"), q(40, "ft"), q(4, "gpm"))
    >>> round(r.number("volume", "gal"), 2), round(r.number("time", "min"), 2)
    (26.45, 6.61)
    """
    volume = area(diameter) * length + area(riser_diameter) * riser
    left = max(volume - standing, 0.0)
    if leak >= flow:
        return Outcome({"volume": volume, "time": 24 * 3600.0},
                       ("As much runs away as comes in: it does not fill (24 h shown).",))
    return Outcome({"volume": volume, "time": left / (flow - leak)}, (FULL_NOTE,))


@figure(
    "riser-rate",
    takes={"diameter": DIAMETER, "flow": Input("gpm", 0, 500)},
    gives={"rise": "ft/min"},
    sources=("rise = Q/A",))
def riser_rate(diameter: float, flow: float) -> Outcome:
    """How fast water climbs in a riser over a stoppage.

    >>> from assistant.units import quantity as q
    >>> round(riser_rate(q(3.068, "in"), q(8, "gpm")).number("rise", "ft/min"), 1)
    20.8
    """
    return Outcome({"rise": flow / area(diameter)})


@figure(
    "drain-capacity",
    takes={"diameter": DIAMETER, "slope": SLOPE, "n": N},
    gives={"flow": "gpm", "velocity": "ft/s"},
    sources=(MANNING, ROUGHNESS_N))
def drain_capacity(diameter: float, slope: float, n: float) -> Outcome:
    """What a full drain carries: (1/n) A R^(2/3) sqrt(S).

    >>> from assistant.units import quantity as q
    >>> r = drain_capacity(q(4, "in"), 0.25 / 12, 0.013)
    >>> round(r.number("flow", "gpm"), 1)
    123.3
    """
    flow = full_capacity(diameter, slope, n)
    return Outcome({"flow": flow, "velocity": flow / area(diameter)})


def _segment(theta: float, diameter: float) -> tuple[float, float]:
    """Area [m²] and wetted perimeter [m] of a part-full pipe with water angle theta [rad]."""
    return diameter**2 / 8 * (theta - math.sin(theta)), diameter * theta / 2


@figure(
    "debris-transport",
    takes={"diameter": DIAMETER, "slope": SLOPE, "flow": Input("gpm", 0.05, 500), "n": N},
    gives={"depth": "in", "velocity": "ft/s", "self_cleansing": ""},
    sources=(MANNING, note_of("self-cleansing velocity"), ROUGHNESS_N))
def debris_transport(diameter: float, slope: float, flow: float, n: float) -> Outcome:
    """Depth and speed of a flow in a part-full drain, and whether it carries debris (2 ft/s).

    >>> from assistant.units import quantity as q
    >>> r = debris_transport(q(4, "in"), 0.25 / 12, q(8, "gpm"), 0.009)
    >>> round(r.number("depth", "in"), 3), round(r.number("velocity", "ft/s"), 2)
    (0.578, 2.3)
    """

    def carried(theta: float) -> float:
        a, p = _segment(theta, diameter)
        return float(a * (a / p) ** (2 / 3) * math.sqrt(slope) / n)

    top = 5.0  # below the angle (about 5.28) at which a part-full pipe carries most
    if flow > carried(top):
        raise OutsideRange("debris-transport", "flow", f"{flow * 15850.3:.4g} gal/min",
                           f"at most {carried(top) * 15850.3:.4g} gal/min for this drain to run "
                           "part full")
    low, high = 1e-6, top
    for _ in range(80):
        middle = (low + high) / 2
        low, high = (middle, high) if carried(middle) < flow else (low, middle)
    theta = (low + high) / 2
    wet, _ = _segment(theta, diameter)
    speed = flow / wet
    good = speed >= SELF_CLEANSING
    notes = () if good else ("Too slow to carry debris by itself: add rinse water.",)
    return Outcome({"depth": diameter / 2 * (1 - math.cos(theta / 2)), "velocity": speed,
                    "self_cleansing": float(good)}, notes)
