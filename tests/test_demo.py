"""The demo as a user runs it: real recogniser, recorded operator, and a record that has it all."""

import csv
import json
import subprocess
import sys

import pytest

from assistant import paths
from assistant.conversation import Conversation
from assistant.hearing.ears import KeyboardEars
from assistant.hearing.operator import load_script
from assistant.job import events as e
from assistant.job.plan import make_plan
from assistant.joblog.store import MemoryLog, SqliteLog
from assistant.speaking.mouth import Mouth
from assistant.speaking.voice import TextVoice
from assistant.testing import shipped_profile

SCRIPT = paths.ROOT / "demo" / "job.yaml"

# Repairs by voice and the time they take differ from run to run; what is so does not.
REPAIRS = (e.SpeechHeard, e.AskedAgain, e.ValueRefused, e.WarningRepeated, e.ReminderGiven)


@pytest.fixture(scope="module")
def demo(tmp_path_factory):
    """The demo job run by the command, muted; its folder and what it printed."""
    folder = tmp_path_factory.mktemp("demo")
    job = folder / "canteen.job"
    run = subprocess.run(
        [sys.executable, "-m", "assistant.cli", "job", str(job), "--listen", str(SCRIPT),
         "--mute", str(folder / "speech.wav")], capture_output=True, text=True, timeout=600)
    assert run.returncode == 0, run.stderr + run.stdout[-2000:]
    report = subprocess.run([sys.executable, "-m", "assistant.cli", "report", str(job)],
                            capture_output=True, text=True, timeout=60)
    assert report.returncode == 0, report.stderr
    return folder, run.stdout


def essential(events):
    """Events without repairs and without times."""
    kept = []
    for event in events:
        if isinstance(event, REPAIRS):
            continue
        fields = {k: v for k, v in e.to_record(event)["fields"].items() if k != "at"}
        if fields.get("figure") == "noise dose":  # worked out from a time
            fields = {"figure": "noise dose"}
        kept.append((type(event).__name__, json.dumps(fields, sort_keys=True)))
    return kept


@pytest.fixture(scope="module")
def recorded(demo):
    """The events of the recorded demo."""
    log = SqliteLog(demo[0] / "canteen.job")
    events = [x.event for x in log.entries()]
    log.close()
    return events


@pytest.fixture(scope="module")
def typed():
    """The events of the same job by keyboard."""
    script = load_script(SCRIPT)
    log = MemoryLog()
    plan = make_plan(shipped_profile(script.profile))
    Conversation(plan, KeyboardEars(script.typed()), Mouth(TextVoice(), lambda _s: None), log
                 ).run(script.title)
    return [x.event for x in log.entries()]


def wanted_values():
    """Values the operator means, in the order they must be logged."""
    lines = load_script(SCRIPT).lines
    found = []
    for i, line in enumerate(lines):
        following = next((x.say for x in lines[i + 1:] if x.say), "")
        if line.value is not None and following.startswith("affirm"):
            found.append(line.value)
    return found


def test_no_wrong_value_is_logged(recorded):
    """Every value in the log is one the operator meant, all of them, in order."""
    logged = [x.value for x in recorded if isinstance(x, e.ValueConfirmed)]
    assert logged == wanted_values()


def test_the_scripted_happenings_are_there(recorded):
    """A mishearing corrected, a limit passed and warned, an item mended, an emergency."""
    dropped = [x for x in recorded if isinstance(x, e.ValueDropped) and x.why == "corrected"]
    assert any((x.quantity, x.value) == ("hose out", 50) for x in dropped)
    warned = [x.limit for x in recorded if isinstance(x, e.WarningRaised)]
    assert "inlet pressure high" in warned and "near the opening" in warned
    assert [x.item for x in recorded if isinstance(x, e.ItemDenied)] == ["pre-start/machine/wheels"]
    assert sum(isinstance(x, e.EmergencyCalled) for x in recorded) == 1
    assert isinstance(recorded[-1], e.JobFinished)


def test_the_same_job_by_keyboard_gives_the_same_events(recorded, typed):
    """Times and repairs by voice aside."""
    assert essential(recorded) == essential(typed)


def test_the_conversation_is_faster_than_real_time(demo, recorded):
    """The job's own clock ran longer than most demos would wait: minutes."""
    assert recorded[-1].at > 240


def test_the_record_holds_every_item_value_correction_and_warning(demo, recorded):
    """All of it is in the HTML and the CSV."""
    folder, _ = demo
    html = (folder / "canteen.html").read_text()
    plan = make_plan(shipped_profile())
    for event in recorded:
        if isinstance(event, e.ItemConfirmed):
            assert plan.item(event.item).challenge in html
        elif isinstance(event, e.ValueConfirmed):
            assert f"{event.value:g} {event.unit}".strip() in html
        elif isinstance(event, e.WarningRaised):
            assert event.limit in html
    assert "corrected" in html and "EMERGENCY called" in html and "Job finished" in html
    rows = list(csv.DictReader((folder / "canteen.csv").open()))
    assert [r["kind"] for r in rows] == [type(x).__name__ for x in recorded]


def test_what_is_spoken_is_printed_and_written_as_sound(demo):
    """The print has both sides, and the WAV is there."""
    folder, out = demo
    assert "Brake or chock the wheels." in out and "[confirm]" in out
    assert (folder / "speech.wav").stat().st_size > 1_000_000
    assert out.splitlines()[-1].startswith("Job file: ")


def test_audio_of_the_demo_is_small_and_its_origin_stated():
    """At most 3 MB, and a page that says where it is from."""
    folder = paths.ROOT / "demo"
    assert sum(f.stat().st_size for f in folder.glob("*.flac")) < 3_000_000
    text = (folder / "README.md").read_text()
    assert "Kokoro-82M" in text and "Apache-2.0" in text and "CC0" in text
