"""Hose ratings, and what passes a bend: the hose by its bend radius, the nozzle by its length."""

from __future__ import annotations

import math

from assistant.calc.figure import Input, Outcome, figure

SAE = "SAE J517/J343: burst at least four times working pressure, as quoted"
GEOMETRY = "geometry of a round pipe bend (derived)"

RADIUS = Input("in", 0.1, 200, about="centre-line radius of the bend")
INSIDE = Input("in", 0.5, 48, about="inside diameter of the pipe")


def available_radius(radius: float, inside: float, outside_hose: float, angle: float) -> float:
    """Largest radius a hose can take in a bend, all in one unit and the angle in radians:
    R + c (sec(b/2) + 1)/(sec(b/2) - 1) with c = (ID - OD)/2; straight legs are assumed."""
    secant = 1 / math.cos(angle / 2)
    play = (inside - outside_hose) / 2
    return radius + play * (secant + 1) / (secant - 1)


def longest_rigid(radius: float, inside: float, diameter: float) -> float:
    """Longest rigid nozzle that passes a bend: 2 sqrt(Ro² - (Ri + dn)²); 0 if none does."""
    outer, inner = radius + inside / 2, radius - inside / 2
    room = outer**2 - (inner + diameter) ** 2
    return 2 * math.sqrt(room) if room > 0 else 0.0


@figure(
    "hose-rating",
    takes={"burst": Input("psi", 1, 100000), "working": Input("psi", 1, 50000),
           "pump_limit": Input("psi", 1, 50000)},
    gives={"ratio": "", "passes": "", "margin": "psi"},
    sources=(SAE,))
def hose_rating(burst: float, working: float, pump_limit: float) -> Outcome:
    """Burst pressure over the pump's limit (4 or more is wanted) and what is left to the rating.

    >>> from assistant.units import quantity as q
    >>> r = hose_rating(q(12000, "psi"), q(3000, "psi"), q(4000, "psi"))
    >>> r.number("ratio", ""), r.number("passes", "")
    (3.0, 0.0)
    """
    ratio = burst / pump_limit
    good = ratio >= 4 - 1e-9 and pump_limit <= working * (1 + 1e-9)
    return Outcome({"ratio": ratio, "passes": float(good), "margin": working - pump_limit})


@figure(
    "bend-radius",
    takes={"radius": RADIUS, "inside": INSIDE,
           "outside_hose": Input("in", 0.05, 12, about="outside diameter of the hose"),
           "angle": Input("deg", 10, 170, 90)},
    gives={"available_radius": "in"},
    sources=(GEOMETRY,))
def bend_radius(radius: float, inside: float, outside_hose: float, angle: float) -> Outcome:
    """Largest hose-bend radius available in an elbow; compare with the hose's least bend radius.

    >>> from assistant.units import quantity as q
    >>> r = bend_radius(q(1.5, "in"), q(2.067, "in"), q(0.5, "in"))
    >>> round(r.number("available_radius", "in"), 2)
    6.07
    """
    return Outcome(
        {"available_radius": available_radius(radius, inside, outside_hose, angle)},
        ("Only where the straight legs beside the bend are long enough.",))


@figure(
    "nozzle-length",
    takes={"radius": RADIUS, "inside": INSIDE, "diameter": Input("in", 0.05, 12)},
    gives={"longest": "in"},
    sources=(GEOMETRY,))
def nozzle_length(radius: float, inside: float, diameter: float) -> Outcome:
    """Longest rigid nozzle of a diameter that passes a bend; conservative.

    >>> from assistant.units import quantity as q
    >>> r = nozzle_length(q(1.5, "in"), q(2.067, "in"), q(0.75, "in"))
    >>> round(r.number("longest", "in"), 2)
    4.44
    """
    return Outcome({"longest": longest_rigid(radius, inside, diameter)})
