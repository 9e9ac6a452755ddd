"""The operating point: pump, limit, hose and nozzle solved together for every reading."""

from __future__ import annotations

from assistant.calc import hose, nozzle, pull, water
from assistant.calc.figure import Input, Outcome, figure


@figure(
    "operating-point",
    takes={"pump_flow": Input("gpm", 0.05, 100),
           "pump_limit": Input("psi", 50, 15000, about="relief or unloader setting"),
           "bore": hose.BORE, "length": Input("ft", 0, 2000, about="whole hose"),
           "orifice": nozzle.ORIFICE, "count": nozzle.COUNT, "cd": nozzle.COEFFICIENT,
           "coiled": Input("ft", 0, 2000, 0, "part still on the reel"),
           "angle": Input("deg", 0, 90, 30, "of the jets from the hose's axis"),
           "front": Input("", 0, 40, 0, "how many of the jets point forward"),
           "supply": Input("gpm", 0.05, 200, 200, "what the supply can give"),
           "weight": Input("lbf/ft", 0.001, 5, 0.14, "filled hose"),
           "friction": Input("", 0.05, 1.5, pull.FRICTION),
           "bends": Input("", 0, 20, 0), "spacing": Input("ft", 0, 1000, 25),
           "temperature": hose.TEMPERATURE, "roughness": hose.ROUGHNESS},
    gives={"flow": "gpm", "nozzle_pressure": "psi", "hose_loss": "psi", "pump_pressure": "psi",
           "bypass": "gpm", "reaction": "lbf", "pull": "lbf", "reach": "ft"},
    sources=(nozzle.NFPA_291, hose.DARCY, hose.CHURCHILL, pull.MOMENTUM, pull.CAPSTAN,
             water.SOURCE))
def operating_point(
    pump_flow: float, pump_limit: float, bore: float, length: float, orifice: float,
    count: float, cd: float, coiled: float, angle: float, front: float, supply: float,
    weight: float, friction: float, bends: float, spacing: float, temperature: float,
    roughness: float,
) -> Outcome:
    """Flow and pressures from pump to nozzle, by (Q/(Cd A))² rho/2 + loss(Q) = P, with the bypass,
    the reaction and the reach.

    Solved at the pump's flow; if that is more than the limit, Q falls until P is the limit and
    the rest goes through the bypass.

    >>> from assistant.units import quantity as q
    >>> r = operating_point(pump_flow=q(4, "gpm"), pump_limit=q(3000, "psi"), bore=q(0.25, "in"),
    ...                     length=q(200, "ft"), orifice=q(0.0577, "in"))
    >>> round(r.number("nozzle_pressure", "psi"), -1), r.number("bypass", "gpm")
    (2000.0, 0.0)
    """
    extra = (hose.COIL - 1) * min(coiled, length)

    def loss_at(flow: float) -> float:
        return hose.friction_loss(bore, length + extra, flow, temperature, roughness)

    fed = min(pump_flow, supply)
    flow, at_nozzle, loss = nozzle.solve(
        fed, pump_limit, nozzle.equal_area_diameter(orifice, count), cd, temperature, loss_at)
    force = pull.CV * pull.reaction_force(flow, at_nozzle, temperature)
    rear_share = (count - front) / count
    along = pull.net_pull_si(force, rear_share, angle)
    notes = [nozzle.CD_NOTE, pull.CV_NOTE]
    if supply < pump_flow:
        notes.append("The supply gives less than the pump takes: the pump will cavitate.")
    if flow < fed:
        notes.append("The pressure limit opens: part of the flow goes through the bypass.")
    how_far, reach_notes = pull.reach_si(max(along, 0), weight, friction, bends, spacing)
    return Outcome(
        {"flow": flow, "nozzle_pressure": at_nozzle, "hose_loss": loss,
         "pump_pressure": at_nozzle + loss, "bypass": fed - flow, "reaction": force,
         "pull": along, "reach": how_far},
        (*notes, *reach_notes),
        {"hose_loss": hose.UNCERTAINTY,
         "nozzle_pressure": hose.UNCERTAINTY * loss / at_nozzle if at_nozzle > 0 else 1.0})
