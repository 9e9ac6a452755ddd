"""Hydraulic and shaft power of the pump, and the size class of the unit."""

from __future__ import annotations

from assistant.calc.constants import note_of, value_of
from assistant.calc.figure import Input, Outcome, figure

ETA = value_of("pump efficiency")
ETA_NOTE = note_of("pump efficiency")
AS_4233 = "AS 4233.1:2013 size classes (bar times litres a minute: 800, 5600), as scoped"
BAR_LPM = 1e5 / 60000
"""1 bar times 1 litre a minute, in watts."""

FLOW = Input("gpm", 0, 100)
PRESSURE = Input("psi", 0, 15000)
EFFICIENCY = Input("", 0.3, 1, ETA, "of the pump")


@figure(
    "pump-power",
    takes={"flow": FLOW, "pressure": PRESSURE, "efficiency": EFFICIENCY},
    gives={"hydraulic": "hp", "shaft": "hp"},
    sources=("P = Q p (derived)", ETA_NOTE))
def pump_power(flow: float, pressure: float, efficiency: float) -> Outcome:
    """Hydraulic power Q p, and the shaft power that a pump of an efficiency takes for it.

    >>> from assistant.units import quantity as q
    >>> r = pump_power(q(4, "gpm"), q(3000, "psi"))
    >>> round(r.number("hydraulic", "hp"), 2), round(r.number("shaft", "hp"), 2)
    (7.0, 8.24)
    """
    hydraulic = flow * pressure
    return Outcome({"hydraulic": hydraulic, "shaft": hydraulic / efficiency}, (ETA_NOTE,))


@figure(
    "size-class",
    takes={"flow": FLOW, "pressure": PRESSURE},
    gives={"product": "W", "bar_litres": "", "class_number": ""},
    sources=(AS_4233,))
def size_class(flow: float, pressure: float) -> Outcome:
    """Pressure times flow in bar L/min, and the class: 0 below 800 (out of scope), 1 (A) to 5600,
    2 (B) above.

    >>> from assistant.units import quantity as q
    >>> r = size_class(q(4, "gpm"), q(3000, "psi"))
    >>> round(r.number("bar_litres", "")), r.number("class_number", "")
    (3132, 1.0)
    """
    product = flow * pressure / BAR_LPM
    number = 0.0 if product < 800 else 1.0 if product <= 5600 else 2.0
    name = {0.0: "out of scope", 1.0: "Class A", 2.0: "Class B"}[number]
    return Outcome({"product": flow * pressure, "bar_litres": product, "class_number": number},
                   (f"Size class: {name}.",))
