"""The log on disk. An event is in the file, synced, before anyone says it is logged."""

from __future__ import annotations

import hashlib
import json
import shutil
import sqlite3
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import IO, Any, Protocol

from assistant.errors import HosesideError
from assistant.job.events import Event, from_record, to_record

try:
    import fcntl
except ImportError:  # Windows
    fcntl = None  # type: ignore[assignment]

DAMAGED = (sqlite3.DatabaseError, UnicodeDecodeError)
"""What SQLite's reader raises on a damaged file; text that is no text among it."""
TORN = (ValueError, TypeError, KeyError, AttributeError)
"""What an event's fields raise when they are not what they were."""

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
CREATE TABLE clips (
  sha256 TEXT PRIMARY KEY,
  flac   BLOB NOT NULL
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
        self._lock = _locked(path, create)
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
        except DAMAGED as error:
            raise self._failed("cannot be opened as a job file", error) from None
        self._seq: int = last[0] if last else 0
        self._chain: str = last[1] if last else ""

    def _failed(self, what: str, error: Exception) -> HosesideError:
        mend = {"database or disk is full": "free some space, then use --resume",
                "attempt to write a readonly database": "make the file and folder writable",
                "database is locked": "close the other Hoseside that uses it",
                }.get(str(error), "check the file and its folder")
        return HosesideError(f"{self.path}: {what} ({error}); {mend}.")

    def keep_clip(self, digest: str, flac: bytes) -> None:
        """Keep a sound beside the events; an event names it by its SHA-256."""
        try:
            self._db.execute("INSERT OR IGNORE INTO clips VALUES (?, ?)", (digest, flac))
        except DAMAGED as error:
            raise self._failed("the sound could not be written", error) from None

    def clips(self) -> dict[str, bytes]:
        """All kept sounds by SHA-256."""
        return dict(self._db.execute("SELECT sha256, flac FROM clips"))

    def append(self, event: Event, wall: str | None = None) -> None:
        """Write and sync one event in its own transaction; `wall` replaces the time of day."""
        record = to_record(event)
        fields = json.dumps(record["fields"], sort_keys=True)
        wall, kind, version = wall or _wall(), record["kind"], record["version"]
        chain = chained(self._chain, event.at, wall, kind, version, fields)
        try:
            self._db.execute("INSERT INTO events VALUES (?, ?, ?, ?, ?, ?, ?)",
                             (self._seq + 1, event.at, wall, kind, version, fields, chain))
        except sqlite3.IntegrityError:
            raise HosesideError(f"{self.path}: another Hoseside is writing this job; "
                                "close one of the two.") from None
        except DAMAGED as error:
            raise self._failed("the event could not be written", error) from None
        self._seq, self._chain = self._seq + 1, chain

    def rows(self) -> Iterator[tuple[Any, ...]]:
        """The raw rows, oldest first."""
        try:
            yield from self._db.execute(
                "SELECT seq, at, wall, kind, version, fields, chain FROM events ORDER BY seq")
        except DAMAGED as error:
            raise self._failed("cannot be read", error) from None

    def entries(self) -> Iterator[Entry]:
        """All events; an unreadable one raises HosesideError with its number."""
        for seq, _at, wall, kind, version, fields, _chain in self.rows():
            try:
                event = from_record({"kind": kind, "version": version,
                                     "fields": json.loads(fields)})
            except HosesideError as error:
                raise HosesideError(f"{self.path}, event {seq}: {error}") from None
            except TORN:
                raise HosesideError(f"{self.path}, event {seq}: its fields are torn; the file "
                                    "was damaged.") from None
            yield Entry(seq, wall, event)

    def close(self) -> None:
        """Close the file, folding the write-ahead log into it."""
        self._db.close()
        if self._lock is not None:
            self._lock.close()
            self._lock = None


def _locked(path: Path, create: bool) -> IO[bytes] | None:
    """Hold a job file for this process alone, where the system can (not on Windows)."""
    if fcntl is None:
        return None
    try:
        handle = open(path, "ab" if create else "rb")  # noqa: SIM115  (held until close)
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        handle.close()
        raise HosesideError(f"{path}: another Hoseside has this job open; close it first."
                            ) from None
    except OSError as error:
        raise HosesideError(f"{path}: cannot be opened ({error.strerror}); check the file and its "
                            "folder.") from None
    return handle


@contextmanager
def reading(path: Path) -> Iterator[SqliteLog]:
    """A job file to read from, through a copy: the original is not touched, not even its locks,
    and may lie on a read-only card or be in use."""
    if not path.is_file():
        raise HosesideError(f"{path}: there is no such job file; check the name.")
    with tempfile.TemporaryDirectory() as folder:
        copy = Path(folder) / path.name
        try:
            for suffix in ("-wal", ""):  # the log before the file, so that none is newer
                part = path.with_name(path.name + suffix)
                if part.exists():
                    shutil.copyfile(part, copy.with_name(copy.name + suffix))
        except OSError as error:
            raise HosesideError(f"{path}: cannot be read ({error.strerror}).") from None
        try:
            log = SqliteLog(copy)
        except HosesideError as error:
            raise HosesideError(str(error).replace(str(copy), str(path))) from None
        log.path = path
        try:
            yield log
        finally:
            log.close()


@dataclass(frozen=True)
class Verdict:
    """What `verify` found."""

    events: int
    """How many events stand whole from the beginning."""
    problem: str
    """"" where all is whole and unaltered; else what is wrong with the first bad event."""


def verify(log: SqliteLog) -> Verdict:
    """Whether every event is there, in order, readable, and tied to all before it.

    A log cut off after a whole event is a log that ended there: the chain cannot tell, only the
    missing end of the job can.
    """
    previous, count = "", 0
    try:
        for seq, at, wall, kind, version, fields, chain in log.rows():
            if seq != count + 1:
                return Verdict(count, f"event {count + 1} is missing")
            if chain != chained(previous, at, wall, kind, version, fields):
                return Verdict(count, f"event {seq} was altered")
            try:
                from_record({"kind": kind, "version": version, "fields": json.loads(fields)})
            except (HosesideError, *TORN) as error:
                return Verdict(count, f"event {seq} cannot be read ({error})")
            previous, count = chain, count + 1
        kept = log.clips()
    except HosesideError as error:
        return Verdict(count, f"event {count + 1} cannot be read ({error})")
    except DAMAGED as error:
        return Verdict(count, f"the kept sounds cannot be read ({error})")
    for digest, flac in kept.items():
        if hashlib.sha256(flac).hexdigest() != digest:
            return Verdict(count, f"the kept sound {digest[:12]} was altered")
    return Verdict(count, "")
