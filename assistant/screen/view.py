"""What the screen shows now: a pure function of the job's state."""

from __future__ import annotations

from typing import Any

from assistant.job.plan import Plan
from assistant.job.state import State
from assistant.job.workings import chosen
from assistant.joblog.report import clock, water_used
from assistant.limits import limit_named
from assistant.speaking.words import may_be_said, prompt
from assistant.units import convert


def view(plan: Plan, state: State, heard: str = "", meaning: str = "") -> dict[str, Any]:
    """The whole screen as plain data; the terminal and the page both draw it."""
    line = state.logged.get("line length")
    found = chosen(plan, state)
    hose = found.hose if found else None
    return {
        "title": state.title,
        "place": _place(plan, state),
        "asked": prompt(plan, state) or ("Job finished." if state.over else ""),
        "may_say": list(may_be_said(plan, state)) if state.started and not state.over else [],
        "heard": heard,
        "understood": meaning,
        "standing_by": state.standing_by or "",
        "emergency": state.emergency,
        "jet": ("on" if state.jet_on else "off") if state.jetting else "",
        "hose_out": round(state.hose_out, 1),
        "deepest": round(state.deepest, 1),
        "line": round(convert(line.value, line.unit, "ft"), 1) if line else None,
        "hose": round(float(hose.length.to("ft").magnitude), 1) if hose else None,
        "strokes": state.strokes,
        "clock": clock(state.at),
        "under_pressure": clock(state.under_pressure),
        "water": _water(state),
        "readings": [
            {"name": k, "value": f"{v.value:g} {v.unit}".strip()}
            for k, v in state.logged.items() if k in SHOWN],
        "warnings": [
            {"say": limit_named(w.limit).say, "do": limit_named(w.limit).do,
             "priority": w.priority, "acknowledged": w.acknowledged}
            for w in sorted(state.warnings.values(), key=lambda w: (
                w.acknowledged, ("high", "medium", "low").index(w.priority)))],
    }


SHOWN = ("inlet pressure", "supply pressure", "pump pressure", "water temperature", "sound level",
         "carbon monoxide", "tank level")


def _water(state: State) -> str:
    used = water_used(state)
    return "" if used is None else f"{round(used)} gal"


def _place(plan: Plan, state: State) -> str:
    if state.place.list and state.place.section:
        title = plan.lists[state.place.list].title
        return f"{title}: {plan.section(state.place.list, state.place.section).title.lower()}"
    if state.jetting:
        return "Jetting"
    return "Finished" if state.over else ""
