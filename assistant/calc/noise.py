"""Noise dose of a day, and how long a level may be borne, by OSHA and by NIOSH."""

from __future__ import annotations

import math

from assistant.calc.figure import Input, Outcome, OutsideRange, figure

OSHA = "29 CFR 1910.95 App. A"
NIOSH = "NIOSH 98-126"
THRESHOLDS = "thresholds of 90 and 80 dBA: from memory"
LOWEST, HIGHEST = 80.0, 115.0

LEVEL = Input("dBA", 0, HIGHEST, about="steady sound level")


def osha_hours(level: float) -> float:
    """Hours OSHA allows at a level [dBA]: 8 / 2^((L - 90)/5)."""
    return float(8 / 2 ** ((level - 90) / 5))


def niosh_hours(level: float) -> float:
    """Hours NIOSH allows at a level [dBA]: 8 / 2^((L - 85)/3)."""
    return float(8 / 2 ** ((level - 85) / 3))


@figure(
    "noise-dose",
    takes={"exposures": Input("dBA", 0, HIGHEST, about="such as 95dBA:3h,85dBA:5h", many=True),
           "hours": Input("h", 0, 24, about="how long each lasted", many=True)},
    gives={"osha_pel": "%", "osha_hc": "%", "niosh": "%", "osha_pel_twa": "dBA",
           "osha_hc_twa": "dBA", "niosh_twa": "dBA"},
    sources=(OSHA, NIOSH, THRESHOLDS))
def noise_dose(exposures: tuple[float, ...], hours: tuple[float, ...]) -> Outcome:
    """Dose of a day of steady levels: 100 sum(C/T). PEL counts from 90 dBA, hearing conservation
    and NIOSH from 80 dBA. Not for impulses.

    >>> from assistant.units import quantity as q
    >>> r = noise_dose([q(95, "dBA"), q(85, "dBA")], [q(3, "h"), q(5, "h")])
    >>> round(r.number("osha_pel", "%"), 1), round(r.number("niosh", "%"), 1)
    (75.0, 440.5)
    """
    if len(exposures) != len(hours) or not exposures:
        raise OutsideRange("noise-dose", "exposures", f"{len(exposures)} levels and {len(hours)} "
                           "times", "as many levels as times, and at least one")
    if sum(hours) > 24 * 3600 + 1e-6:
        raise OutsideRange("noise-dose", "hours", f"{sum(hours) / 3600:g} h in all",
                           "at most 24 h a day")
    pairs = [(level, seconds / 3600) for level, seconds in zip(exposures, hours, strict=True)]
    pel = sum(h / osha_hours(x) for x, h in pairs if x >= 90)
    conservation = sum(h / osha_hours(x) for x, h in pairs if x >= LOWEST)
    niosh = sum(h / niosh_hours(x) for x, h in pairs if x >= LOWEST)
    notes = []
    if pel > 1:
        notes.append("Over the OSHA limit for a day.")
    elif conservation >= 0.5:
        notes.append("At or over the OSHA action level: hearing conservation is due.")
    if niosh > 1:
        notes.append("Over the NIOSH recommended limit for a day.")

    def twa(dose: float, slope: float, base: float) -> float:
        return slope * math.log10(dose) + base if dose > 0 else 0.0

    return Outcome(
        {"osha_pel": pel, "osha_hc": conservation, "niosh": niosh,
         "osha_pel_twa": twa(pel, 16.61, 90), "osha_hc_twa": twa(conservation, 16.61, 90),
         "niosh_twa": twa(niosh, 10, 85)}, tuple(notes))


@figure(
    "noise-time",
    takes={"level": Input("dBA", 80, HIGHEST, about="steady sound level")},
    gives={"osha": "h", "niosh": "min"},
    sources=(OSHA, NIOSH))
def noise_time(level: float) -> Outcome:
    """Time a day allowed at a steady level without protection, by OSHA and by NIOSH.

    >>> from assistant.units import quantity as q
    >>> r = noise_time(q(102, "dBA"))
    >>> round(r.number("osha", "h"), 3), round(r.number("niosh", "min"), 2)
    (1.516, 9.45)
    """
    return Outcome({"osha": osha_hours(level) * 3600, "niosh": niosh_hours(level) * 3600})
