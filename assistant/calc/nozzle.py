"""Flow through the jets of a nozzle, and the whole chain from pump to nozzle solved together."""

from __future__ import annotations

import math
from collections.abc import Callable

from assistant.calc import hose, water
from assistant.calc.constants import note_of, value_of
from assistant.calc.figure import Input, Outcome, figure

CD = value_of("jet discharge coefficient")
CD_NOTE = "Where no coefficient is given: " + note_of("jet discharge coefficient")
NFPA_291 = "NFPA 291 outlet formula Q = 29.84 Cd d² sqrt(P), as quoted"

ORIFICE = Input("in", 0.005, 2, about="diameter of one jet")
COUNT = Input("", 1, 40, 1, "number of equal jets")
COEFFICIENT = Input("", 0.3, 1.0, CD, "discharge coefficient")
PRESSURE = Input("psi", 0, 15000)


def equal_area_diameter(orifice: float, count: float) -> float:
    """Diameter of the one jet with the area of `count` equal ones; same unit as `orifice`.

    >>> equal_area_diameter(0.04, 4)
    0.08
    """
    return orifice * math.sqrt(count)


def jet_flow(diameter: float, pressure: float, cd: float, kelvin: float) -> float:
    """Flow [m³/s] through a jet [m] under a pressure [Pa]: Cd A sqrt(2 p / rho)."""
    area = math.pi * diameter * diameter / 4
    return cd * area * math.sqrt(2 * max(pressure, 0) / water.density(kelvin))


def jet_pressure(diameter: float, flow: float, cd: float, kelvin: float) -> float:
    """Pressure [Pa] that a jet [m] needs for a flow [m³/s]; the inverse of jet_flow."""
    area = math.pi * diameter * diameter / 4
    return water.density(kelvin) * (flow / (cd * area)) ** 2 / 2


@figure(
    "nozzle-flow",
    takes={"orifice": ORIFICE, "count": COUNT, "pressure": PRESSURE, "cd": COEFFICIENT,
           "temperature": hose.TEMPERATURE},
    gives={"flow": "gpm", "jet_velocity": "ft/s", "equal_area_diameter": "in"},
    sources=(NFPA_291, "Q = Cd A sqrt(2 dP / rho)", water.SOURCE))
def nozzle_flow(
    orifice: float, count: float, pressure: float, cd: float, temperature: float
) -> Outcome:
    """Flow through the equal jets of a nozzle: Cd A sqrt(2 dP / rho). Turbulent, free discharge.

    >>> from assistant.units import quantity as q
    >>> r = nozzle_flow(orifice=q(0.04, "in"), count=4, pressure=q(2000, "psi"))
    >>> round(r.number("flow", "gpm"), 2)
    7.69
    """
    d = equal_area_diameter(orifice, count)
    return Outcome(
        {"flow": jet_flow(d, pressure, cd, temperature),
         "jet_velocity": math.sqrt(2 * pressure / water.density(temperature)),
         "equal_area_diameter": d},
        (CD_NOTE,))


@figure(
    "nozzle-size",
    takes={"flow": Input("gpm", 0.01, 100), "pressure": Input("psi", 1, 15000), "count": COUNT,
           "cd": COEFFICIENT, "temperature": hose.TEMPERATURE},
    gives={"orifice": "in", "equal_area_diameter": "in"},
    sources=(NFPA_291, water.SOURCE))
def nozzle_size(
    flow: float, pressure: float, count: float, cd: float, temperature: float
) -> Outcome:
    """Diameter of each of `count` equal jets that pass a flow at a pressure.

    >>> from assistant.units import quantity as q
    >>> r = nozzle_size(flow=q(4, "gpm"), pressure=q(2000, "psi"), count=4)
    >>> round(r.number("orifice", "in"), 4)
    0.0288
    """
    area = flow / (cd * math.sqrt(2 * pressure / water.density(temperature)))
    d = math.sqrt(4 * area / math.pi)
    return Outcome({"orifice": d / math.sqrt(count), "equal_area_diameter": d}, (CD_NOTE,))


def solve(
    pump_flow: float, pump_limit: float, diameter: float, cd: float, kelvin: float,
    loss_at: Callable[[float], float],
) -> tuple[float, float, float]:
    """Flow [m³/s], nozzle pressure and hose loss [Pa] of a positive-displacement pump.

    The pump delivers all its flow unless that needs more than the limit at which the relief or
    unloader opens; then the flow falls until pump pressure is the limit. `loss_at(flow)` is the
    pressure lost before the nozzle [Pa], rising with the flow.
    """

    def needed(flow: float) -> float:
        return jet_pressure(diameter, flow, cd, kelvin) + loss_at(flow)

    flow = pump_flow
    if needed(flow) > pump_limit:
        low, high = 0.0, pump_flow
        for _ in range(60):
            flow = (low + high) / 2
            low, high = (flow, high) if needed(flow) < pump_limit else (low, flow)
    return flow, jet_pressure(diameter, flow, cd, kelvin), loss_at(flow)
