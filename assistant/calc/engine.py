"""What an engine still gives at altitude and in heat."""

from __future__ import annotations

import math

from assistant.calc.figure import Input, Outcome, figure
from assistant.calc.supply import ALTITUDE, ATMOSPHERE, atmospheric_pressure
from assistant.calc.water import ZERO_CELSIUS

J1349 = "SAE J1349 correction factor, as quoted"


@figure(
    "engine-altitude",
    takes={"altitude": ALTITUDE, "temperature": Input("degF", -20, 130, 77),
           "rated": Input("hp", 0.1, 200, 1)},
    gives={"share": "", "power": "hp", "correction": ""},
    sources=(J1349, ATMOSPHERE, "supported for factors of about 0.93 to 1.07 only (from memory)"))
def engine_altitude(altitude: float, temperature: float, rated: float) -> Outcome:
    """Share of an engine's rated power left: 1/CF with CF = 1.18 (990/p) sqrt(T/298) - 0.18.

    >>> from assistant.units import quantity as q
    >>> round(engine_altitude(q(5000, "ft"), q(25, "degC")).number("share", ""), 2)
    0.83
    """
    hectopascal = atmospheric_pressure(altitude) / 100
    kelvin = temperature - ZERO_CELSIUS + 273
    factor = 1.18 * (990 / hectopascal) * math.sqrt(kelvin / 298) - 0.18
    notes = () if 0.93 <= factor <= 1.07 else (
        "Beyond what the standard supports: an estimate.",)
    return Outcome({"share": 1 / factor, "power": rated / factor, "correction": factor}, notes)
