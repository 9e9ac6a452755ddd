"""A job's events in open forms: CSV, JSON Lines with a schema, and a calendar of what is to do."""

from __future__ import annotations

import csv
import dataclasses
import io
import json
import typing
from collections.abc import Mapping, Sequence
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any

from assistant.job.events import KINDS, VERSION, to_record
from assistant.job.plan import Plan
from assistant.joblog.report import defects
from assistant.joblog.store import Entry
from assistant.units import short

SCHEMA = Path(__file__).with_name("event.schema.json")

_TYPES: dict[Any, dict[str, Any]] = {
    bool: {"type": "boolean"}, str: {"type": "string"}, float: {"type": "number"},
    int: {"type": "integer"},
    str | None: {"type": ["string", "null"]},
    tuple[str, ...]: {"type": "array", "items": {"type": "string"}},
    Mapping[str, str]: {"type": "object", "additionalProperties": {"type": "string"}},
    Mapping[str, tuple[float, str]]: {
        "type": "object", "additionalProperties": {
            "type": "array", "prefixItems": [{"type": "number"}, {"type": "string"}],
            "minItems": 2, "maxItems": 2}},
}


def schema() -> dict[str, Any]:
    """The JSON schema of one line, made from the events themselves."""
    kinds = []
    for name, cls in sorted(KINDS.items()):
        hints = typing.get_type_hints(cls)
        fields = {f.name: _TYPES[hints[f.name]] for f in dataclasses.fields(cls)}
        kinds.append({
            "properties": {"kind": {"const": name}, "fields": {
                "type": "object", "properties": fields, "required": list(fields),
                "additionalProperties": False}}})
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "One event of a job", "type": "object",
        "description": "at: seconds on the job's clock. wall: ISO 8601 in UTC. seq: from 1.",
        "properties": {"seq": {"type": "integer", "minimum": 1}, "wall": {"type": "string"},
                       "version": {"const": VERSION}, "kind": {"type": "string"},
                       "fields": {"type": "object"}},
        "required": ["seq", "wall", "kind", "version", "fields"],
        "oneOf": kinds}


def json_lines(entries: Sequence[Entry]) -> str:
    """One JSON object a line, as the published schema describes it."""
    return "".join(json.dumps({"seq": x.seq, "wall": x.wall, **to_record(x.event)},
                              sort_keys=True) + "\n" for x in entries)


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


def calendar(plan: Plan, entries: Sequence[Entry]) -> bytes:
    """To-dos in iCalendar form: what was not mended, due the next day, and the engine's oil by
    its hours, which the office keeps."""
    from icalendar import Calendar, Todo

    found = Calendar()
    found.add("prodid", "-//Hoseside//Job record//EN")
    found.add("version", "2.0")
    began = datetime.fromisoformat(entries[0].wall)
    name, tomorrow = plan.equipment.name, began.date() + timedelta(days=1)
    todo = [(f"{name}: {item.rstrip('?')}, {state}", tomorrow)
            for item, state in defects(plan, entries) if state != "mended on the job"]
    engine = plan.equipment.engine
    if engine is not None and engine.oil_change is not None:
        hours = f"{engine.oil_change.magnitude:g} {short(engine.oil_change.units)}"
        todo.append((f"{name}: engine oil due every {hours}; check the hour meter",
                     began.date() + timedelta(days=7)))
    for i, (text, due) in enumerate(todo):
        found.add_component(_todo(Todo(), text, due, began, i))
    return bytes(found.to_ical())


def _todo(component: Any, text: str, due: date, began: datetime, number: int) -> Any:
    component.add("uid", f"{began:%Y%m%dT%H%M%S}-{number}@hoseside")
    component.add("dtstamp", began)
    component.add("summary", text)
    component.add("due", due)
    return component
