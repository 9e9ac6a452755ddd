"""Many jobs at once: what an office wants to know, by DuckDB over a Parquet file of key events.

The job files are read one at a time, by two processes; only rows that the summary needs leave
them, so memory stays flat. The Parquet file can go into any engine an office already runs.
"""

from __future__ import annotations

import json
import os
import re
import sqlite3
import tempfile
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path
from typing import Any

from assistant.errors import HosesideError
from assistant.joblog.store import DAMAGED, FORMAT, TORN, reading

KEPT = ("JobStarted", "JobFinished", "ValueConfirmed", "WarningRaised", "JetTurnedOn",
        "JetTurnedOff", "EmergencyCalled", "ItemDenied", "ItemHeld", "ItemParked",
        "ItemConfirmed", "FigureWorkedOut")
COLUMNS = ("job", "machine", "day", "clock", "kind", "name", "value", "unit")
_QUERY = ("SELECT seq, at, wall, kind, fields FROM events WHERE kind IN "
          f"({', '.join(repr(k) for k in KEPT)}) ORDER BY seq")


def _rows_of(path: Path) -> Iterator[tuple[Any, ...]]:
    """The key events of one job as flat rows."""
    if path.with_name(path.name + "-wal").exists():
        with reading(path) as log:
            raw = [r for r in log.rows() if r[3] in KEPT]
        rows = [(r[0], r[1], r[2], r[3], r[5]) for r in raw]
    else:
        # Nothing is pending beside the file, so it can be read in place without locks.
        db = sqlite3.connect(f"{path.absolute().as_uri()}?mode=ro&immutable=1", uri=True)
        try:
            if db.execute("PRAGMA user_version").fetchone()[0] != FORMAT:
                raise HosesideError(f"{path}: is not a job file of layout {FORMAT}.")
            rows = db.execute(_QUERY).fetchall()
        finally:
            db.close()
    machine, job = "?", path.stem
    for _seq, at, wall, kind, text in rows:
        fields = json.loads(text)
        name, value, unit = "", None, ""
        if kind == "JobStarted":
            found = re.search(r"(?m)^name:\s*(.+?)\s*(?:#.*)?$", fields["profile"])
            machine = found.group(1) if found else "?"
            name = fields["title"]
        elif kind == "ValueConfirmed":
            name, value, unit = fields["quantity"], fields["value"], fields["unit"]
        elif kind == "WarningRaised":
            name, value, unit = fields["limit"], fields["value"], fields["unit"]
        elif kind == "FigureWorkedOut":
            if fields["figure"] == "noise dose" and "niosh" in fields["results"]:
                name, (value, unit) = "noise dose", fields["results"]["niosh"]
            elif fields["figure"] in ("choice", "nozzle pressure") and "flow" in fields["results"]:
                name, (value, unit) = "flow", fields["results"]["flow"]
            else:
                continue
        elif kind.startswith("Item"):
            name = fields["item"]
            if kind == "ItemConfirmed" and not name.startswith(("pre-start", "start", "finish")):
                continue
        yield job, machine, wall[:10], at, kind, name, value, unit


def _export(work: tuple[list[str], str]) -> list[str]:
    """Write the rows of some jobs as JSON Lines; the sentences for those that cannot be read."""
    paths, out = work
    problems = []
    with open(out, "w", encoding="utf-8") as stream:
        for path in paths:
            try:
                for row in _rows_of(Path(path)):
                    stream.write(json.dumps(dict(zip(COLUMNS, row, strict=True))) + "\n")
            except (HosesideError, *DAMAGED, *TORN) as error:
                problems.append(f"{path}: left out ({error})")
    return problems


SUMMARY = {
    "jobs": """SELECT machine, count(DISTINCT job) AS jobs,
               count(DISTINCT job) FILTER (kind = 'JobFinished') AS finished,
               count(*) FILTER (kind = 'EmergencyCalled') AS emergencies
               FROM events GROUP BY machine ORDER BY machine""",
    "hours under pressure and water": """
        WITH moves AS (SELECT job, machine, clock, kind, lead(clock) OVER w AS next_clock,
                              lead(kind) OVER w AS next_kind
                       FROM events
                       WHERE kind IN ('JetTurnedOn', 'JetTurnedOff', 'EmergencyCalled')
                       WINDOW w AS (PARTITION BY job ORDER BY clock)),
             runs AS (SELECT job, any_value(machine) AS machine, sum(next_clock - clock) AS seconds
                      FROM moves WHERE kind = 'JetTurnedOn' AND next_kind <> 'JetTurnedOn'
                      GROUP BY job),
             flows AS (SELECT job, arg_max(value, clock) AS gpm FROM events
                       WHERE kind = 'FigureWorkedOut' AND name = 'flow' GROUP BY job)
        SELECT machine, round(sum(seconds) / 3600, 2) AS hours,
               round(sum(seconds / 60 * gpm)) AS gallons
        FROM runs LEFT JOIN flows USING (job) GROUP BY machine ORDER BY machine""",
    "warnings": """SELECT name AS limit_passed, count(*) AS times, count(DISTINCT job) AS jobs
                   FROM events WHERE kind = 'WarningRaised'
                   GROUP BY name ORDER BY times DESC, name""",
    "defects open": """
        WITH last AS (SELECT job, machine, day, name, arg_max(kind, clock) AS kind FROM events
                      WHERE kind IN ('ItemDenied', 'ItemHeld', 'ItemParked', 'ItemConfirmed')
                      GROUP BY job, machine, day, name)
        SELECT machine, name AS item, count(*) AS jobs, max(day) AS last_seen FROM last
        WHERE kind <> 'ItemConfirmed' GROUP BY machine, name ORDER BY jobs DESC, item LIMIT 40""",
    "exposure by day": """
        SELECT day, round(sum(value) FILTER (kind = 'FigureWorkedOut' AND name = 'noise dose'), 1)
                 AS noise_dose_percent,
               max(value) FILTER (kind = 'ValueConfirmed' AND name = 'carbon monoxide')
                 AS highest_co_ppm
        FROM events GROUP BY day
        HAVING noise_dose_percent IS NOT NULL OR highest_co_ppm IS NOT NULL ORDER BY day""",
    "pump pressure over time": """
        SELECT machine, day, round(median(value)) AS psi, count(*) AS readings FROM events
        WHERE kind = 'ValueConfirmed' AND name = 'pump pressure' AND unit = 'psi'
        GROUP BY machine, day ORDER BY machine, day""",
}
"""Question -> SQL over the Parquet file. Pressure drifting down over months is a pump wearing."""


def summarise(folder: Path, out: Path) -> tuple[dict[str, tuple[list[str], list[tuple[Any, ...]]]],
                                                list[str]]:
    """Export the jobs of a folder to `out`/events.parquet and answer the questions over it.

    Returns question -> (columns, rows), and a sentence for every file that was left out.
    """
    import duckdb

    paths = sorted(str(p) for p in folder.rglob("*.job"))
    if not paths:
        raise HosesideError(f"{folder}: holds no job files (*.job); name the folder they are in.")
    out.mkdir(parents=True, exist_ok=True)
    parquet = str(out / "events.parquet").replace("'", "''")
    with tempfile.TemporaryDirectory() as temporary:
        count = min(max(1, min(os.cpu_count() or 1, 4)), max(1, len(paths) // 50))
        parts = [(paths[i::count], f"{temporary}/{i}.jsonl") for i in range(count)]
        if count == 1:
            problems = _export(parts[0])
        else:
            with ProcessPoolExecutor(count) as pool:
                problems = [p for some in pool.map(_export, parts) for p in some]
        db = duckdb.connect()
        for setting in ("memory_limit = '128MB'", "threads = 2",
                        "preserve_insertion_order = false"):  # memory stays flat
            db.execute(f"SET {setting}")
        columns = ("{job: 'VARCHAR', machine: 'VARCHAR', day: 'VARCHAR', clock: 'DOUBLE', "
                   "kind: 'VARCHAR', name: 'VARCHAR', value: 'DOUBLE', unit: 'VARCHAR'}")
        db.execute(f"COPY (SELECT * FROM read_json('{temporary}/*.jsonl', "
                   f"format = 'newline_delimited', columns = {columns})) "
                   f"TO '{parquet}' (FORMAT parquet)")
    db.execute(f"CREATE VIEW events AS SELECT * FROM '{parquet}'")
    answers = {}
    for question, sql in SUMMARY.items():
        found = db.execute(sql)
        answers[question] = ([c[0] for c in found.description or []], found.fetchall())
    return answers, problems


def as_text(answers: dict[str, tuple[list[str], list[tuple[Any, ...]]]], most: int = 20) -> str:
    """The answers as plain tables, at most `most` rows each."""
    lines = []
    for question, (columns, rows) in answers.items():
        lines += ["", question.upper(), "  ".join(c.replace("_", " ") for c in columns)]
        lines += ["  ".join("-" if v is None else str(v) for v in row) for row in rows[:most]]
        if len(rows) > most:
            lines.append(f"... and {len(rows) - most} more; all are in the Parquet file's reach")
        if not rows:
            lines.append("none")
    return "\n".join(lines).strip()
