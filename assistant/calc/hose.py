"""Pressure lost in a hose, by Darcy and Weisbach with Churchill's friction factor."""

from __future__ import annotations

import math

from assistant.calc import water
from assistant.calc.constants import note_of, value_of
from assistant.calc.figure import Input, Outcome, figure

ROUGHNESS_UM = value_of("roughness of the bore")
ROOM_F = 68.0
UNCERTAINTY = value_of("hose loss uncertainty")
"""Bore known to 4 % alone moves the loss by -17 to +22 % (derived). With bore, roughness and
temperature drawn at random it holds 9 times in 10 (tests/calc/test_figures.py)."""

COIL = value_of("coil factor")

TEMPERATURE = Input("degF", 32.1, 210, ROOM_F, "water temperature")
BORE = Input("in", 0.05, 4, about="inside diameter")
ROUGHNESS = Input("micrometer", 0, 200, ROUGHNESS_UM, "roughness of the bore")

CHURCHILL = "Churchill, Chem. Eng. 84(24):91, 1977 (friction factor, all regimes)"
DARCY = "Darcy-Weisbach"


def velocity(bore: float, flow: float) -> float:
    """Mean velocity [m/s] of a flow [m³/s] in a bore [m]."""
    return 4 * flow / (math.pi * bore * bore)


def reynolds(bore: float, flow: float, kelvin: float) -> float:
    """Reynolds number of a flow [m³/s] in a bore [m] at a temperature [K]."""
    return water.density(kelvin) * velocity(bore, flow) * bore / water.viscosity(kelvin)


def churchill(re: float, relative_roughness: float) -> float:
    """Darcy friction factor for any Reynolds number above 0 (Churchill 1977).

    >>> round(churchill(1000, 0), 4)  # laminar: 64/Re
    0.064
    """
    a = (2.457 * math.log(1 / ((7 / re) ** 0.9 + 0.27 * relative_roughness))) ** 16
    b = (37530 / re) ** 16
    return float(8 * ((8 / re) ** 12 + 1 / (a + b) ** 1.5) ** (1 / 12))


def friction_loss(
    bore: float, length: float, flow: float, kelvin: float, roughness: float = ROUGHNESS_UM * 1e-6
) -> float:
    """Pressure lost [Pa] by a flow [m³/s] along a straight bore [m] of a length [m]."""
    if flow <= 0 or length <= 0:
        return 0.0
    f = churchill(reynolds(bore, flow, kelvin), roughness / bore)
    v = velocity(bore, flow)
    return f * length / bore * water.density(kelvin) * v * v / 2


@figure(
    "hose-loss",
    takes={"bore": BORE, "length": Input("ft", 0, 2000, about="whole hose, reel included"),
           "flow": Input("gpm", 0, 100), "temperature": TEMPERATURE, "roughness": ROUGHNESS,
           "coiled": Input("ft", 0, 2000, 0, "part of the length still on the reel")},
    gives={"pressure_loss": "psi", "velocity": "ft/s", "reynolds": "", "friction_factor": ""},
    sources=(DARCY, CHURCHILL, water.SOURCE,
             note_of("roughness of the bore"), note_of("coil factor")))
def hose_loss(
    bore: float, length: float, flow: float, temperature: float, roughness: float, coiled: float
) -> Outcome:
    """Pressure lost along a hose: f (L/D) rho v²/2; the coiled part counts about 20 % more.

    >>> from assistant.units import quantity as q
    >>> r = hose_loss(bore=q(0.25, "in"), length=q(200, "ft"), flow=q(4, "gpm"))
    >>> abs(r.number("pressure_loss", "psi") / 956.6 - 1) < 0.01
    True
    """
    loss = friction_loss(bore, length, flow, temperature, roughness)
    coil = friction_loss(bore, min(coiled, length), flow, temperature, roughness)
    re = reynolds(bore, flow, temperature) if flow > 0 else 0.0
    notes: list[str] = ["About: within 20 % some nine times in ten, mostly for the true bore; "
                        "more often too low than too high."]
    if coiled > 0:
        loss += coil * (COIL - 1)
        notes.append("The part on the reel is counted about 20 % higher; that is uncertain.")
    if 2100 < re < 4000:
        notes.append("The flow is between laminar and turbulent; the loss is uncertain there.")
    return Outcome(
        {"pressure_loss": loss, "velocity": velocity(bore, flow), "reynolds": re,
         "friction_factor": churchill(re, roughness / bore) if re > 0 else 0.0},
        tuple(notes), {"pressure_loss": UNCERTAINTY})
