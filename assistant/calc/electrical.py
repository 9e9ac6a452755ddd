"""Current of an electric unit and the voltage its cord loses."""

from __future__ import annotations

import math

from assistant.calc.constants import note_of, value_of
from assistant.calc.figure import Input, Outcome, OutsideRange, figure
from assistant.calc.power import EFFICIENCY, FLOW, PRESSURE

NEC_TABLE_8 = "NEC Ch. 9 Table 8, stranded copper at 75 degC, as quoted (12 and 10 AWG)"
IACS = "IACS copper, AWG diameters, +2 % for stranding (derived) for other gauges"
OSHA_S4 = "OSHA 1910.304 Table S-4, as reprinted: 16 A on a 20 A circuit, 12 A on 15 A"
MOTOR_NOTES = (note_of("pump efficiency"), note_of("motor efficiency"),
               note_of("motor power factor"))
MOTOR_EFFICIENCY = Input("", 0.3, 1, value_of("motor efficiency"))
POWER_FACTOR = Input("", 0.3, 1, value_of("motor power factor"))

QUOTED = {12: 1.98, 10: 1.24}
"""Ohms per 1000 ft."""
GAUGES = (6, 8, 10, 12, 14, 16, 18)
OHM_PER_KFT = 1 / 304.8


def resistance(gauge: int) -> float:
    """Resistance [ohm/m] of one copper conductor of a gauge [AWG] at 75 degC.

    >>> round(resistance(12) / OHM_PER_KFT, 2), round(resistance(14) / OHM_PER_KFT, 2)
    (1.98, 3.13)
    """
    if gauge in QUOTED:
        return QUOTED[gauge] * OHM_PER_KFT
    diameter = 0.127e-3 * 92 ** ((36 - gauge) / 39)
    resistivity = (1 / 58.0e6) * (1 + 0.00393 * (75 - 20))
    return float(resistivity * 1.02 / (math.pi / 4 * diameter**2))


@figure(
    "cord-drop",
    takes={"gauge": Input("", 6, 18, about="AWG: 6, 8, 10, 12, 14, 16 or 18"),
           "length": Input("ft", 0, 1000), "current": Input("A", 0, 60),
           "voltage": Input("V", 50, 480, 120)},
    gives={"drop": "V", "percent": "%", "resistance": "ohm"},
    sources=(NEC_TABLE_8, IACS,
             "3 % branch and 5 % total: informational note to NEC 210.19(A), as quoted"))
def cord_drop(gauge: float, length: float, current: float, voltage: float) -> Outcome:
    """Voltage lost in a cord, there and back: 2 L R I. Starting current is not covered.

    >>> from assistant.units import quantity as q
    >>> r = cord_drop(12, q(50, "ft"), q(16, "A"), q(120, "V"))
    >>> round(r.number("drop", "V"), 3), round(r.number("percent", "%"), 2)
    (3.168, 2.64)
    """
    if gauge not in GAUGES:
        raise OutsideRange("cord-drop", "gauge", f"{gauge:g} AWG",
                           "one of " + ", ".join(map(str, GAUGES)))
    ohms = 2 * length * resistance(round(gauge))
    drop = ohms * current
    notes = ["Starting current is several times more and is not covered."]
    if drop / voltage > 0.05:
        notes.append("More than 5 %: use a thicker or shorter cord.")
    elif drop / voltage > 0.03:
        notes.append("More than 3 %: a thicker or shorter cord is better.")
    return Outcome({"drop": drop, "percent": drop / voltage, "resistance": ohms}, tuple(notes))


@figure(
    "motor-current",
    takes={"flow": FLOW, "pressure": PRESSURE, "voltage": Input("V", 50, 480, 120),
           "efficiency": EFFICIENCY, "motor_efficiency": MOTOR_EFFICIENCY,
           "power_factor": POWER_FACTOR, "circuit": Input("A", 10, 60, 20)},
    gives={"current": "A", "allowed": "A", "fits": ""},
    sources=("I = P/(V eff pf)", OSHA_S4, *MOTOR_NOTES))
def motor_current(
    flow: float, pressure: float, voltage: float, efficiency: float, motor_efficiency: float,
    power_factor: float, circuit: float,
) -> Outcome:
    """Current an electric unit draws, and whether a circuit allows it (80 % of its rating).

    >>> from assistant.units import quantity as q
    >>> r = motor_current(q(1.5, "gpm"), q(1500, "psi"))
    >>> round(r.number("current", "A"), 1), r.number("fits", "")
    (14.2, 1.0)
    """
    shaft = flow * pressure / efficiency
    current = shaft / (voltage * motor_efficiency * power_factor)
    allowed = value_of("share of a circuit") * circuit
    return Outcome({"current": current, "allowed": allowed, "fits": float(current <= allowed)},
                   MOTOR_NOTES)


@figure(
    "circuit-flow",
    takes={"current": Input("A", 1, 60, 16), "pressure": Input("psi", 100, 15000),
           "voltage": Input("V", 50, 480, 120), "efficiency": EFFICIENCY,
           "motor_efficiency": MOTOR_EFFICIENCY, "power_factor": POWER_FACTOR},
    gives={"hydraulic": "W", "flow": "gpm"},
    sources=("I = P/(V eff pf)", OSHA_S4, *MOTOR_NOTES))
def circuit_flow(
    current: float, pressure: float, voltage: float, efficiency: float, motor_efficiency: float,
    power_factor: float,
) -> Outcome:
    """Most flow at a pressure that a current can drive.

    >>> from assistant.units import quantity as q
    >>> r = circuit_flow(pressure=q(1500, "psi"))
    >>> round(r.number("hydraulic", "W")), round(r.number("flow", "gpm"), 3)
    (1102, 1.688)
    """
    hydraulic = current * voltage * motor_efficiency * power_factor * efficiency
    return Outcome({"hydraulic": hydraulic, "flow": hydraulic / pressure}, MOTOR_NOTES)
