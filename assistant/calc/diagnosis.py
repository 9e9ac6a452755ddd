"""What a gauge that reads otherwise than expected says about jets, leaks and the relief."""

from __future__ import annotations

import math

from assistant.calc import hose, nozzle, water
from assistant.calc.figure import Input, Outcome, figure


@figure(
    "gauge-diagnosis",
    takes={"gauge": Input("psi", 1, 15000, about="pressure read at the pump"),
           "pump_flow": Input("gpm", 0.05, 100), "pump_limit": Input("psi", 50, 15000),
           "bore": hose.BORE, "length": Input("ft", 0, 2000), "orifice": nozzle.ORIFICE,
           "count": nozzle.COUNT, "cd": nozzle.COEFFICIENT, "temperature": hose.TEMPERATURE},
    gives={"expected": "psi", "area_ratio": "", "diameter_ratio": "", "flow_lost": "gpm",
           "one_jet_blocked": "psi"},
    sources=(nozzle.NFPA_291, hose.CHURCHILL, water.SOURCE))
def gauge_diagnosis(
    gauge: float, pump_flow: float, pump_limit: float, bore: float, length: float,
    orifice: float, count: float, cd: float, temperature: float,
) -> Outcome:
    """Expected gauge pressure, and what a lower one means: jets worn by a ratio of area, or so
    much flow lost; and what one blocked jet would need.

    >>> from assistant.units import quantity as q
    >>> r = gauge_diagnosis(q(2600, "psi"), q(4, "gpm"), q(3000, "psi"), q(0.25, "in"),
    ...                     q(200, "ft"), q(0.0577, "in"))
    >>> round(r.number("area_ratio", ""), 3), round(r.number("flow_lost", "gpm"), 2)
    (1.103, 0.26)
    """
    d = nozzle.equal_area_diameter(orifice, count)

    def loss(flow: float) -> float:
        return hose.friction_loss(bore, length, flow, temperature)

    def needed(flow: float) -> float:
        return nozzle.jet_pressure(d, flow, cd, temperature) + loss(flow)

    full = needed(pump_flow)
    expected = min(full, pump_limit)
    at_nozzle = gauge - loss(pump_flow)
    wanted = nozzle.jet_pressure(d, pump_flow, cd, temperature)
    worn = math.sqrt(wanted / at_nozzle) if at_nozzle > 0 else float("inf")
    low, high = 0.0, pump_flow * 2
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (middle, high) if needed(middle) < gauge else (low, middle)
    lost = max(pump_flow - low, 0.0)
    blocked = float("nan")
    if count > 1:
        fewer = nozzle.equal_area_diameter(orifice, count - 1)
        blocked = nozzle.jet_pressure(fewer, pump_flow, cd, temperature) + loss(pump_flow)
    notes = []
    if worn == float("inf"):
        notes.append("The gauge is below the hose loss alone: flow is lost before the nozzle.")
        worn = 0.0
    if gauge > expected * 1.05:
        notes.append("Higher than expected: blocked jets, or a kink.")
    elif gauge < expected * 0.95:
        notes.append("Lower than expected: worn jets, a leak, or the bypass open.")
    if math.isnan(blocked):
        blocked = 0.0
    elif blocked > pump_limit:
        notes.append("One blocked jet would open the pressure limit.")
    return Outcome({"expected": expected, "area_ratio": worn, "diameter_ratio": math.sqrt(worn),
                    "flow_lost": lost, "one_jet_blocked": blocked}, tuple(notes),
                   {"expected": hose.UNCERTAINTY * loss(pump_flow) / full})
