"""Killed, torn, full, read-only, clock set back: nothing said to be logged is lost, nothing that
was not affirmed appears."""

import os
import random
import re
import resource
import shutil
import signal
import subprocess
import sys
import time

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from assistant.errors import HosesideError
from assistant.job import events as e
from assistant.joblog.store import SqliteLog, reading, verify
from assistant.run import run_job
from assistant.screen.terminal import Terminal
from assistant.testing import FINISH, PRE_START, SET_UP, START, rehearse, shipped_profile

LINES = SET_UP + PRE_START + START + FINISH
KILLS = 300


def plain(event):
    """Kind and fields without the time."""
    record = e.to_record(event)
    return record["kind"], {k: v for k, v in record["fields"].items() if k != "at"}


WHOLE = [plain(x) for x in rehearse(LINES).events]


def values(events):
    """The logged values."""
    return [(k, f["quantity"], f["value"]) for k, f in events if k == "ValueConfirmed"]


def job_child(path, out, resume):
    """The body of a child process: the real job on the keyboard, its print into a file."""
    stdin_read, stdin_write = os.pipe()
    writer = os.fork()
    if writer == 0:
        os.close(stdin_read)
        os.write(stdin_write, "".join(f"{x}\n" for x in LINES).encode())
        os._exit(0)
    os.close(stdin_write)
    sys.stdin = os.fdopen(stdin_read)
    with open(out, "w") as stream:
        run_job(file=path, title="Test job", profile=shipped_profile(), listen="keyboard",
                engine="whisper", model=None, device=None, mute="", resume=resume,
                screen=Terminal(stream))


def forked(target, *arguments):
    """Run something in a child; its process id."""
    pid = os.fork()
    if pid == 0:
        code = 1
        try:
            target(*arguments)
            code = 0
        finally:
            os._exit(code)
    return pid


def finished_run_takes(tmp_path):
    """Seconds a whole run takes here once warm, so that kills fall all over it."""
    import assistant.cli  # noqa: F401  (so that no child spends its time on imports)

    times = []
    for i in range(3):
        began = time.monotonic()
        pid = forked(job_child, tmp_path / f"timing{i}.job", tmp_path / f"timing{i}.out", False)
        assert os.waitpid(pid, 0)[1] == 0
        times.append(time.monotonic() - began)
    return min(times)


def events_of(path):
    """What a job file holds; [] where it was killed before it began."""
    if not path.exists():
        return []
    try:
        with reading(path) as log:
            verdict = verify(log)
            assert verdict.problem == "", verdict
            return [plain(x.event) for x in log.entries()]
    except HosesideError as error:
        assert "layout 0" in str(error), error  # killed while the empty file was being laid out
        return []


def test_killed_at_300_random_moments_nothing_is_lost_and_nothing_invented(tmp_path):
    """kill -9 on the real job: every value announced as logged is in the file, and the file is
    the beginning of what an undisturbed job writes."""
    takes = finished_run_takes(tmp_path)
    rng = random.Random(20261125)
    lost = invented = reached = 0
    for i in range(KILLS):
        path, out = tmp_path / f"{i}.job", tmp_path / f"{i}.out"
        pid = forked(job_child, path, out, False)
        time.sleep(rng.uniform(0, takes))
        os.kill(pid, signal.SIGKILL)
        os.waitpid(pid, 0)
        found = events_of(path)
        spoken = out.read_text().count("Logged.") if out.exists() else 0
        lost += max(0, spoken - len(values(found)))
        invented += found != WHOLE[:len(found)]
        reached += len(found) > 0
        path.unlink(missing_ok=True)
    print(f"{KILLS} kills, {reached} of them after the first event, {lost} lost, "
          f"{invented} invented")
    assert reached > KILLS / 3
    assert (lost, invented) == (0, 0)


@pytest.fixture(scope="module")
def killed_with_a_wal(tmp_path_factory):
    """A job file and its write-ahead log as a power cut leaves them, never folded together."""
    folder = tmp_path_factory.mktemp("wal")
    path = folder / "cut.job"
    code = ("import os, sys\nfrom pathlib import Path\n"
            "from assistant.joblog.store import SqliteLog\n"
            "from assistant.testing import SET_UP, rehearse\n"
            "log = SqliteLog(Path(sys.argv[1]), create=True)\n"
            "for event in rehearse(SET_UP).events: log.append(event)\n"
            "os.kill(os.getpid(), 9)\n")
    subprocess.run([sys.executable, "-c", code, str(path)], check=False)
    wal = path.with_name("cut.job-wal")
    assert wal.stat().st_size > 10_000
    return path, wal.read_bytes()


EXPECTED = [plain(x) for x in rehearse(SET_UP).events]


def test_log_torn_at_any_byte_is_a_true_beginning(killed_with_a_wal, tmp_path):
    """The write-ahead log cut at 400 places, and with one byte flipped at 400: what is read is a
    beginning of what was written, whole by its chain, or one sentence."""
    original, wal = killed_with_a_wal
    rng = random.Random(5)
    cuts = sorted({0, 1, 31, 32, 33, len(wal) - 1, len(wal),
                   *(rng.randrange(len(wal)) for _ in range(400))})
    torn = [wal[:n] for n in cuts]
    for _ in range(400):
        at = rng.randrange(len(wal))
        torn.append(wal[:at] + bytes([wal[at] ^ (1 << rng.randrange(8))]) + wal[at + 1:])
    lengths = set()
    for content in torn:
        path = tmp_path / "torn.job"
        shutil.copyfile(original, path)
        path.with_name("torn.job-wal").write_bytes(content)
        try:
            with reading(path) as log:
                verdict = verify(log)
                found = [plain(x.event) for x in log.entries()] if not verdict.problem else []
        except HosesideError:
            continue
        if not verdict.problem:
            assert found == EXPECTED[:len(found)]
            lengths.add(len(found))
    assert max(lengths) == len(EXPECTED) and len(lengths) > 10


@pytest.fixture(scope="module")
def closed_job(tmp_path_factory):
    """The bytes of a whole job file, closed in order."""
    path = tmp_path_factory.mktemp("closed") / "closed.job"
    log = SqliteLog(path, create=True)
    for event in rehearse(SET_UP).events:
        log.append(event)
    log.close()
    return path.read_bytes()


@settings(max_examples=500, deadline=None, derandomize=True,
          suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(data=st.data())
def test_fuzzed_files_never_crash_and_never_pass_as_whole(closed_job, tmp_path, data):
    """Bytes changed, cut or grown anywhere: an error in one sentence or a problem named; "whole"
    only if every event is as it was written."""
    content = bytearray(closed_job)
    for _ in range(data.draw(st.integers(1, 4))):
        at = data.draw(st.integers(0, len(content) - 1))
        content[at] = data.draw(st.integers(0, 255))
    if data.draw(st.booleans()):
        del content[data.draw(st.integers(0, len(content) - 1)):]
    path = tmp_path / "fuzzed.job"
    path.write_bytes(bytes(content))
    try:
        with reading(path) as log:
            verdict = verify(log)
            if verdict.problem == "":
                found = [plain(x.event) for x in log.entries()]
                assert found == EXPECTED[:len(found)]
    except HosesideError as error:
        assert str(path) in str(error)


def full_disk_child(path, out, limit):
    """The job with no more than `limit` bytes to a file: a disk that fills up."""
    signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    resource.setrlimit(resource.RLIMIT_FSIZE, (limit, limit))
    try:
        job_child(path, out, False)
    except HosesideError as error:
        with open(str(out) + ".error", "w") as stream:
            stream.write(str(error))
        raise SystemExit(1) from None


@pytest.mark.parametrize("limit", [60_000, 90_000, 200_000])
def test_a_disk_that_fills_up_loses_nothing_said_to_be_logged(tmp_path, limit):
    """One sentence, and what was announced is in the file."""
    path, out = tmp_path / "full.job", tmp_path / "full.out"
    pid = forked(full_disk_child, path, out, limit)
    assert os.waitpid(pid, 0)[1] != 0
    message = (tmp_path / "full.out.error").read_text()
    assert message.startswith(f"{path}: ") and len(message.splitlines()) == 1
    found = events_of(path)
    assert found == WHOLE[:len(found)]
    assert len(values(found)) >= out.read_text().count("Logged.")


def test_a_job_resumed_after_a_kill_goes_on_to_the_same_end(tmp_path):
    """It says where it stands, asks the open item again, and ends as an undisturbed job does."""
    for cut in (4, 13, 30, 47):
        path = tmp_path / f"{cut}.job"
        log = SqliteLog(path, create=True)
        for event in rehearse(LINES[:cut]).events:
            log.append(event)
        log.close()
        run = subprocess.run(
            [sys.executable, "-m", "assistant.cli", "job", str(path), "--resume", "--listen",
             "keyboard", "--mute"], input="\n".join(LINES[cut:]) + "\n", capture_output=True,
            text=True, timeout=120)
        assert run.returncode == 0, run.stdout + run.stderr
        assert re.search(r"Job resumed\. .*", run.stdout)
        assert values(events_of(path)) == values(WHOLE)


def test_a_clock_set_back_changes_nothing_but_the_wall_time(tmp_path, monkeypatch):
    """Order and chain follow the events, not the wall clock."""
    import assistant.joblog.store as store

    walls = iter([f"2026-11-25T{h:02d}:00:00.000+00:00" for h in (10, 11, 9, 8, 12, 7)])
    monkeypatch.setattr(store, "_wall", lambda: next(walls))
    path = tmp_path / "clock.job"
    log = SqliteLog(path, create=True)
    for event in rehearse(SET_UP).events[:6]:
        log.append(event)
    log.close()
    assert events_of(path) == EXPECTED[:6]


def test_reading_writes_nothing_beside_the_file(tmp_path):
    """So a job on a read-only card can still be reported."""
    card = tmp_path / "card"
    card.mkdir()
    path = card / "x.job"
    log = SqliteLog(path, create=True)
    for event in rehearse(SET_UP).events:
        log.append(event)
    log.close()
    before = sorted(p.name for p in card.iterdir())
    with reading(path) as log:
        assert verify(log).problem == ""
    assert sorted(p.name for p in card.iterdir()) == before
