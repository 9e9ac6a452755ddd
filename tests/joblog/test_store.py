"""One contract for both logs, and what only the file must stand."""

import json
import sqlite3
import subprocess
import sys

import pytest

from assistant.errors import HosesideError
from assistant.job import events as e
from assistant.job.state import fold
from assistant.joblog.store import MemoryLog, SqliteLog, chained, reading, verify
from assistant.testing import PRE_START, SET_UP, rehearse

EVENTS = rehearse(SET_UP, PRE_START[:19]).events


class Contract:
    """What every log does."""

    def log(self, tmp_path):
        """A new log."""
        raise NotImplementedError

    def test_events_come_back_as_they_went_in(self, tmp_path):
        """All kinds, with their fields, in order."""
        log = self.log(tmp_path)
        for event in EVENTS:
            log.append(event)
        entries = list(log.entries())
        assert [x.event for x in entries] == EVENTS
        assert [x.seq for x in entries] == list(range(1, len(EVENTS) + 1))
        log.close()

    def test_an_empty_log_has_no_events(self, tmp_path):
        """And folds to a job not begun."""
        log = self.log(tmp_path)
        assert fold(x.event for x in log.entries()).started is False
        log.close()


class TestMemory(Contract):
    """In memory."""

    def log(self, tmp_path):
        """A memory log."""
        return MemoryLog()


class TestSqlite(Contract):
    """On disk."""

    def log(self, tmp_path):
        """A new file."""
        return SqliteLog(tmp_path / "test.job", create=True)

    def filled(self, tmp_path, count=5):
        """A closed file with some events."""
        log = self.log(tmp_path)
        for event in EVENTS[:count]:
            log.append(event)
        log.close()
        return tmp_path / "test.job"

    def test_reopened_it_goes_on(self, tmp_path):
        """Appending after reopening keeps order and chain."""
        path = self.filled(tmp_path)
        log = SqliteLog(path)
        log.append(EVENTS[5])
        assert [x.event for x in log.entries()] == EVENTS[:6]
        log.close()

    def test_it_is_append_only(self, tmp_path):
        """Nobody changes or removes an event, not even with SQL."""
        db = sqlite3.connect(self.filled(tmp_path))
        for sql in ("UPDATE events SET kind='x' WHERE seq=1", "DELETE FROM events"):
            with pytest.raises(sqlite3.DatabaseError, match="append-only"):
                db.execute(sql)

    def test_each_event_is_tied_to_all_before_it(self, tmp_path):
        """The chain can be worked out again from the rows."""
        log = SqliteLog(self.filled(tmp_path))
        previous = ""
        for _seq, at, wall, kind, version, fields, chain in log.rows():
            assert chain == chained(previous, at, wall, kind, version, fields)
            previous = chain
        log.close()

    def test_a_second_writer_is_refused_at_the_door(self, tmp_path):
        """The one that was first goes on; nothing of the second is written."""
        path = self.filled(tmp_path)
        one = SqliteLog(path)
        with pytest.raises(HosesideError, match="another Hoseside has this job open"):
            SqliteLog(path)
        one.append(EVENTS[5])
        assert [x.event for x in one.entries()] == EVENTS[:6]
        one.close()

    def test_reading_neither_waits_nor_changes(self, tmp_path):
        """A job in use can be read; the file's bytes stay as they were."""
        path = self.filled(tmp_path)
        one = SqliteLog(path)
        before = path.read_bytes()
        with reading(path) as log:
            assert [x.event for x in log.entries()] == EVENTS[:5]
        assert path.read_bytes() == before
        one.close()

    def test_an_unknown_kind_stops_with_its_number(self, tmp_path):
        """An event from a newer version is not skipped in silence."""
        path = self.filled(tmp_path, 2)
        db = sqlite3.connect(path)
        db.execute("INSERT INTO events VALUES (3, 0, '', 'MoonLanded', 1, '{}', '')")
        db.commit()
        db.close()
        log = SqliteLog(path)
        with pytest.raises(HosesideError, match=r"event 3: .*unknown kind 'MoonLanded'"):
            list(log.entries())
        log.close()

    @pytest.mark.parametrize("content", [b"", b"not a database at all, just text" * 50])
    def test_a_file_that_is_no_job_is_one_sentence(self, tmp_path, content):
        """It names the file."""
        path = tmp_path / "other.job"
        path.write_bytes(content)
        with pytest.raises(HosesideError, match=r"other\.job: "):
            SqliteLog(path)

    def test_an_existing_job_is_not_begun_again(self, tmp_path):
        """Nothing is overwritten."""
        path = self.filled(tmp_path)
        with pytest.raises(HosesideError, match="exists already; use --resume"):
            SqliteLog(path, create=True)

    def test_a_missing_job_is_one_sentence(self, tmp_path):
        """No file is made by looking."""
        with pytest.raises(HosesideError, match="no such job file"):
            SqliteLog(tmp_path / "nowhere.job")
        assert not (tmp_path / "nowhere.job").exists()

    def test_a_full_disk_is_one_sentence_and_loses_nothing(self, tmp_path):
        """What was written before is still there."""
        log = SqliteLog(self.filled(tmp_path))
        log._db.execute("PRAGMA max_page_count=1")  # SQLite's own way to be full
        with pytest.raises(HosesideError, match="free some space, then use --resume"):
            for event in EVENTS * 20:
                log.append(event)
        log.close()
        again = SqliteLog(tmp_path / "test.job")
        assert [x.event for x in again.entries()][:5] == EVENTS[:5]
        again.close()

    def test_killed_after_an_append_it_is_all_there(self, tmp_path):
        """kill -9 right after the word "logged": every event said to be logged is in the file."""
        path = tmp_path / "killed.job"
        code = (
            "import os, sys\n"
            "from pathlib import Path\n"
            "from assistant.joblog.store import SqliteLog\n"
            "from assistant.testing import SET_UP, rehearse\n"
            "log = SqliteLog(Path(sys.argv[1]), create=True)\n"
            "for event in rehearse(SET_UP).events:\n"
            "    log.append(event); print('logged', flush=True)\n"
            "os.kill(os.getpid(), 9)\n")
        run = subprocess.run([sys.executable, "-c", code, str(path)], capture_output=True,
                             text=True)
        logged = run.stdout.count("logged")
        log = SqliteLog(path)
        assert len(list(log.entries())) == logged > 20
        log.close()


def test_records_are_plain_json():
    """Every kind of event goes through JSON and back."""
    for event in EVENTS:
        assert e.from_record(json.loads(json.dumps(e.to_record(event)))) == event


class TestVerify:
    """Whole and unaltered, or the first bad event by its number."""

    def altered(self, tmp_path, *statements):
        """A log of ten events changed behind the triggers' back; its verdict."""
        path = tmp_path / "v.job"
        log = SqliteLog(path, create=True)
        for event in EVENTS[:10]:
            log.append(event)
        log.close()
        db = sqlite3.connect(path)
        db.executescript("DROP TRIGGER no_update; DROP TRIGGER no_delete;")
        for sql in statements:
            db.execute(sql)
        db.commit()
        db.close()
        with reading(path) as log:
            return verify(log)

    def test_an_untouched_log_is_whole(self, tmp_path):
        """Ten events, no problem."""
        verdict = self.altered(tmp_path)
        assert (verdict.events, verdict.problem) == (10, "")

    @pytest.mark.parametrize(("sql", "whole", "problem"), [
        ("UPDATE events SET fields = replace(fields, '4.0', '5.0') WHERE seq = 8", 7, "event 8"),
        ("UPDATE events SET at = at + 1 WHERE seq = 3", 2, "event 3 was altered"),
        ("UPDATE events SET wall = '2020' WHERE seq = 10", 9, "event 10 was altered"),
        ("DELETE FROM events WHERE seq = 4", 3, "event 4 is missing"),
        ("UPDATE events SET kind = 'JobFinished' WHERE seq = 1", 0, "event 1 was altered"),
    ])
    def test_the_first_bad_event_is_named(self, tmp_path, sql, whole, problem):
        """Changed, removed or relabelled."""
        verdict = self.altered(tmp_path, sql)
        assert verdict.events == whole and problem in verdict.problem

    def test_swapping_two_events_is_seen(self, tmp_path):
        """The chain holds the order."""
        verdict = self.altered(
            tmp_path, "UPDATE events SET seq = 99 WHERE seq = 5",
            "UPDATE events SET seq = 5 WHERE seq = 6", "UPDATE events SET seq = 6 WHERE seq = 99")
        assert verdict.events == 4 and "event 5 was altered" in verdict.problem


def test_older_versions_are_upgraded_on_read(monkeypatch):
    """One version at a time; a version that nobody can raise stops with a sentence."""
    monkeypatch.setattr(e, "VERSION", 3)
    monkeypatch.setitem(e.UPGRADES, ("FactLearned", 1), lambda f: {"at": f["at"], "fact": f["f"]})
    monkeypatch.setitem(e.UPGRADES, ("FactLearned", 2),
                        lambda f: {"at": f["at"], "name": f["fact"], "value": "yes"})
    old = {"kind": "FactLearned", "version": 1, "fields": {"at": 1.0, "f": "frost"}}
    assert e.from_record(old) == e.FactLearned(1.0, "frost", "yes")
    with pytest.raises(HosesideError, match="in version 1, this Hoseside knows version 3"):
        e.from_record({"kind": "JobFinished", "version": 1, "fields": {"at": 1.0}})
