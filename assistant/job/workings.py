"""What is worked out from logged readings, and which quantities the limits then watch."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace

from assistant.calc import (
    antifreeze,
    bends,
    diagnosis,
    electrical,
    noise,
    strokes,
    supply,
    surge,
    tank,
)
from assistant.calc.choose import Choice, choose, point_of
from assistant.calc.constants import constant
from assistant.calc.figure import FIGURES, OutsideRange, Result
from assistant.job.plan import Plan
from assistant.job.state import State
from assistant.speaking.numbers import about, words
from assistant.units import Quantity, quantity, short


@dataclass(frozen=True)
class Working:
    """One calculation as it will be logged, spoken and checked against the limits."""

    figure: str
    inputs: Mapping[str, str]
    results: Mapping[str, tuple[float, str]]
    said: str
    notes: tuple[str, ...]
    sources: tuple[str, ...]
    watched: Mapping[str, Quantity] = field(default_factory=dict)
    """Quantity named in limits.yaml -> its value."""


def _written(q: Quantity) -> str:
    return f"{q.magnitude:.4g} {short(q.units)}".strip()


def _working(
    name: str, result: Result, inputs: Mapping[str, Quantity], said: str,
    watched: Mapping[str, Quantity] | None = None, also: Mapping[str, Quantity] | None = None,
) -> Working:
    values = {**result.values, **(also or {})}
    return Working(
        name, {k: _written(v) for k, v in inputs.items()},
        {k: (float(v.magnitude), short(v.units)) for k, v in values.items()},
        said, (*result.notes, *_about(result)), result.sources, watched or {})


def _about(result: Result) -> list[str]:
    """The uncertainty of a result in words, for the record."""
    return [f"{key.replace('_', ' ')} is known to plus or minus {100 * share:.0f} %."
            for key, share in result.uncertainty.items() if share > 0]


def logged(state: State, name: str) -> Quantity | None:
    """A logged reading as a quantity; None if there is none."""
    reading = state.logged.get(name)
    return None if reading is None else quantity(reading.value, reading.unit)


def supply_flow(plan: Plan, state: State) -> Working | None:
    """The bucket test, and whether it feeds the pump."""
    time = logged(state, "bucket time")
    if time is None:
        return None
    bucket, demand = plan.equipment.bucket, plan.equipment.pump.flow
    result = supply.bucket_test(volume=bucket, time=time)
    margin = supply.supply_margin(supply=result["flow"], pump_flow=demand)
    flow = result.number("flow", "gpm")
    ratio = margin.number("ratio", "")
    said = (f"Supply about {about(flow, 'gal/min')}. The pump takes "
            f"{about(demand.to('gal/min').magnitude, 'gal/min')}.")
    return _working("supply flow", result, {"bucket": bucket, "time": time, "demand": demand},
                    said, {"supply ratio": quantity(ratio, "")},
                    {"ratio": margin["ratio"], "spare": margin["spare"]})


def supply_value(state: State) -> Quantity | None:
    """The supply flow worked out before, if it was."""
    found = state.figures.get("supply flow", {}).get("flow")
    return None if found is None else quantity(*found)


def chosen(plan: Plan, state: State) -> Choice | None:
    """Hose and nozzle for the line as it was described; None while that is not known."""
    line, length = logged(state, "line diameter"), logged(state, "line length")
    if line is None or length is None:
        return None
    bends = logged(state, "bends")
    return choose(plan.equipment, line, length, round(bends.magnitude) if bends is not None else 0,
                  state.facts.get("stoppage", "unknown"))


def choice(plan: Plan, state: State) -> Working | None:
    """What to fit for this line."""
    found = chosen(plan, state)
    if found is None:
        return None
    inputs = {k: _written(v) for k in ("line diameter", "line length", "bends")
              if (v := logged(state, k)) is not None}
    inputs["stoppage"] = state.facts.get("stoppage", "unknown")
    out = tuple(f"{r.name} ruled out: {r.why}." for r in found.ruled_out)
    if found.hose is None or found.first is None or found.point is None:
        said = "Nothing on board suits this line as it stands. " + " ".join(out[:2])
        return Working("choice", inputs, {}, said, (*out, *found.notes), ())
    feet = float(found.hose.length.to("ft").magnitude)
    psi = found.point.number("nozzle_pressure", "psi")
    said = (f"Fit the {found.hose.name}, {words(feet)} feet, with the {found.first.name} first")
    if found.then and found.then != found.first:
        said += f", then the {found.then.name}"
    said += f". About {about(psi, 'psi')} at the nozzle."
    if found.notes[0].startswith("The pull"):
        said += " Expect to help the hose by hand."
    rating = bends.hose_rating(burst=found.hose.burst, working=found.hose.working,
                               pump_limit=plan.equipment.pump.relief)
    return Working(
        "choice", inputs,
        {"nozzle_pressure": (psi, "psi"), "hose_loss": (found.point.number("hose_loss", "psi"),
         "psi"), "flow": (found.point.number("flow", "gpm"), "gal/min"),
         "pull": (found.point.number("pull", "lbf"), "lbf"), "hose_length": (feet, "ft")},
        said, (found.reason, *out, *found.notes, *found.point.notes), found.point.sources,
        {"nozzle pressure": found.point["nozzle_pressure"],
         "pump limit margin": rating["margin"], "burst ratio": rating["ratio"]})


def nozzle_pressure(plan: Plan, state: State) -> Working | None:
    """What reaches the nozzle at the pump pressure that was read."""
    read, found = logged(state, "pump pressure"), chosen(plan, state)
    if read is None or found is None or found.hose is None or found.first is None:
        return None
    result = point_of(plan.equipment, found.hose, found.first, supply_value(state),
                      pump_limit=read)
    psi = result.number("nozzle_pressure", "psi")
    pull = result.number("pull", "lbf")
    said = (f"About {about(psi, 'psi')} at the nozzle, about {about(pull, '')} pounds of pull.")
    inputs = {"pump pressure": read, "hose bore": found.hose.bore, "hose": found.hose.length}
    return _working("nozzle pressure", result, inputs, said,
                    {"nozzle pressure": result["nozzle_pressure"]})


def noise_level(state: State) -> Quantity | None:
    """The sound level read, where the noise rules hold for it; else None."""
    level = logged(state, "sound level")
    low, high = noise.LOWEST, noise.HIGHEST
    return level if level is not None and low <= level.magnitude <= high else None


def noise_time(_plan: Plan, state: State) -> Working | None:
    """How long the level may be borne without protection."""
    level = noise_level(state)
    if level is None:
        return None
    result = noise.noise_time(level)
    minutes = result.number("niosh", "min")
    time = (about(minutes, "min") if minutes < 90 else about(minutes / 60, "") + " hours")
    said = f"Unprotected, about {time} at this level fills a day."
    return _working("noise time", result, {"sound level": level}, said)


def tank_time(plan: Plan, state: State) -> Working | None:
    """How long the tank lasts."""
    level = logged(state, "tank level")
    if level is None:
        return None
    result = tank.tank_time(volume=level, flow=plan.equipment.pump.flow)
    said = f"The tank lasts about {about(result.number('time', 'min'), 'min')}."
    return _working("tank time", result, {"tank level": level, "flow": plan.equipment.pump.flow},
                    said, {"tank minutes": result["time"]})


FORECAST = constant("antifreeze planned for").quantity
PRODUCT = constant("antifreeze product").quantity
ADVANCE = constant("advance each stroke").quantity


def antifreeze_needed(plan: Plan, state: State) -> Working | None:
    """How much antifreeze fills the hose in use and the pump."""
    found = chosen(plan, state)
    hose = found.hose if found and found.hose else plan.equipment.hoses[0]
    share = antifreeze.antifreeze_share(
        FORECAST, constant("antifreeze margin").quantity)["concentration"]
    result = antifreeze.antifreeze_needed(
        bore=hose.bore, length=hose.length, concentration=PRODUCT, target=share)
    mixed = antifreeze.antifreeze(bore=hose.bore, length=hose.length, volume=result["volume"],
                                  concentration=PRODUCT)
    colder = (FORECAST.to("kelvin") - mixed["freeze_point"].to("kelvin")).to("delta_degF")
    margin = quantity(round(float(colder.magnitude), 2), "delta_degF")
    said = (f"About {about(result.number('volume', 'gal'), 'gal')} of sixty percent antifreeze, "
            "for a night of ten degrees.")
    return _working("antifreeze", result, {
        "hose bore": hose.bore, "hose length": hose.length, "product": PRODUCT,
        "planned for": FORECAST}, said, {"freeze margin": margin})


def electrics(plan: Plan, state: State) -> Working | None:
    """The motor's current against its circuit, and what the cord loses."""
    motor, length = plan.equipment.motor, logged(state, "cord length")
    if motor is None or length is None:
        return None
    gauge = plan.equipment.cords[0].gauge if plan.equipment.cords else 12
    result = electrical.cord_drop(gauge, length, motor.current, motor.voltage)
    percent = result.number("percent", "%")
    said = f"The cord loses about {about(percent, '')} percent of the voltage."
    return _working("electrics", result, {
        "gauge": quantity(gauge, ""), "cord length": length, "current": motor.current}, said,
        {"motor current": motor.current, "cord drop": result["percent"]})


def suction(plan: Plan, state: State) -> Working | None:
    """Suction head from a level tank against what the manual asks for."""
    water, needed = logged(state, "water temperature"), plan.equipment.pump.inlet.npsh_required
    if water is None or needed is None or state.facts.get("supply") != "tank":
        return None
    result = supply.npsh(
        temperature=water, bore=plan.equipment.supply_bore, length=plan.equipment.supply_length,
        flow=plan.equipment.pump.flow)
    margin = result["npsh_available"] - needed
    feet = result.number("npsh_available", "ft")
    return _working("suction", result, {"water temperature": water, "required": needed},
                    f"Suction head about {about(feet, 'ft')}.", {"suction margin": margin})


def gauge(plan: Plan, state: State) -> Working | None:
    """The pump pressure that was read, against the one worked out for hose and nozzle."""
    read, found = logged(state, "pump pressure"), chosen(plan, state)
    if read is None or found is None or found.hose is None or found.first is None:
        return None
    pump, jets = plan.equipment.pump, found.first
    result = diagnosis.gauge_diagnosis(
        gauge=read, pump_flow=pump.flow, pump_limit=pump.relief, bore=found.hose.bore,
        length=found.hose.length, orifice=jets.orifice, count=jets.jets, cd=jets.cd)
    ratio = read.to("psi").magnitude / result.number("expected", "psi")
    return _working("gauge", result, {"pump pressure": read}, "",
                    {"gauge ratio": quantity(ratio, "")})


def stroke_plan(plan: Plan, state: State) -> Working | None:
    """How long the line takes at a few feet in and half of it back, and the water for it."""
    length, found = logged(state, "line length"), chosen(plan, state)
    if length is None or found is None or found.point is None:
        return None
    result = strokes.strokes(length=length, advance=ADVANCE, flow=found.point["flow"])
    minutes, gallons = result.number("time", "min"), result.number("water", "gal")
    said = (f"Five feet in and half of it back takes about {about(minutes, 'min')} and "
            f"{about(gallons, 'gal')}.")
    return _working("strokes", result, {"line length": length, "advance": ADVANCE}, said)


def noise_dose(_plan: Plan, state: State) -> Working | None:
    """The dose of this job alone, from the level read and the time the jet was on."""
    level = noise_level(state)
    if level is None or state.jet_seconds <= 0:
        return None
    time = quantity(state.jet_seconds / 3600, "h")
    result = noise.noise_dose([level], [time])
    percent = result.number("niosh", "%")
    said = f"Unprotected, this job took about {about(percent, '')} percent of a day's noise dose."
    return _working("noise dose", result, {"sound level": level, "time with the jet on": time},
                    said if percent >= 1 else "",
                    {"noise dose": result["niosh"], "noise dose by OSHA": result["osha_hc"]})


WORKINGS: dict[str, Callable[[Plan, State], Working | None]] = {
    "supply flow": supply_flow,
    "choice": choice,
    "nozzle pressure": nozzle_pressure,
    "noise time": noise_time,
    "tank time": tank_time,
    "antifreeze": antifreeze_needed,
    "electrics": electrics,
    "suction": suction,
    "gauge": gauge,
    "strokes": stroke_plan,
    "noise dose": noise_dose,
}
"""By the names that checklists use under `compute`."""


FORMULAS = {"supply flow": "bucket-test", "choice": "operating-point",
            "nozzle pressure": "operating-point", "noise time": "noise-time",
            "tank time": "tank-time", "antifreeze": "antifreeze-needed", "electrics": "cord-drop",
            "suction": "npsh", "gauge": "gauge-diagnosis", "strokes": "strokes",
            "noise dose": "noise-dose"}
"""Working -> the figure whose formula it uses."""


def formula(working: str) -> str:
    """The formula of a working in a sentence, for the record."""
    return FIGURES[FORMULAS[working]].about if working in FORMULAS else ""


def work_out(name: str, plan: Plan, state: State) -> Working | None:
    """One working by name; None where its inputs are not known or lie outside its range."""
    try:
        return WORKINGS[name](plan, state)
    except OutsideRange as outside:
        return Working(name, {}, {}, "", (str(outside),), ())


def position_watch(plan: Plan, state: State) -> dict[str, Quantity]:
    """The quantities that limits watch after the hose has moved."""
    watch: dict[str, Quantity] = {}
    found = chosen(plan, state)
    hose = found.hose if found else None
    if hose is not None:
        left = float(hose.length.to("ft").magnitude) - state.hose_out
        watch["hose left on reel"] = quantity(left, "ft")
    line = logged(state, "line length")
    if line is not None:
        watch["line left"] = line.to("foot") - quantity(state.hose_out, "ft")
    if found is not None and found.reach is not None:
        watch["reach left"] = quantity(found.reach[1] - state.hose_out, "ft")
    return watch


def pull_margin(state: State, pulled: float, now: float) -> float:
    """Feet by which the warning of the opening comes earlier at the pace of this pull: what
    comes back in the seconds it takes to hear the warning and shut the jet off."""
    if pulled <= 0 or state.moved_at is None or now <= state.moved_at:
        return 0.0
    pace = min(pulled / (now - state.moved_at), FASTEST)
    return pace * constant("time to shut the jet off").value


FASTEST = constant("fastest hose").value
"""Feet a second that a hose can be moved by hand."""


def time_watch(plan: Plan, state: State, now: float) -> dict[str, Quantity]:
    """The quantities that limits watch as time passes while jetting."""
    watch: dict[str, Quantity] = {}
    run = replace(state, at=now).under_pressure
    if state.jet_on:
        watch["minutes since a pull"] = quantity((now - state.last_pull_at) / 60, "min")
    elif state.pump_running:
        watch["bypass share"] = quantity((now - state.jet_off_since) / bypass_seconds(plan, state),
                                         "")
    level = logged(state, "tank level")
    if level is not None and state.facts.get("supply") == "tank":
        flow = plan.equipment.pump.flow
        left = level.to("gallon") - flow * quantity(run, "s")
        watch["tank minutes"] = (left / flow).to("minute")
    sound = noise_level(state)
    if sound is not None and 0 < run < 86400:
        dose = noise.noise_dose([sound], [quantity(run, "s")])
        watch |= {"noise dose": dose["niosh"], "noise dose by OSHA": dose["osha_hc"]}
    engine = plan.equipment.engine
    if engine is not None and engine.oil_change is not None:
        watch["hours to the oil change"] = (
            engine.oil_change - engine.since_oil - quantity(run, "s")).to("hour")
    return watch


def bypass_seconds(plan: Plan, state: State) -> float:
    """Seconds until the water in the bypass reaches the inlet's limit, worked out."""
    water = logged(state, "water temperature")
    start = water if water is not None else quantity(60, "degF")
    limit = plan.equipment.pump.inlet.highest_temperature
    if start.to("kelvin") >= limit.to("kelvin"):
        return 1.0
    pump = plan.equipment.pump
    result = surge.bypass_heating(pressure=pump.bypass, flow=pump.flow, temperature=start,
                                  limit=limit)
    return max(result.number("time", "s"), 1.0)
