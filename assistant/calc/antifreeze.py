"""How much propylene glycol antifreeze, and what it protects to."""

from __future__ import annotations

import math
from functools import cache
from itertools import pairwise
from pathlib import Path

from assistant.calc import hose
from assistant.calc.constants import note_of, value_of
from assistant.calc.figure import Input, Outcome, OutsideRange, figure
from assistant.calc.water import ZERO_CELSIUS
from assistant.yamldata import load_yaml

_DATA = Path(__file__).parent / "data" / "antifreeze.yaml"
LANGE = "Lange's Handbook of Chemistry, 15th ed., Table 5.13 (propylene glycol)"
BOTTLE = "The concentration is the label's; its 'burst' temperature is not its freezing point."
SOURCES = (LANGE, "V = pi/4 d² L", "batch and flow-through mixing (derived)",
           note_of("antifreeze margin"), note_of("water in pump and unloader"))

CONCENTRATION = Input("%", 1, 100, about="glycol by volume in the product, from its label")
PUMP_VOLUME = Input("gal", 0, 20, value_of("water in pump and unloader"),
                    "pump, unloader and short hoses")


@cache
def _rows() -> tuple[tuple[float, float], ...]:
    return tuple((float(a) / 100, float(b)) for a, b in load_yaml(_DATA)["rows"])


def freeze_celsius(share: float) -> float:
    """Freezing point [degC] at a volume share of 0 to 0.5, straight between the table's rows.

    >>> freeze_celsius(0.30), round(freeze_celsius(0.325), 2)
    (-12.8, -14.45)
    """
    rows = _rows()
    for (x0, y0), (x1, y1) in pairwise(rows):
        if x0 <= share <= x1:
            return y0 + (y1 - y0) * (share - x0) / (x1 - x0)
    raise OutsideRange("antifreeze", "concentration", f"{share * 100:g} %", "from 0 to 50 %")


def share_for(celsius: float) -> float:
    """Volume share that freezes at a temperature [degC] from -33.3 to 0; the inverse."""
    rows = _rows()
    for (x0, y0), (x1, y1) in pairwise(rows):
        if y1 <= celsius <= y0:
            return x0 + (x1 - x0) * (celsius - y0) / (y1 - y0)
    raise OutsideRange("antifreeze", "temperature", f"{celsius:g} degC", "from -33.3 to 0 degC")


def _water_volume(bore: float, length: float, pump_volume: float) -> float:
    return math.pi / 4 * bore**2 * length + pump_volume


@figure(
    "hose-volume",
    takes={"bore": hose.BORE, "length": Input("ft", 0, 2000)},
    gives={"volume": "gal"},
    sources=("V = pi/4 d² L",))
def hose_volume(bore: float, length: float) -> Outcome:
    """Water in a hose.

    >>> from assistant.units import quantity as q
    >>> round(hose_volume(q(0.25, "in"), q(200, "ft")).number("volume", "gal"), 3)
    0.51
    """
    return Outcome({"volume": _water_volume(bore, length, 0)})


@figure(
    "antifreeze",
    takes={"bore": hose.BORE, "length": Input("ft", 0, 2000), "pump_volume": PUMP_VOLUME,
           "volume": Input("gal", 0.01, 100, about="antifreeze poured in"),
           "concentration": CONCENTRATION},
    gives={"water_volume": "gal", "batch_concentration": "%", "freeze_point": "degC",
           "flow_through_concentration": "%", "flow_through_freeze_point": "degC"},
    sources=SOURCES)
def antifreeze(
    bore: float, length: float, pump_volume: float, volume: float, concentration: float
) -> Outcome:
    """What an amount of antifreeze protects to, mixed with the water in hose and pump.

    Plan with the batch figure, C = Caf Va/(Va + Vw): the lower of the two, and a dead leg can
    still be worse. Above 50 % the table ends; the figure is then that of 50 %.

    >>> from assistant.units import quantity as q
    >>> r = antifreeze(q(0.25, "in"), q(200, "ft"), q(0.25, "gal"), q(1, "gal"), q(50, "%"))
    >>> round(r.number("batch_concentration", "%"), 1)
    28.4
    """
    water = _water_volume(bore, length, pump_volume)
    batch = concentration * volume / (volume + water)
    through = concentration * (1 - math.exp(-volume / water)) if water > 0 else concentration
    notes = [BOTTLE, "Keep 10 degF colder than the forecast in hand (common practice)."]
    if max(batch, through) > 0.5:
        notes.append("The table ends at 50 %; the freezing point given is that of 50 %.")
    return Outcome(
        {"water_volume": water, "batch_concentration": batch,
         "freeze_point": freeze_celsius(min(batch, 0.5)) + ZERO_CELSIUS,
         "flow_through_concentration": through,
         "flow_through_freeze_point": freeze_celsius(min(through, 0.5)) + ZERO_CELSIUS},
        tuple(notes))


@figure(
    "antifreeze-needed",
    takes={"bore": hose.BORE, "length": Input("ft", 0, 2000), "pump_volume": PUMP_VOLUME,
           "concentration": CONCENTRATION,
           "target": Input("%", 0.1, 50, about="glycol by volume wanted in the system")},
    gives={"volume": "gal", "flow_through_volume": "gal", "water_volume": "gal"},
    sources=SOURCES)
def antifreeze_needed(
    bore: float, length: float, pump_volume: float, concentration: float, target: float
) -> Outcome:
    """Antifreeze to pour in for a wanted concentration: Va = Vw Ct/(Caf - Ct).

    >>> from assistant.units import quantity as q
    >>> r = antifreeze_needed(q(0.25, "in"), q(200, "ft"), q(0.25, "gal"), q(60, "%"), q(40, "%"))
    >>> round(r.number("volume", "gal"), 2)
    1.52
    """
    if target >= concentration:
        raise OutsideRange("antifreeze-needed", "target", f"{target * 100:g} %",
                           f"below the product's {concentration * 100:g} %")
    water = _water_volume(bore, length, pump_volume)
    return Outcome(
        {"volume": water * target / (concentration - target),
         "flow_through_volume": -water * math.log(1 - target / concentration),
         "water_volume": water}, (BOTTLE,))


@figure(
    "antifreeze-share",
    takes={"temperature": Input("degF", -27.9, 32, about="coldest expected"),
           "margin": Input("delta_degF", 0, 40, 0)},
    gives={"concentration": "%"},
    sources=(LANGE,))
def antifreeze_share(temperature: float, margin: float) -> Outcome:
    """Glycol by volume that freezes at a temperature, less a margin.

    >>> from assistant.units import quantity as q
    >>> round(antifreeze_share(q(10, "degF")).number("concentration", "%"), 0)
    29.0
    """
    return Outcome({"concentration": share_for(temperature - ZERO_CELSIUS - margin)}, (BOTTLE,))
