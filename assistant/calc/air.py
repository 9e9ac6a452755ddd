"""Carbon monoxide: a day's average, and how fast the air of a room goes bad."""

from __future__ import annotations

import math

from assistant.calc.constants import note_of, value_of
from assistant.calc.figure import Input, Outcome, OutsideRange, figure

LIMITS = "OSHA PEL 50 ppm, NIOSH REL 35 ppm TWA and 200 ppm ceiling, IDLH 1200 ppm"
NEVER_INDOORS = "Only to show how fast air goes bad. Never a reason to run an engine indoors."
EARNEST = note_of("carbon monoxide emission")
NEVER = 24 * 3600.0
MOLE = 0.0280101
MOLAR_VOLUME = 8.314462618 * 298.15 / 101325

VOLUME = Input("ft3", 10, 1e6, about="of the room")
CHANGES = Input("1/hour", 0, 100, about="air changes an hour")
EMISSION = Input("cfm", 0.001, 50, value_of("carbon monoxide emission"),
                 "carbon monoxide given off")


@figure(
    "co-twa",
    takes={"exposures": Input("ppm", 0, 10000, about="such as 120ppm:1h,40ppm:3h", many=True),
           "hours": Input("h", 0, 24, about="how long each lasted", many=True)},
    gives={"twa": "ppm"},
    sources=(LIMITS, "TWA = sum(C t)/8 h, for longer shifts too (from memory)"))
def co_twa(exposures: tuple[float, ...], hours: tuple[float, ...]) -> Outcome:
    """Eight-hour average of carbon monoxide: sum(C t)/8 h.

    >>> from assistant.units import quantity as q
    >>> r = co_twa([q(c, "ppm") for c in (120, 40, 5)], [q(t, "h") for t in (1, 3, 4)])
    >>> round(r.number("twa", "ppm"), 1)
    32.5
    """
    if len(exposures) != len(hours) or not exposures:
        raise OutsideRange("co-twa", "exposures", f"{len(exposures)} levels and {len(hours)} times",
                           "as many levels as times, and at least one")
    if sum(hours) > 24 * 3600 + 1e-6:
        raise OutsideRange("co-twa", "hours", f"{sum(hours) / 3600:g} h in all",
                           "at most 24 h a day")
    twa = sum(c * t for c, t in zip(exposures, hours, strict=True)) / (8 * 3600)
    notes = []
    if max(exposures) >= 200e-6:
        notes.append("200 ppm or more: leave at once (NIOSH ceiling).")
    if twa > 50e-6:
        notes.append("Over the OSHA limit of 50 ppm.")
    elif twa > 35e-6:
        notes.append("Over the NIOSH limit of 35 ppm.")
    return Outcome({"twa": twa}, tuple(notes))


def concentration(volume: float, flow: float, emission: float, time: float, start: float = 0.0
                  ) -> float:
    """Share of carbon monoxide after a time [s] in a room [m³] with ventilation and emission
    [m³/s], perfectly mixed: V dC/dt = G - Q C."""
    if flow == 0:
        return start + emission * time / volume
    gone = math.exp(-flow * time / volume)
    return start * gone + emission / flow * (1 - gone)


@figure(
    "co-room",
    takes={"volume": VOLUME, "changes": CHANGES, "emission": EMISSION,
           "time": Input("min", 0, 1440, 10), "start": Input("ppm", 0, 10000, 0)},
    gives={"concentration": "ppm", "steady": "ppm", "time_to_200": "min", "time_to_1200": "min"},
    sources=("V dC/dt = G - Q C, perfect mixing (derived)", EARNEST, LIMITS))
def co_room(
    volume: float, changes: float, emission: float, time: float, start: float
) -> Outcome:
    """Carbon monoxide in a room with an engine, and when 200 and 1200 ppm are reached (24 h where
    never).

    >>> from assistant.units import quantity as q
    >>> r = co_room(q(3200, "ft3"), q(5, "ach"), q(0.818, "cfm"))
    >>> round(r.number("concentration", "ppm")), round(r.number("steady", "ppm"))
    (1734, 3067)
    """
    flow = volume * changes
    steady = emission / flow if flow > 0 else 1.0

    def until(level: float) -> float:
        if start >= level:
            return 0.0
        if flow == 0:
            return (level - start) * volume / emission
        if level >= steady:
            return NEVER
        return -volume / flow * math.log((steady - level) / (steady - start))

    return Outcome(
        {"concentration": concentration(volume, flow, emission, time, start), "steady": steady,
         "time_to_200": min(until(200e-6), NEVER), "time_to_1200": min(until(1200e-6), NEVER)},
        (NEVER_INDOORS, "Perfect mixing is assumed; near the engine it is worse."))


@figure(
    "co-emission",
    takes={"power": Input("kW", 0.1, 100), "rate": Input("gram / kWh", 1, 2000, 610)},
    gives={"mass": "gram / hour", "volume": "cfm"},
    sources=("40 CFR 1054.105: at most 610 g/kWh for new nonhandheld engines",
             "ideal gas at 25 degC"))
def co_emission(power: float, rate: float) -> Outcome:
    """Carbon monoxide an engine may give off by law.

    >>> from assistant.units import quantity as q
    >>> r = co_emission(q(4, "kW"))
    >>> round(r.number("mass", "gram / hour")), round(r.number("volume", "cfm"), 3)
    (2440, 1.254)
    """
    mass = power * rate
    return Outcome({"mass": mass, "volume": mass / MOLE * MOLAR_VOLUME}, (NEVER_INDOORS,))
