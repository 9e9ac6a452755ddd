"""Will the supply feed the pump: bucket test, inlet pressure, and suction head (NPSH)."""

from __future__ import annotations

import math

from assistant.calc import hose, water
from assistant.calc.figure import Input, Outcome, figure

NFPA_291 = "NFPA 291 rating formula, exponent 0.54, as quoted"
ATMOSPHERE = "US Standard Atmosphere 1976, troposphere"
HYDRAULIC_INSTITUTE = "NPSH on a total-head basis, definition as used by the Hydraulic Institute"

SHORTEST_BUCKET = 5 * 3.785411784e-3 * 0.999
SHORTEST_TIME = 15.0

LENGTH = Input("ft", 0, 1000, about="hose from the source to the pump")
LIFT = Input("ft", -100, 100, 0, "height of the pump above the source; negative if it is below")
ALTITUDE = Input("ft", 0, 10000, 0)


def atmospheric_pressure(altitude: float) -> float:
    """Pressure of the standard atmosphere [Pa] at a height [m] from 0 to 3048.

    >>> round(atmospheric_pressure(0))
    101325
    """
    return float(101325 * (1 - 2.25577e-5 * altitude) ** 5.25588)


@figure(
    "bucket-test",
    takes={"volume": Input("gal", 0.5, 200, 5), "time": Input("s", 1, 3600),
           "volume_error": Input("gal", 0, 20, 0.1), "time_error": Input("s", 0, 30, 0.5)},
    gives={"flow": "gpm", "flow_error": "%"},
    sources=("Q = V/t; errors added in quadrature (derived)",
             "at least 5 gal and 15 s: common practice, no source"))
def bucket_test(volume: float, time: float, volume_error: float, time_error: float) -> Outcome:
    """Flow from the time to fill a bucket: V/t, with its relative error.

    >>> from assistant.units import quantity as q
    >>> round(bucket_test(volume=q(5, "gal"), time=q(50, "s")).number("flow", "gpm"), 3)
    6.0
    """
    flow = volume / time
    error = math.hypot(volume_error / volume, time_error / time)
    notes = []
    if volume < SHORTEST_BUCKET or time < SHORTEST_TIME:
        notes.append("Short test: use 5 gallons or more and 15 seconds or more for a good figure.")
    return Outcome({"flow": flow, "flow_error": error}, tuple(notes), {"flow": error})


@figure(
    "supply-margin",
    takes={"supply": Input("gpm", 0.01, 200), "pump_flow": Input("gpm", 0.01, 100)},
    gives={"ratio": "", "spare": "gpm"},
    sources=("margin of 1.25: common practice, no published rule found",))
def supply_margin(supply: float, pump_flow: float) -> Outcome:
    """How many times the pump's demand the supply gives; 1.25 or more is wanted.

    >>> from assistant.units import quantity as q
    >>> supply_margin(supply=q(6, "gpm"), pump_flow=q(4, "gpm")).number("ratio", "")
    1.5
    """
    return Outcome({"ratio": supply / pump_flow, "spare": supply - pump_flow})


@figure(
    "residual-pressure",
    takes={"static_pressure": Input("psi", 1, 300), "free_flow": Input("gpm", 0.1, 200),
           "flow": Input("gpm", 0, 200)},
    gives={"pressure": "psi"},
    sources=(NFPA_291,))
def residual_pressure(static_pressure: float, free_flow: float, flow: float) -> Outcome:
    """Pressure left at the tap when the pump takes a flow: p (1 - (Q/Qfree)^(1/0.54)).

    Not with a pressure-reducing valve or a flow limiter.

    >>> from assistant.units import quantity as q
    >>> r = residual_pressure(q(50, "psi"), q(10, "gpm"), q(4, "gpm"))
    >>> round(r.number("pressure", "psi"), 2)
    40.84
    """
    share = flow / free_flow
    notes: tuple[str, ...] = (
        "Not valid with a pressure-reducing valve or a flow limiter on the line.",)
    if share > 1:
        notes += ("The supply cannot give this flow.",)
    left = static_pressure * (1 - min(share, 1.0) ** (1 / 0.54))
    return Outcome({"pressure": left}, notes)


@figure(
    "inlet-pressure",
    takes={"pressure": Input("psi", 0, 300, about="at the tap while the pump runs"),
           "bore": hose.BORE, "length": LENGTH, "flow": Input("gpm", 0, 100), "lift": LIFT,
           "temperature": hose.TEMPERATURE},
    gives={"inlet_pressure": "psi", "hose_loss": "psi"},
    sources=(hose.DARCY, hose.CHURCHILL, water.SOURCE))
def inlet_pressure(
    pressure: float, bore: float, length: float, flow: float, lift: float, temperature: float
) -> Outcome:
    """Pressure at the pump's inlet: tap pressure less supply-hose loss less lift.

    A bucket test at the end of the supply hose already includes the hose: do not count it twice.

    >>> from assistant.units import quantity as q
    >>> r = inlet_pressure(q(40.84, "psi"), q(0.75, "in"), q(100, "ft"), q(4, "gpm"))
    >>> round(r.number("inlet_pressure", "psi"), 1)
    38.4
    """
    loss = hose.friction_loss(bore, length, flow, temperature)
    head = water.density(temperature) * water.GRAVITY * lift
    return Outcome({"inlet_pressure": pressure - loss - head, "hose_loss": loss},
                   ("A negative figure means the supply cannot deliver this flow.",)
                   if pressure - loss - head < 0 else (), {"hose_loss": hose.UNCERTAINTY})


@figure(
    "npsh",
    takes={"temperature": hose.TEMPERATURE, "altitude": ALTITUDE, "lift": LIFT,
           "bore": Input("in", 0.05, 4, 0.75), "length": Input("ft", 0, 1000, 0),
           "flow": Input("gpm", 0, 100, 0),
           "pressure": Input("psi", 0, 300, 0, "gauge pressure at the source; 0 for a tank")},
    gives={"npsh_available": "ft", "hose_loss": "ft", "vapour_pressure": "psi"},
    sources=(HYDRAULIC_INSTITUTE, ATMOSPHERE, water.SOURCE))
def npsh(
    temperature: float, altitude: float, lift: float, bore: float, length: float, flow: float,
    pressure: float,
) -> Outcome:
    """Suction head available: (atmospheric + gauge - vapour pressure)/(rho g) - lift - loss.

    >>> from assistant.units import quantity as q
    >>> round(npsh(temperature=q(60, "degF")).number("npsh_available", "ft"), 1)
    33.3
    """
    rho_g = water.density(temperature) * water.GRAVITY
    vapour = water.vapour_pressure(temperature)
    loss = hose.friction_loss(bore, length, flow, temperature) / rho_g
    head = (atmospheric_pressure(altitude) + pressure - vapour) / rho_g - lift - loss
    notes: tuple[str, ...] = (
        "Compare with what the pump's manual requires, plus 3 ft (common practice).",)
    if head < 0:
        notes += ("Below zero: the water would boil before the pump.",)
    return Outcome({"npsh_available": head, "hose_loss": loss, "vapour_pressure": vapour}, notes,
                   {"hose_loss": hose.UNCERTAINTY})
