"""Advance and pull back: how many strokes a line takes, how long, how much water."""

from __future__ import annotations

import math

from assistant.calc.figure import Input, Outcome, OutsideRange, figure

HALF = "pull back half of each advance: common practice, no source"


@figure(
    "strokes",
    takes={"length": Input("ft", 0.5, 1000), "advance": Input("ft", 0.5, 200, about="each"),
           "pull_back": Input("ft", 0, 200, 0, "each; half of the advance where 0"),
           "speed_in": Input("ft/min", 0.5, 200, 10), "speed_out": Input("ft/min", 0.5, 200, 5),
           "dwell": Input("min", 0, 60, 0), "flow": Input("gpm", 0, 100, 0)},
    gives={"advances": "", "pull_backs": "", "forward": "ft", "back": "ft", "time": "min",
           "water": "gal"},
    sources=("count of strokes (derived)", HALF))
def strokes(
    length: float, advance: float, pull_back: float, speed_in: float, speed_out: float,
    dwell: float, flow: float,
) -> Outcome:
    """Strokes to clean a line: n = ceil((L - a)/(a - b)) + 1 advances, n - 1 pull-backs.

    "Half" is meant of each advance, not of the whole depth.

    >>> from assistant.units import quantity as q
    >>> r = strokes(q(60, "ft"), q(5, "ft"))
    >>> round(r.number("advances", "")), round(r.number("time", "min"), 1)
    (23, 22.5)
    """
    back = pull_back or advance / 2
    if back >= advance:
        raise OutsideRange("strokes", "pull_back", f"{back / 0.3048:g} ft",
                           "less than each advance")
    count = 1 if length <= advance else math.ceil((length - advance) / (advance - back) - 1e-9) + 1
    returned = (count - 1) * back
    forward = length + returned
    time = forward / speed_in + returned / speed_out + dwell
    return Outcome({"advances": float(count), "pull_backs": float(count - 1), "forward": forward,
                    "back": returned, "time": time, "water": flow * time},
                   ("Half means half of each advance, not of the whole depth.",))
