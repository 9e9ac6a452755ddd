"""A copy of a job for sharing: no title, no names in what was heard, no sound, no wall times."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

from assistant.job import events as e
from assistant.joblog.store import SqliteLog, reading

NOT_UNDERSTOOD = re.compile(r"^(misheard|out of range|wrong unit)$")


def stripped(event: e.Event) -> e.Event | None:
    """An event without what could name a person or a place; None for one that is only sound."""
    if isinstance(event, e.JobStarted):
        profile = re.sub(r"(?m)^name:.*$", "name: A machine", event.profile)
        profile = re.sub(r"(?m)#.*$", "", profile)
        return replace(event, title="A job", profile=profile)
    if isinstance(event, e.SpeechHeard) and NOT_UNDERSTOOD.match(event.meaning):
        return replace(event, text="(not understood)")
    if isinstance(event, e.AudioKept | e.AudioKeepingBegan):
        return None
    return event


def strip_copy(source: Path, target: Path) -> int:
    """Write the stripped copy; how many events it has. The copy has a chain of its own."""
    with reading(source) as log:
        entries = list(log.entries())
    copy = SqliteLog(target, create=True)
    count = 0
    try:
        for entry in entries:
            event = stripped(entry.event)
            if event is not None:
                copy.append(event, wall=NO_TIME)
                count += 1
    finally:
        copy.close()
    return count


NO_TIME = "1970-01-01T00:00:00.000+00:00"
