"""Surge when flow stops, energy stored in the water, and heat in the bypass."""

from __future__ import annotations

from assistant.calc import hose, water
from assistant.calc.constants import note_of, value_of
from assistant.calc.figure import Input, Outcome, figure
from assistant.calc.power import EFFICIENCY

BULK_MODULUS = 2.197e9
"""Of water at 20 degC [Pa] (IAPWS-95, by CoolProp)."""
SOUND = 1483.0
SPECIFIC_HEAT = 4186.0
"""Of water between 10 and 60 degC [J/(kg K)], within 0.2 % (IAPWS-IF97)."""
JOUKOWSKY = "Joukowsky, rho a dv (any handbook; from memory)"


@figure(
    "surge",
    takes={"flow": Input("gpm", 0, 100, about="stopped at once"), "bore": hose.BORE,
           "sound_speed": Input("m/s", 50, 1500, SOUND, "in the filled hose"),
           "temperature": hose.TEMPERATURE},
    gives={"surge": "psi", "velocity": "ft/s"},
    sources=(JOUKOWSKY, water.SOURCE))
def surge(flow: float, bore: float, sound_speed: float, temperature: float) -> Outcome:
    """Pressure rise when a flow is stopped at once: rho a v. With 1483 m/s an upper bound.

    >>> from assistant.units import quantity as q
    >>> round(surge(q(4, "gpm"), q(0.25, "in")).number("surge", "psi"))
    1711
    """
    v = hose.velocity(bore, flow)
    return Outcome({"surge": water.density(temperature) * sound_speed * v, "velocity": v},
                   ("Sound in thermoplastic hose is slower (a few hundred m/s, from memory): "
                    "this is an upper bound.",) if sound_speed >= SOUND else ())


@figure(
    "stored-energy",
    takes={"bore": hose.BORE, "length": Input("ft", 0, 2000),
           "pressure": Input("psi", 0, 15000)},
    gives={"energy": "J", "volume": "gal"},
    sources=("E = P² V/(2 K); K of water 2.197 GPa (IAPWS-95, by CoolProp)",))
def stored_energy(bore: float, length: float, pressure: float) -> Outcome:
    """Energy in the compressed water of a hose; the swollen hose itself usually holds more.

    >>> from assistant.units import quantity as q
    >>> r = stored_energy(q(0.25, "in"), q(200, "ft"), q(4000, "psi"))
    >>> round(r.number("energy", "J"))
    334
    """
    volume = 3.141592653589793 / 4 * bore**2 * length
    return Outcome({"energy": pressure**2 * volume / (2 * BULK_MODULUS), "volume": volume},
                   ("A gauge at zero is no proof: open the valve until the flow stops.",))


@figure(
    "bypass-heating",
    takes={"pressure": Input("psi", 1, 15000, about="lost in the bypass"),
           "flow": Input("gpm", 0.05, 100),
           "loop": Input("gal", 0.01, 500, value_of("water in the bypass loop")),
           "temperature": hose.TEMPERATURE, "limit": Input("degF", 33, 211, 140),
           "efficiency": EFFICIENCY},
    gives={"rise_per_pass": "delta_degC", "time": "s"},
    sources=("dT = dP/(rho cp), t = m cp dT eta/(P Q) (derived)", water.SOURCE,
             note_of("pump efficiency"), note_of("water in the bypass loop")))
def bypass_heating(
    pressure: float, flow: float, loop: float, temperature: float, limit: float,
    efficiency: float,
) -> Outcome:
    """How fast water going round in the bypass heats to a limit. No heat loss is assumed.

    >>> from assistant.units import quantity as q
    >>> r = bypass_heating(q(3000, "psi"), q(4, "gpm"), temperature=q(60, "degF"))
    >>> round(r.number("time", "s"))
    57
    """
    rho = water.density(temperature)
    heat = loop * rho * SPECIFIC_HEAT * max(limit - temperature, 0.0)
    return Outcome({"rise_per_pass": pressure / (rho * SPECIFIC_HEAT),
                    "time": heat * efficiency / (pressure * flow)},
                   ("No heat loss is assumed; fresh water coming in makes it longer.",))
