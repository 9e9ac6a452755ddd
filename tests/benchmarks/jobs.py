"""Synthetic jobs by the thousand, for the summary over many. Invented data, no one's work."""

from __future__ import annotations

import random
import re
import sqlite3
from datetime import UTC, datetime, timedelta
from pathlib import Path

from assistant.job import events as e
from assistant.joblog.store import SqliteLog
from assistant.testing import FINISH, PRE_START, SET_UP, START, rehearse, shipped_profile

MACHINES = ("Trailer unit two", "Trailer unit five", "Trailer unit nine")


def _variants(rng: random.Random) -> list[list[e.Event]]:
    """Some different real runs of the job, to be dealt out."""
    found = []
    for i in range(12):
        out = rng.randrange(25, 70)
        run = ("jet on", f"hose out {out} feet", "affirm", f"hose in {out - 6} feet", "affirm",
               "jet off")
        before = list(PRE_START)
        if i % 3 == 0:
            before[11] = "skip this one"
        if i % 4 == 1:
            before[2:3] = ["negative", "worn"]
        end = () if i % 5 == 4 else FINISH
        call = ("emergency", "stopped", "sewage", "rinsing", "told") if i == 7 else ()
        psi = 2900 - 20 * i
        start = [f"{psi} p s i" if x == "two thousand eight hundred" else x for x in START]
        found.append(rehearse(SET_UP, before, start, run, call, end).events)
    return found


def synthetic_jobs(folder: Path, count: int, rng: random.Random
                   ) -> list[tuple[str, list[e.Event]]]:
    """Write `count` job files over a year and three machines; machine and events of each."""
    variants = _variants(rng)
    templates = []
    for i, events in enumerate(variants):
        for machine in MACHINES:
            path = folder / f"template-{i}-{machine.replace(' ', '-')}.tmp"
            profile = re.sub(r"(?m)^name:.*$", f"name: {machine}", shipped_profile().read_text())
            own = [e.JobStarted(events[0].at, f"Job {i}", profile, events[0].lists), *events[1:]]
            log = SqliteLog(path, create=True)
            wall = datetime(2026, 1, 1, 8, tzinfo=UTC) + timedelta(days=30 * i)
            for event in own:
                log.append(event, wall=(wall + timedelta(seconds=event.at)).isoformat(
                    timespec="milliseconds"))
            log.close()
            db = sqlite3.connect(path)
            db.execute("PRAGMA journal_mode=DELETE")
            db.close()
            templates.append((machine, own, path))
    dealt = []
    for n in range(count):
        machine, own, path = templates[rng.randrange(len(templates))]
        (folder / f"job-{n:05d}.job").write_bytes(path.read_bytes())
        dealt.append((machine, own))
    for _, _, path in templates:
        path.unlink()
    return dealt
