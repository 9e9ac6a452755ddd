"""Warnings from recorded speech: the shared phrases through the real recogniser into a job, on
both sides of each limit. Skipped, by name, where the recordings are absent."""

import json

import numpy as np
import pytest

from assistant.hearing.recogniser import RATE
from assistant.hearing.sources import read_sound
from assistant.job import events as e
from assistant.job.decide import may_say
from assistant.meaning.weigh import understand
from assistant.testing import PRE_START, SET_UP, START, rehearse

# quantity, a recorded value within the limit, one past it, the limit; set-up words to change
CASES = [
    ("inlet pressure", 87, 101, "inlet pressure high"),
    ("inlet pressure", 89, 129, "inlet pressure high"),
    ("water temperature", 125, 146, "water hot"),
    ("carbon monoxide", 7, 61, "carbon monoxide ventilate"),
    ("carbon monoxide", 7, 153, "carbon monoxide ventilate"),
    ("hose out", 53, 77, "line end"),
]


def spoken(folder, quantity, value):
    """The recordings of a reading, one a voice."""
    rows = [json.loads(x) for x in (folder / "phrases" / "manifest.jsonl").read_text().splitlines()]
    return [folder / "phrases" / r["file"] for r in rows
            if r.get("quantity") == quantity and r.get("value") == value]


def say_recording(job, whisper, file):
    """One recording heard in the job, as the job stands."""
    may = may_say(job.plan, job.state)
    quiet = np.zeros(RATE // 2, dtype=np.int16)
    pcm = np.concatenate([quiet, read_sound(file), quiet])
    job.give(understand(whisper.transcribe(pcm, may), may), after=30.0)


def call(job, whisper, files):
    """A reading called by recording, repeated by another voice where it is doubted or refused,
    and affirmed. True if it was logged."""
    for file in files * 2:
        say_recording(job, whisper, file)
        pending = job.state.pending
        if pending is not None and not pending.doubt:
            job.say("affirm")
            return True
    return False


@pytest.mark.parametrize(("quantity", "within", "past", "limit"), CASES,
                         ids=[f"{c[0]} {c[1]} {c[2]}" for c in CASES])
def test_warned_past_the_limit_and_not_within(
        recordings, whisper, quantity, within, past, limit):
    """Within: logged and no warning. Past: doubted, said again, logged, warned at once."""
    for value, warned in ((within, False), (past, True)):
        job = rehearse(SET_UP, PRE_START, START, ("jet on", "draining"))
        assert call(job, whisper, spoken(recordings, quantity, value)), value
        assert job.state.logged[quantity].value == value
        raised = [x for x in job.events if isinstance(x, e.WarningRaised)]
        assert (limit in [x.limit for x in raised]) is warned
        if warned:
            assert raised[-1].at == job.at


def test_opening_is_warned_from_recorded_calls(recordings, whisper):
    """Out 53, in 28 by recording, then in 20 by word: warned only then."""
    job = rehearse(SET_UP, PRE_START, START, ("jet on", "draining"))
    assert call(job, whisper, spoken(recordings, "hose out", 53))
    job.at += 300
    assert call(job, whisper, spoken(recordings, "hose in", 28))
    assert "near the opening" not in job.state.warnings
    job.at += 60
    job.say("hose in twenty feet", "affirm")
    assert "near the opening" in job.state.warnings


def test_emergency_by_every_recorded_voice(recordings, whisper):
    """Each recording of the word, while jetting, calls it."""
    rows = [json.loads(x) for x in
            (recordings / "phrases" / "manifest.jsonl").read_text().splitlines()]
    files = [recordings / "phrases" / r["file"] for r in rows if r["meaning"] == "emergency"]
    for file in files:
        job = rehearse(SET_UP, PRE_START, START, ("jet on",))
        say_recording(job, whisper, file)
        assert job.state.emergency, file
