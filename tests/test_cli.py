"""The command: contracts and one-sentence errors, run as a user runs it."""

import json
import os
import stat
import subprocess
import sys

import numpy as np
import pytest

from assistant import paths
from assistant.hearing.operator import load_script
from assistant.hearing.recogniser import RATE
from tests.hearing.test_microphone import write_wav


def hoseside(*arguments, stdin="", env=None):
    """Run the command; never a traceback."""
    run = subprocess.run([sys.executable, "-m", "assistant.cli", *map(str, arguments)],
                         input=stdin, capture_output=True, text=True, timeout=300,
                         env={**os.environ, **(env or {})})
    assert "Traceback" not in run.stderr, run.stderr
    return run


@pytest.fixture(scope="module")
def clips(tmp_path_factory):
    """Some lines of the demo's operator as WAV files."""
    folder = tmp_path_factory.mktemp("clips")
    quiet = np.zeros(RATE // 2, dtype=np.int16)
    found = {}
    for line in load_script(paths.ROOT / "demo" / "job.yaml").lines:
        if line.say and line.say not in found:
            found[line.say] = folder / f"{line.say}.wav"
            write_wav(found[line.say], np.concatenate([quiet, line.pcm, quiet]))
    return found


def test_hear_prints_the_contract_as_json(clips):
    """One JSON line a file with file, heard, meaning, quantity, value, unit, score, seconds."""
    files = [clips["hose out thirty feet"], clips["hose in fifteen feet"]]
    run = hoseside("hear", "--expect", "reading", "--json", *files)
    assert run.returncode == 0
    lines = [json.loads(x) for x in run.stdout.splitlines()]
    assert [x["file"] for x in lines] == [str(f) for f in files]
    keys = {"file", "heard", "meaning", "quantity", "value", "unit", "score", "seconds"}
    assert all(keys <= set(x) for x in lines)
    assert [(x["meaning"], x["quantity"], x["value"], x["unit"]) for x in lines] == [
        ("reading", "hose out", 30, "ft"), ("reading", "hose in", 15, "ft")]
    assert all(0 < x["score"] <= 1 and x["seconds"] > 0 for x in lines)


def test_hear_answers_and_numbers(clips):
    """The other two kinds; what is not one is "none" with no value."""
    run = hoseside("hear", "--expect", "answer", "--json", clips["affirmative"],
                   clips["negative"], clips["hose out thirty feet"])
    assert [json.loads(x)["meaning"] for x in run.stdout.splitlines()] == [
        "confirm", "deny", "none"]
    run = hoseside("hear", "--expect", "number", "--json", clips["one one five"])
    found = json.loads(run.stdout)
    assert (found["meaning"], found["value"]) == ("number", 115)
    run = hoseside("hear", "--expect", "number", "--quantity", "water temperature", "--json",
                   clips["fifty degrees"])
    found = json.loads(run.stdout)
    assert (found["quantity"], found["value"], found["unit"]) == ("water temperature", 50, "degF")
    assert found["alternatives"][0]["probability"] > 0.5


def test_hear_names_a_bad_file_and_goes_on(clips, tmp_path):
    """One sentence for the bad one, a line for the good one, non-zero exit."""
    bad = tmp_path / "bad.flac"
    bad.write_bytes(b"not sound")
    run = hoseside("hear", "--expect", "answer", "--json", bad, clips["affirmative"])
    assert run.returncode == 1 and str(bad) in run.stderr
    assert json.loads(run.stdout)["meaning"] == "confirm"


@pytest.mark.parametrize(("arguments", "message"), [
    (("hear", "nowhere.wav"), "nowhere.wav: there is no such sound file"),
    (("hear", "--quantity", "joy", "x.wav"), "There is no quantity 'joy'"),
    (("hear", "--engine", "ears", "x.wav"), "There is no engine 'ears'"),
    (("hear", "--engine", "vosk", "x.wav"), "models/README.md"),
    (("hear", "--model", "/nowhere", "x.wav"), "/nowhere: lacks model.bin"),
    (("report", "nowhere.job"), "nowhere.job: there is no such job file"),
    (("figure", "flux"), "There is no figure 'flux'"),
    (("figure", "hose-loss", "bore=1/4 in"), "the input 'length' is missing"),
    (("figure", "hose-loss", "bore=1/4 in", "length=200 psi", "flow=4 gpm"),
     "length was 200.0 psi, not something measured in ft"),
    (("figure", "hose-loss", "bore=9 in", "length=200 ft", "flow=4 gpm"),
     "bore was 9 in; it must be from 0.05 to 4 in"),
    (("figure", "hose-loss", "bore=1/4 furlongs", "length=2 ft", "flow=4 gpm"), "bore"),
    (("figure", "hose-loss", "wide"), "write key=value"),
    (("figure", "hose-loss", "girth=1 in"), "there is no input 'girth'"),
    (("job", "/nowhere/x.job", "--listen", "keyboard", "--mute"), "/nowhere/x.job"),
    (("job", "x.job", "--profile", "nowhere.yaml", "--listen", "keyboard", "--mute"),
     "nowhere.yaml: there is no such file"),
    (("job", "--resume", "nowhere.job", "--listen", "keyboard", "--mute"),
     "nowhere.job: there is no such job file"),
])
def test_bad_input_is_one_sentence(arguments, message, tmp_path, monkeypatch):
    """File, place and mend; exit 1; nothing else on the error stream."""
    monkeypatch.chdir(tmp_path)
    run = hoseside(*arguments)
    assert run.returncode == 1
    lines = run.stderr.strip().splitlines()
    assert len(lines) == 1 and lines[0].startswith("hoseside: ") and message in lines[0], lines


def test_a_job_is_resumed_by_the_command(tmp_path):
    """Typed in two runs; the second says where it stands and the report has both."""
    job = tmp_path / "two.job"
    first = hoseside("job", job, "--listen", "keyboard", "--mute", "--title", "Two runs",
                     stdin="four inches\naffirm\n")
    assert first.returncode == 3 and "--resume" in first.stdout
    second = hoseside("job", job, "--resume", "--listen", "keyboard", "--mute",
                      stdin="eighty feet\naffirm\n")
    assert "Job resumed." in second.stdout and "Line length?" in second.stdout
    assert hoseside("report", job).returncode == 0
    html = (tmp_path / "two.html").read_text()
    assert "4 in" in html and "80 ft" in html and "NOT finished" in html


def test_a_read_only_folder_is_one_sentence(tmp_path):
    """No traceback where nothing can be written."""
    if os.geteuid() == 0:
        target = "/proc/hoseside.job"
    else:
        tmp_path.chmod(stat.S_IRUSR | stat.S_IXUSR)
        target = tmp_path / "x.job"
    run = hoseside("job", target, "--listen", "keyboard", "--mute")
    assert run.returncode == 1 and len(run.stderr.strip().splitlines()) == 1


def test_figure_prints_the_contract_as_json():
    """Name, results with value and unit, notes, sources."""
    run = hoseside("figure", "hose-loss", "bore=1/4 in", "length=200 ft", "flow=4 gpm", "--json")
    found = json.loads(run.stdout)
    assert found["name"] == "hose-loss"
    assert found["results"]["pressure_loss"]["unit"] == "psi"
    assert abs(found["results"]["pressure_loss"]["value"] / 956.6 - 1) < 0.01
    assert found["notes"] and found["sources"]


def test_models_says_what_is_here():
    """The default weights, hashed."""
    run = hoseside("models")
    assert "whisper-tiny.en: here, hashes right." in run.stdout


def test_weights_with_another_hash_are_refused(tmp_path):
    """A changed file is an error, not a guess."""
    root = tmp_path / "root"
    (root / "models" / "whisper-tiny.en").mkdir(parents=True)
    (root / "models" / "models.yaml").write_text(
        (paths.MODELS / "models.yaml").read_text())
    for name in ("config.json", "tokenizer.json", "vocabulary.txt"):
        (root / "models" / "whisper-tiny.en" / name).write_bytes(
            (paths.MODELS / "whisper-tiny.en" / name).read_bytes())
    (root / "models" / "whisper-tiny.en" / "model.bin").write_bytes(b"other weights")
    run = hoseside("hear", "x.wav", env={"HOSESIDE_ROOT": str(root)})
    assert run.returncode == 1 and "another SHA-256" in run.stderr
    assert "models --fetch" in run.stderr
