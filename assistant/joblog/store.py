"""The log on disk. An event is in the file, synced, before anyone says it is logged."""

from __future__ import annotations

import hashlib
import json
import sqlite3
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, Protocol

from assistant.errors import HosesideError
from assistant.job.events import Event, from_record, to_record

FORMAT = 1
"""Layout of the file (SQLite user_version)."""

_SCHEMA = """
CREATE TABLE events (
  seq     INTEGER PRIMARY KEY,
  at      REAL NOT NULL,
  wall    TEXT NOT NULL,
  kind    TEXT NOT NULL,
  version INTEGER NOT NULL,
  fields  TEXT NOT NULL,
  chain   TEXT NOT NULL
) STRICT;
CREATE TRIGGER no_update BEFORE UPDATE ON events
BEGIN SELECT RAISE(ABORT, 'the log is append-only'); END;
CREATE TRIGGER no_delete BEFORE DELETE ON events
BEGIN SELECT RAISE(ABORT, 'the log is append-only'); END;
"""


@dataclass(frozen=True)
class Entry:
    """An event as it stands in the log."""

    seq: int
    wall: str
    """Wall time, ISO 8601 in UTC."""
    event: Event


class JobLog(Protocol):
    """Somewhere events are kept."""

    def append(self, event: Event) -> None:
        """Keep an event; when this returns it is safe."""
        ...

    def entries(self) -> Iterator[Entry]:
        """All events, oldest first."""
        ...

    def close(self) -> None:
        """Close it."""
        ...


def _wall() -> str:
    return datetime.now(UTC).isoformat(timespec="milliseconds")


class MemoryLog:
    """For tests and rehearsal: gone when the program ends."""

    def __init__(self) -> None:
        self._entries: list[Entry] = []

    def append(self, event: Event) -> None:
        """Keep an event in memory."""
        # Through the record, so that what cannot be stored fails here too.
        stored = from_record(json.loads(json.dumps(to_record(event))))
        self._entries.append(Entry(len(self._entries) + 1, _wall(), stored))

    def entries(self) -> Iterator[Entry]:
        """All events."""
        yield from self._entries

    def close(self) -> None:
        """Nothing to close."""


def chained(previous: str, at: float, wall: str, kind: str, version: int, fields: str) -> str:
    """The hash that ties an event to all before it."""
    row = json.dumps([previous, at, wall, kind, version, fields])
    return hashlib.sha256(row.encode()).hexdigest()


class SqliteLog:
    """One file a job. Opening a file that is not one, or is newer, says so in one sentence."""

    def __init__(self, path: Path, create: bool = False) -> None:
        self.path = path
        if not create and not path.exists():
            raise HosesideError(f"{path}: there is no such job file; check the name.")
        if create and path.exists():
            raise HosesideError(f"{path}: this job file exists already; use --resume to go on "
                                "with it, or name another.")
        try:
            self._db = sqlite3.connect(path, isolation_level=None)
            self._db.execute("PRAGMA journal_mode=WAL")
            self._db.execute("PRAGMA synchronous=FULL")
            version = self._db.execute("PRAGMA user_version").fetchone()[0]
            if create:
                self._db.executescript(f"BEGIN; {_SCHEMA} PRAGMA user_version={FORMAT}; COMMIT;")
            elif version != FORMAT:
                raise HosesideError(
                    f"{path}: is of layout {version}, this Hoseside reads layout {FORMAT}; "
                    "it is not a job file or was written by a newer Hoseside.")
            last = self._db.execute(
                "SELECT seq, chain FROM events ORDER BY seq DESC LIMIT 1").fetchone()
        except sqlite3.DatabaseError as error:
            raise self._failed("cannot be opened as a job file", error) from None
        self._seq: int = last[0] if last else 0
        self._chain: str = last[1] if last else ""

    def _failed(self, what: str, error: Exception) -> HosesideError:
        mend = {"database or disk is full": "free some space, then use --resume",
                "attempt to write a readonly database": "make the file and folder writable",
                "database is locked": "close the other Hoseside that uses it",
                }.get(str(error), "check the file and its folder")
        return HosesideError(f"{self.path}: {what} ({error}); {mend}.")

    def append(self, event: Event) -> None:
        """Write and sync one event in its own transaction."""
        record = to_record(event)
        fields = json.dumps(record["fields"], sort_keys=True)
        wall, kind, version = _wall(), record["kind"], record["version"]
        chain = chained(self._chain, event.at, wall, kind, version, fields)
        try:
            self._db.execute("INSERT INTO events VALUES (?, ?, ?, ?, ?, ?, ?)",
                             (self._seq + 1, event.at, wall, kind, version, fields, chain))
        except sqlite3.IntegrityError:
            raise HosesideError(f"{self.path}: another Hoseside is writing this job; "
                                "close one of the two.") from None
        except sqlite3.DatabaseError as error:
            raise self._failed("the event could not be written", error) from None
        self._seq, self._chain = self._seq + 1, chain

    def rows(self) -> Iterator[tuple[Any, ...]]:
        """The raw rows, oldest first."""
        try:
            yield from self._db.execute(
                "SELECT seq, at, wall, kind, version, fields, chain FROM events ORDER BY seq")
        except sqlite3.DatabaseError as error:
            raise self._failed("cannot be read", error) from None

    def entries(self) -> Iterator[Entry]:
        """All events; an unreadable one raises HosesideError with its number."""
        for seq, _at, wall, kind, version, fields, _chain in self.rows():
            try:
                event = from_record({"kind": kind, "version": version,
                                     "fields": json.loads(fields)})
            except HosesideError as error:
                raise HosesideError(f"{self.path}, event {seq}: {error}") from None
            except ValueError:
                raise HosesideError(f"{self.path}, event {seq}: its fields are torn; the file "
                                    "was damaged.") from None
            yield Entry(seq, wall, event)

    def close(self) -> None:
        """Close the file, folding the write-ahead log into it."""
        self._db.close()
