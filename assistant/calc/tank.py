"""Water used, and how long a tank lasts."""

from __future__ import annotations

from assistant.calc.figure import Input, Outcome, figure

MOST = 24 * 3600.0


@figure(
    "water-used",
    takes={"flow": Input("gpm", 0, 100), "time": Input("min", 0, 1440)},
    gives={"volume": "gal"},
    sources=("V = Q t",))
def water_used(flow: float, time: float) -> Outcome:
    """Water used by a flow over a time; add the bypass only where it is dumped.

    >>> from assistant.units import quantity as q
    >>> round(water_used(q(4, "gpm"), q(25, "min")).number("volume", "gal"), 2)
    100.0
    """
    return Outcome({"volume": flow * time})


@figure(
    "tank-time",
    takes={"volume": Input("gal", 0, 5000, about="usable: above the outlet"),
           "flow": Input("gpm", 0.01, 100), "refill": Input("gpm", 0, 200, 0)},
    gives={"time": "min", "lasts": ""},
    sources=("t = V/(Q - refill)", "usable volume excludes the outlet height: common practice"))
def tank_time(volume: float, flow: float, refill: float) -> Outcome:
    """How long a tank lasts: V/(Q - refill). `lasts` is 1 where the refill keeps up (24 h shown).

    >>> from assistant.units import quantity as q
    >>> r = tank_time(q(35, "gal"), q(4, "gpm"), q(2.5, "gpm"))
    >>> round(r.number("time", "min"), 2)
    23.33
    """
    if refill >= flow:
        return Outcome({"time": MOST, "lasts": 1.0}, ("The refill keeps up with the pump.",))
    return Outcome({"time": volume / (flow - refill), "lasts": 0.0})
