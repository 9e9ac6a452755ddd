"""Our formulas against general-purpose reference libraries and against brute force, over whole
ranges and not only at the check cases."""

import math

import fluids
import numpy as np
import pytest
from CoolProp.CoolProp import PropsSI
from iapws import IAPWS97
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

from assistant.calc import antifreeze, hose, noise, nozzle, power, pull, strokes, supply, water
from assistant.calc.air import concentration
from assistant.calc.bends import bend_radius, nozzle_length
from assistant.calc.electrical import OHM_PER_KFT, resistance
from assistant.calc.line import debris_transport, drain_capacity
from assistant.calc.operating import operating_point
from assistant.calc.surge import bypass_heating, stored_energy
from assistant.units import quantity as q

GPM = 6.30902e-5
INCH = 0.0254
PSI = 6894.757
TEMPERATURES = [273.3, 278.15, 288.7, 293.15, 310.93, 322.0, 333.15, 360.0, 372.0]


@pytest.mark.parametrize("kelvin", TEMPERATURES)
def test_water_against_iapws_and_coolprop(kelvin):
    """Density, viscosity and vapour pressure within 0.02 %: iapws.IAPWS97 and CoolProp."""
    liquid = IAPWS97(T=kelvin, P=0.101325)
    assert water.density(kelvin) == pytest.approx(liquid.rho, rel=2e-4)
    assert water.viscosity(kelvin) == pytest.approx(liquid.mu, rel=2e-4)
    assert water.vapour_pressure(kelvin) == pytest.approx(
        PropsSI("P", "T", kelvin, "Q", 0, "Water"), rel=3e-4)
    assert water.density(kelvin) == pytest.approx(
        PropsSI("D", "T", kelvin, "P", 101325, "Water"), rel=2e-4)


@pytest.mark.parametrize("re", [100, 1000, 1e4, 5e4, 1e5, 1e6])
@pytest.mark.parametrize("roughness", [0.0, 1e-4, 1e-3])
def test_friction_factor_against_fluids(re, roughness):
    """Churchill's formula is fluids' Churchill_1977, and within 3 % of its Colebrook solution."""
    ours = hose.churchill(re, roughness)
    assert ours == pytest.approx(fluids.friction.Churchill_1977(re, roughness), rel=1e-9)
    if re < 2000 or re > 4000:
        assert ours == pytest.approx(fluids.friction_factor(Re=re, eD=roughness), rel=0.03)


@pytest.mark.parametrize("bore", [1 / 8, 1 / 4, 3 / 8, 3 / 4])
@pytest.mark.parametrize("gpm", [1.0, 4.0, 8.0])
def test_hose_loss_against_fluids(bore, gpm):
    """fluids.one_phase_dP with its own Colebrook, within 2 %."""
    ours = hose.friction_loss(bore * INCH, 60.96, gpm * GPM, 293.15)
    theirs = fluids.one_phase_dP(
        m=gpm * GPM * 998.2072, rho=998.2072, mu=1.0016e-3, D=bore * INCH, roughness=1.5e-6,
        L=60.96, Method=None)
    assert ours == pytest.approx(theirs, rel=0.02)


def test_hose_loss_against_hazen_williams_within_its_scatter():
    """NFPA 13's Hazen-Williams (C = 150, out of its range here) differs by less than 20 %."""
    for bore, feet, gpm in ((0.25, 200, 4), (0.125, 75, 1.5), (0.375, 200, 8)):
        hazen = 4.52 * gpm**1.85 / (150**1.85 * bore**4.87) * feet
        ours = hose.hose_loss(q(bore, "in"), q(feet, "ft"), q(gpm, "gpm"))
        assert ours.number("pressure_loss", "psi") == pytest.approx(hazen, rel=0.20)


def test_coil_factor_is_within_the_librarys_correlation():
    """fluids' Schmidt correlation gives 1.13 to 1.20 for such hoses on such drums; we say 20 %."""
    for bore, drum, gpm in ((0.25, 10, 4), (0.25, 18, 4), (0.375, 10, 8), (0.375, 18, 8)):
        re = hose.reynolds(bore * INCH, gpm * GPM, 293.15)
        straight = fluids.friction_factor(Re=re, eD=0)
        curved = fluids.friction_factor_curved(
            Re=re, Di=bore * INCH, Dc=drum * INCH, turbulent_method="Schmidt turbulent")
        assert 1.05 < curved / straight < 1.25


def test_orifice_against_fluids():
    """fluids.flow_meter_discharge for a jet much smaller than the pipe before it."""
    d = 0.08 * INCH
    theirs = fluids.flow_meter_discharge(
        D=1.0, Do=d, P1=2000 * PSI + 1e5, P2=1e5, rho=998.2072, C=0.9)
    assert nozzle.jet_flow(d, 2000 * PSI, 0.9, 293.15) == pytest.approx(theirs / 998.2072, rel=2e-3)


def test_jet_velocity_against_isentropic_expansion():
    """CoolProp, water expanded to the atmosphere: within 0.5 % at 4000 psi."""
    p0 = 4000 * PSI + 101325
    s = PropsSI("S", "T", 293.15, "P", p0, "Water")
    drop = PropsSI("H", "T", 293.15, "P", p0, "Water") - PropsSI("H", "P", 101325, "S", s, "Water")
    result = nozzle.nozzle_flow(q(0.04, "in"), 1, q(4000, "psi"))
    assert result.number("jet_velocity", "m/s") == pytest.approx(math.sqrt(2 * drop), rel=5e-3)


@pytest.mark.parametrize("feet", [0, 1000, 5000, 10000])
def test_atmosphere_against_fluids(feet):
    """fluids.ATMOSPHERE_1976 within 0.03 %."""
    ours = supply.atmospheric_pressure(feet * 0.3048)
    assert ours == pytest.approx(fluids.ATMOSPHERE_1976(feet * 0.3048).P, rel=3e-4)


@pytest.mark.parametrize(("gpm", "limit", "bore", "feet", "jet", "cd"), [
    (4, 3000, 0.25, 200, 0.0577, 0.9), (1.5, 1500, 0.125, 75, 0.038, 0.9),
    (8, 3000, 0.375, 200, 0.0759, 0.85), (10, 4000, 0.375, 300, 0.05, 0.9)])
def test_operating_point_against_an_independent_solver(gpm, limit, bore, feet, jet, cd):
    """scipy.brentq over fluids' friction: flow and pressures within 1 %."""
    area = math.pi / 4 * (jet * INCH) ** 2

    def excess(flow):
        loss = fluids.one_phase_dP(m=flow * 998.2, rho=998.2, mu=1.0016e-3, D=bore * INCH,
                                   roughness=1.5e-6, L=feet * 0.3048)
        return 998.2 / 2 * (flow / (cd * area)) ** 2 + loss - limit * PSI

    full = gpm * GPM
    flow = full if excess(full) <= 0 else brentq(excess, 1e-7, full)
    ours = operating_point(q(gpm, "gpm"), q(limit, "psi"), q(bore, "in"), q(feet, "ft"),
                           q(jet, "in"), cd=cd)
    assert ours["flow"].to("m**3/s").magnitude == pytest.approx(flow, rel=0.01)
    at_nozzle = 998.2 / 2 * (flow / (cd * area)) ** 2 / PSI
    assert ours.number("nozzle_pressure", "psi") == pytest.approx(at_nozzle, rel=0.02)


def test_capstan_against_integration():
    """dT/ds integrated in small steps over straights and bends gives the closed form."""
    mu, w = 0.3, 0.1412
    path = [("straight", 20.0), ("bend", math.pi / 2), ("straight", 30.0), ("bend", math.pi / 2),
            ("straight", 40.0)]
    tension = 0.0
    for kind, size in path:
        steps = 20_000
        for _ in range(steps):
            tension += mu * w * size / steps if kind == "straight" else mu * tension * size / steps
    assert pull.drag(path, w, mu) == pytest.approx(tension, rel=1e-3)


def test_reach_is_the_inverse_of_drag():
    """The pull that dragging a reach needs is the pull that was given."""
    for bends in (0, 1, 2):
        r = pull.reach(q(8.152, "lbf"), q(0.1412, "lbf/ft"), 0.3, bends)
        feet = r.number("reach", "ft")
        path = []
        for _ in range(bends):
            path += [("straight", 25.0), ("bend", math.pi / 2)]
        path.append(("straight", feet - 25.0 * bends))
        assert pull.drag(path, 0.1412, 0.3) == pytest.approx(8.152, rel=1e-6)


@pytest.mark.parametrize(("diameter", "slope", "n"), [(4, 1 / 48, 0.013), (3, 1 / 96, 0.009)])
def test_manning_against_fluids(diameter, slope, n):
    """fluids.V_Manning at the hydraulic radius of a full pipe."""
    d = diameter * INCH
    ours = drain_capacity(q(diameter, "in"), slope, n)
    theirs = fluids.V_Manning(Rh=d / 4, S=slope, n=n)
    assert ours["velocity"].to("m/s").magnitude == pytest.approx(theirs, rel=1e-6)


def test_part_full_flow_against_fluids():
    """At the depth found, fluids.V_Manning on the segment gives the flow back."""
    d, slope, n, flow = 4 * INCH, 1 / 48, 0.009, 8 * GPM
    r = debris_transport(q(4, "in"), slope, q(8, "gpm"), n)
    depth = r["depth"].to("m").magnitude
    theta = 2 * math.acos(1 - 2 * depth / d)
    area, wet = d * d / 8 * (theta - math.sin(theta)), d * theta / 2
    assert fluids.V_Manning(Rh=area / wet, S=slope, n=n) * area == pytest.approx(flow, rel=1e-5)


@pytest.mark.parametrize("gauge", [6, 8, 10, 12, 14, 16, 18])
def test_copper_against_awg_physics(gauge):
    """Diameter from fluids.t_from_gauge (AWG), IACS copper at 75 degC: within 2.5 %."""
    diameter = fluids.t_from_gauge(gauge, True, "AWG")
    rho = 1.7241e-8 * (1 + 0.00393 * 55) * 1.02
    ohms = rho / (math.pi / 4 * diameter**2) / OHM_PER_KFT
    assert resistance(gauge) / OHM_PER_KFT == pytest.approx(ohms, rel=0.025)


def test_room_air_against_an_ode_solver():
    """scipy.solve_ivp on V dC/dt = G - Q C."""
    volume, flow, gas = 3200 * 0.0283168, 3200 * 0.0283168 * 5 / 3600, 0.818 * 4.719474e-4
    solved = solve_ivp(lambda _t, c: (gas - flow * c) / volume, (0, 1200), [0.0], rtol=1e-9,
                       atol=1e-12, dense_output=True)
    for seconds in (60, 300, 600, 1200):
        assert concentration(volume, flow, gas, seconds) == pytest.approx(
            float(solved.sol(seconds)[0]), rel=1e-5)


@pytest.mark.parametrize("percent", [20, 28.4, 30, 35, 40, 45, 50])
def test_antifreeze_against_coolprop(percent):
    """CoolProp INCOMP::MPG by mass (density of glycol 1036 from memory): within 2.2 K, the
    two sources' own scatter plus the straight line between the table's rows."""
    share = percent / 100
    mass = share * 1036 / (share * 1036 + (1 - share) * 998)
    freezing = PropsSI("T_FREEZE", "T", 300, "P", 101325, f"INCOMP::MPG[{mass}]") - 273.15
    assert antifreeze.freeze_celsius(share) == pytest.approx(freezing, abs=2.2)


def test_flow_through_mixing_against_small_steps():
    """A perfectly mixed volume fed in small steps comes to Caf (1 - e^(-Va/Vw))."""
    water_left, steps, share = 0.76, 100_000, 0.0
    for _ in range(steps):
        share += (0.5 - share) * (1.0 / steps) / water_left
    r = antifreeze.antifreeze(q(0.25, "in"), q(200, "ft"), q(0.25, "gal"), q(1, "gal"), q(50, "%"))
    assert r.number("flow_through_concentration", "%") == pytest.approx(100 * share, rel=2e-3)


@pytest.mark.parametrize(("length", "advance"), [(60, 5), (50, 3), (30, 10), (4, 5), (37, 2.5)])
def test_strokes_against_stepping(length, advance):
    """Advance, pull back half, until the end is reached."""
    back, at, forward, returned, count = advance / 2, 0.0, 0.0, 0.0, 0
    while True:
        step = min(advance, length - at)
        at += step
        forward += step
        count += 1
        if at >= length - 1e-9:
            break
        at -= back
        returned += back
    r = strokes.strokes(q(length, "ft"), q(advance, "ft"))
    assert r.number("advances", "") == count
    assert r.number("forward", "ft") == pytest.approx(forward)
    assert r.number("back", "ft") == pytest.approx(returned)


def test_bend_radius_against_root_finding():
    """The largest circle that touches the outer wall at the bend's middle and the inner wall in
    both legs, found by geometry and not by the closed form."""
    big, inside, outside = 1.5, 2.067, 0.5
    play = (inside - outside) / 2

    def gap(radius):
        # The hose's centre line may lie `play` off the pipe's: legs on the outer side, bend on
        # the inner. Centre of the hose's circle on the bisector, tangent to both shifted legs.
        middle = (radius - (big + play)) * math.sqrt(2)
        return radius - middle - (big - play)

    found = brentq(gap, 0.1, 100)
    ours = bend_radius(q(big, "in"), q(inside, "in"), q(outside, "in"))
    assert ours.number("available_radius", "in") == pytest.approx(found, rel=1e-6)


def test_rigid_nozzle_against_a_chord():
    """A straight bar whose inner edge just touches the inner wall and whose corners touch the
    outer one."""
    big, inside, thick = 1.5, 2.067, 0.75
    outer, inner = big + inside / 2, big - inside / 2

    def corner(half):
        return math.hypot(inner + thick, half) - outer

    ours = nozzle_length(q(big, "in"), q(inside, "in"), q(thick, "in"))
    assert ours.number("longest", "in") == pytest.approx(2 * brentq(corner, 0.01, 50), rel=1e-6)


def test_noise_table_of_the_regulation():
    """29 CFR 1910.95 Table G-16a: hours allowed at whole steps of 5 dBA."""
    table = {80: 32, 85: 16, 90: 8, 95: 4, 100: 2, 105: 1, 110: 0.5, 115: 0.25}
    for level, hours in table.items():
        assert noise.osha_hours(level) == pytest.approx(hours)


def test_niosh_dose_against_equal_energy():
    """A direct Leq over 8 h, within 0.06 dB (3 is not 10 log 2)."""
    levels, hours = (95, 88, 82), (2, 3, 3)
    energy = sum(h * 10 ** (x / 10) for x, h in zip(levels, hours, strict=True)) / 8
    r = noise.noise_dose([q(x, "dBA") for x in levels], [q(h, "h") for h in hours])
    assert r.number("niosh_twa", "dBA") == pytest.approx(10 * math.log10(energy), abs=0.06)


def test_energy_in_the_water_against_coolprop():
    """Isentropic compression by CoolProp: 320 J for 1/4 in, 200 ft, 4000 psi; ours within 5 %."""
    p = 4000 * PSI + 101325
    volume = math.pi / 4 * (0.25 * INCH) ** 2 * 60.96
    d1 = PropsSI("D", "T", 293.15, "P", p, "Water")
    s = PropsSI("S", "T", 293.15, "P", p, "Water")
    pressures = np.linspace(101325, p, 400)
    volumes = [volume * d1 / PropsSI("D", "P", x, "S", s, "Water") for x in pressures]
    energy = -np.trapezoid(pressures - 101325, volumes)
    ours = stored_energy(q(0.25, "in"), q(200, "ft"), q(4000, "psi"))
    assert ours.number("energy", "J") == pytest.approx(energy, rel=0.06)


def test_bypass_rise_against_coolprop():
    """Throttling at constant enthalpy, 3000 psi to the atmosphere: heating less the cooling by
    expansion, within 2 %."""
    p = 3000 * PSI + 101325
    h = PropsSI("H", "T", 288.7, "P", p, "Water")
    s = PropsSI("S", "T", 288.7, "P", p, "Water")
    rise = PropsSI("T", "H", h, "P", 101325, "Water") - PropsSI("T", "S", s, "P", 101325, "Water")
    ours = bypass_heating(q(3000, "psi"), q(4, "gpm"), temperature=q(60, "degF"))
    assert ours["rise_per_pass"].magnitude == pytest.approx(rise, rel=0.02)


def test_horsepower_against_pint():
    """Flow times pressure converted by pint alone."""
    ours = power.pump_power(q(4, "gpm"), q(3000, "psi"))
    theirs = (q(4, "gpm") * q(3000, "psi")).to("horsepower").magnitude
    assert ours.number("hydraulic", "hp") == pytest.approx(theirs)
