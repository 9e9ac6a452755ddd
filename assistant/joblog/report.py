"""A plain record of a job: one HTML page that needs nothing else, and a CSV of its events."""

from __future__ import annotations

import csv
import html
import io
import json
from collections.abc import Iterable, Sequence

from assistant.calc.constants import TAGS
from assistant.job import events as e
from assistant.job.events import to_record
from assistant.job.plan import Plan
from assistant.joblog.store import Entry
from assistant.limits import limits
from assistant.units import convert

OTHER_UNIT = {"psi": "bar", "ft": "m", "in": "mm", "degF": "degC", "gal": "L", "gal/min": "L/min",
              "bar": "psi", "kPa": "psi", "m": "ft", "mm": "in", "degC": "degF", "L": "gal",
              "L/min": "gal/min", "lbf": "newton"}
"""The same value in the other system, for a reader who thinks in that."""

_STYLE = """
body{font:16px/1.45 system-ui,sans-serif;color:#111;background:#fff;max-width:60rem;
margin:2rem auto;padding:0 1rem}
h1{font-size:1.7rem;margin-bottom:.2rem}h2{font-size:1.2rem;border-bottom:2px solid #111;
margin-top:2rem}
table{border-collapse:collapse;width:100%}th,td{text-align:left;vertical-align:top;
padding:.3rem .6rem .3rem 0;border-bottom:1px solid #bbb}
th{font-weight:600}.warn{font-weight:700}.note{color:#444;font-size:.9rem}
@media print{body{margin:0;max-width:none}}
"""


def _clock(seconds: float) -> str:
    whole = int(seconds)
    return f"{whole // 3600}:{whole // 60 % 60:02d}:{whole % 60:02d}"


def _value(value: float, unit: str) -> str:
    text = f"{round(value, 2):g} {unit}".strip()
    if unit in OTHER_UNIT:
        other = OTHER_UNIT[unit]
        text += f" ({convert(value, unit, other):.3g} {'N' if other == 'newton' else other})"
    return text


def _table(head: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    body = "".join("<tr>" + "".join(f"<td>{html.escape(c)}</td>" for c in row) + "</tr>"
                   for row in rows)
    if not body:
        return "<p>None.</p>"
    top = "".join(f'<th scope="col">{html.escape(c)}</th>' for c in head)
    return f"<table><thead><tr>{top}</tr></thead><tbody>{body}</tbody></table>"


def _checks(plan: Plan, entries: Sequence[Entry]) -> list[tuple[str, str, str, str]]:
    rows = []
    for entry in entries:
        x = entry.event
        if isinstance(x, e.ItemConfirmed):
            rows.append((x.item, x.answer, x.at))
        elif isinstance(x, e.ItemDenied):
            rows.append((x.item, "answered no; to mend", x.at))
        elif isinstance(x, e.ItemHeld):
            rows.append((x.item, f"held: {x.limit}", x.at))
        elif isinstance(x, e.ItemNotFitted):
            rows.append((x.item, "not fitted", x.at))
        elif isinstance(x, e.ItemParked):
            rows.append((x.item, f"left open: {x.why}", x.at))
    shown = []
    for item_id, answer, at in rows:
        list_name, section, _ = item_id.split("/")
        place = f"{plan.lists[list_name].title}, {plan.section(list_name, section).title.lower()}"
        item = plan.item(item_id)
        shown.append((_clock(at), place, item.challenge, answer))
    return shown


def _warnings(entries: Sequence[Entry]) -> list[tuple[str, str, str, str, str]]:
    by_name = {x.name: x for x in limits()}
    rows = []
    for i, entry in enumerate(entries):
        x = entry.event
        if not isinstance(x, e.WarningRaised):
            continue
        later = [y.event for y in entries[i + 1:]]
        acknowledged = next((y.at for y in later if isinstance(y, e.WarningAcknowledged)
                             and y.limit == x.limit), None)
        cleared = next((y.at for y in later if isinstance(y, e.WarningCleared)
                        and y.limit == x.limit), None)
        after = []
        if acknowledged is not None:
            after.append(f"acknowledged {_clock(acknowledged)}")
        if cleared is not None:
            after.append(f"within the limit {_clock(cleared)}")
        limit = by_name.get(x.limit)
        source = f"{limit.source} [{TAGS[limit.tag]}]" if limit else ""
        rows.append((_clock(x.at), f"{x.limit}, {_value(x.value, x.unit)}", x.do,
                     "; ".join(after) or "neither acknowledged nor cleared", source))
    return rows


def _readings(entries: Sequence[Entry]) -> list[tuple[str, str, str]]:
    return [(_clock(x.at), x.quantity, _value(x.value, x.unit))
            for entry in entries if isinstance(x := entry.event, e.ValueConfirmed)]


def _corrections(entries: Sequence[Entry]) -> list[tuple[str, str, str]]:
    return [(_clock(x.at), f"{x.quantity} {_value(x.value, x.unit)}", x.why)
            for entry in entries if isinstance(x := entry.event, e.ValueDropped)]


def _figures(entries: Sequence[Entry]) -> list[tuple[str, str, str, str, str]]:
    rows = []
    for entry in entries:
        x = entry.event
        if isinstance(x, e.FigureWorkedOut):
            inputs = ", ".join(f"{k} {v}" for k, v in x.inputs.items())
            results = ", ".join(f"{k.replace('_', ' ')} {_value(*v)}" for k, v in
                                x.results.items())
            rows.append((_clock(x.at), x.figure, inputs, results or x.said,
                         " ".join([*x.notes, *(f"[{s}]" for s in x.sources)])))
    return rows


def _course(entries: Sequence[Entry]) -> list[tuple[str, str]]:
    names: dict[type[e.Event], str] = {
        e.JetTurnedOn: "jet on", e.JetTurnedOff: "jet off", e.BendPassed: "past the first bend",
        e.OpeningReached: "at the opening", e.EmergencyCalled: "EMERGENCY called",
        e.EmergencyEnded: "emergency list closed", e.StoodBy: "stood by", e.WentAhead: "went ahead",
        e.JobResumed: "job resumed", e.JettingBegan: "ready for the jet",
        e.JettingEnded: "jetting finished", e.JobFinished: "job finished"}
    rows = []
    for entry in entries:
        x = entry.event
        if isinstance(x, e.HoseMoved):
            back = f", pulled back {x.pulled:g} ft" if x.pulled else ""
            rows.append((_clock(x.at), f"hose out {x.out:g} ft{back}"))
        elif isinstance(x, e.FaultNoticed):
            rows.append((_clock(x.at), f"fault: {x.what}"))
        elif isinstance(x, e.StoodBy):
            rows.append((_clock(x.at), f"stood by ({x.why})"))
        elif type(x) in names:
            rows.append((_clock(x.at), names[type(x)]))
    return rows


def record_html(plan: Plan, entries: Sequence[Entry]) -> str:
    """The record of a job as one HTML page."""
    started = next((x for x in entries if isinstance(x.event, e.JobStarted)), None)
    title = started.event.title if started and isinstance(started.event, e.JobStarted) else "Job"
    when = started.wall[:16].replace("T", " ") + " UTC" if started else ""
    finished = any(isinstance(x.event, e.JobFinished) for x in entries)
    parked = [plan.item(i).challenge for x in entries if isinstance(x.event, e.SectionClosed)
              for i in x.event.parked]
    sections = [
        ("Left open", _table(("Item",), [(p,) for p in parked])),
        ("Warnings", _table(("Time", "Limit", "To do", "What followed", "Source"),
                            _warnings(entries))),
        ("Checks", _table(("Time", "List", "Item", "Answer"), _checks(plan, entries))),
        ("Readings", _table(("Time", "Quantity", "Value"), _readings(entries))),
        ("Corrected or dropped before logging", _table(("Time", "Value", "Why"),
                                                       _corrections(entries))),
        ("Worked out", _table(("Time", "Figure", "From", "Result", "Notes and sources"),
                              _figures(entries))),
        ("Course of the job", _table(("Time", "What"), _course(entries))),
    ]
    body = "".join(f"<section><h2>{html.escape(head)}</h2>{content}</section>"
                   for head, content in sections)
    state = "finished" if finished else "NOT finished"
    machine = plan.equipment
    return (f"<!doctype html><html lang=en><meta charset=utf-8><title>{html.escape(title)}</title>"
            f"<meta name=viewport content='width=device-width'><style>{_STYLE}</style><main>"
            f"<h1>{html.escape(title)}</h1><p>{html.escape(machine.name)}, "
            f"{html.escape(machine.power)}. Begun {when}. Job {state}.</p>"
            "<p class=note>Made from what was said. Worked-out figures are estimates; the "
            "machine's manual, local codes and licensed practice decide. Times are hours, minutes "
            "and seconds from the start.</p>"
            f"{body}</main></html>\n")


def record_csv(entries: Sequence[Entry]) -> str:
    """Every event as a CSV line: number, wall time, seconds, kind, and its fields as JSON."""
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow(("seq", "wall", "at", "kind", "fields"))
    for entry in entries:
        record = to_record(entry.event)
        fields = {k: v for k, v in record["fields"].items() if k not in ("at", "profile")}
        writer.writerow((entry.seq, entry.wall, round(entry.event.at, 3), record["kind"],
                         json.dumps(fields, sort_keys=True)))
    return out.getvalue()
