"""Many jobs at once: the answers against a plain count in Python."""

import random
import shutil

import pytest

from assistant.errors import HosesideError
from assistant.job import events as e
from assistant.joblog.fleet import SUMMARY, as_text, summarise
from assistant.joblog.store import SqliteLog
from tests.benchmarks.jobs import synthetic_jobs


@pytest.fixture(scope="module")
def fleet(tmp_path_factory):
    """Sixty synthetic jobs, and the events that were put in."""
    folder = tmp_path_factory.mktemp("fleet")
    return folder, synthetic_jobs(folder, 60, random.Random(1))


def rows(fleet, tmp_path, question):
    """The rows of one answer."""
    answers, problems = summarise(fleet[0], tmp_path / "out")
    assert problems == []
    return answers[question][1]


def test_jobs_are_counted_by_machine(fleet, tmp_path):
    """Jobs, finished ones, emergencies."""
    found = {r[0]: r[1:] for r in rows(fleet, tmp_path, "jobs")}
    for machine in {m for m, _ in fleet[1]}:
        mine = [events for m, events in fleet[1] if m == machine]
        done = sum(any(isinstance(x, e.JobFinished) for x in events) for events in mine)
        calls = sum(isinstance(x, e.EmergencyCalled) for events in mine for x in events)
        assert found[machine] == (len(mine), done, calls)


def jet_seconds(events):
    """Time with the jet on, counted plainly."""
    total, since = 0.0, None
    for x in events:
        if isinstance(x, e.JetTurnedOn) and since is None:
            since = x.at
        elif isinstance(x, e.JetTurnedOff | e.EmergencyCalled) and since is not None:
            total, since = total + x.at - since, None
    return total


def test_hours_under_pressure_are_added_up(fleet, tmp_path):
    """As a plain count over the events has it."""
    found = {r[0]: r[1] for r in rows(fleet, tmp_path, "hours under pressure and water")}
    for machine in {m for m, _ in fleet[1]}:
        hours = sum(jet_seconds(ev) for m, ev in fleet[1] if m == machine) / 3600
        assert found[machine] == pytest.approx(hours, abs=0.011)


def test_warnings_are_counted_by_kind(fleet, tmp_path):
    """Times and jobs of each limit."""
    found = {r[0]: r[1] for r in rows(fleet, tmp_path, "warnings")}
    plain = {}
    for _, events in fleet[1]:
        for x in events:
            if isinstance(x, e.WarningRaised):
                plain[x.limit] = plain.get(x.limit, 0) + 1
    assert found == plain and found


def test_open_defects_are_those_not_confirmed_later(fleet, tmp_path):
    """Parked or denied and never confirmed in that job."""
    found = {(r[0], r[1]): r[2] for r in rows(fleet, tmp_path, "defects open")}
    plain = {}
    for machine, events in fleet[1]:
        last = {}
        for x in events:
            if isinstance(x, e.ItemDenied | e.ItemHeld | e.ItemParked | e.ItemConfirmed):
                last[x.item] = type(x)
        for item, kind in last.items():
            if kind is not e.ItemConfirmed:
                plain[machine, item] = plain.get((machine, item), 0) + 1
    assert found == plain


def test_a_broken_file_is_named_and_the_rest_is_summarised(fleet, tmp_path):
    """One sentence for it; the others still count."""
    folder = tmp_path / "mixed"
    folder.mkdir()
    good = sorted(fleet[0].glob("*.job"))[0]
    shutil.copy(good, folder / "good.job")
    (folder / "bad.job").write_bytes(b"scratched card")
    answers, problems = summarise(folder, tmp_path / "out")
    assert len(problems) == 1 and "bad.job: left out" in problems[0]
    assert sum(r[1] for r in answers["jobs"][1]) == 1


def test_a_job_in_use_counts_with_what_is_still_in_its_write_ahead_log(fleet, tmp_path):
    """Events not yet folded into the file are read too."""
    folder = tmp_path / "live"
    folder.mkdir()
    log = SqliteLog(folder / "live.job", create=True)
    for x in fleet[1][0][1]:
        log.append(x)
    answers, problems = summarise(folder, tmp_path / "out")
    assert problems == [] and sum(r[1] for r in answers["jobs"][1]) == 1
    log.close()


def test_an_empty_folder_is_one_sentence(tmp_path):
    """It names the folder."""
    with pytest.raises(HosesideError, match="holds no job files"):
        summarise(tmp_path, tmp_path)


def test_every_answer_is_shown(fleet, tmp_path):
    """All questions, in words."""
    answers, _ = summarise(fleet[0], tmp_path / "out")
    text = as_text(answers)
    for question in SUMMARY:
        assert question.upper() in text
    assert (tmp_path / "out" / "events.parquet").stat().st_size > 1000
