"""What the README and DEVELOPERS.md claim is true of the code."""

import re
import shlex
import subprocess
import sys

import pytest

from assistant import paths
from assistant.cli import _parser
from assistant.meaning.vocabulary import vocabulary

README = (paths.ROOT / "README.md").read_text()
DEVELOPERS = (paths.ROOT / "DEVELOPERS.md").read_text()
MAKEFILE = (paths.ROOT / "Makefile").read_text()


def commands():
    """Every hoseside command line of the README."""
    return [line.strip().removeprefix(".venv/bin/").split("  #")[0].strip()
            for line in README.splitlines() if re.match(r"    (\.venv/bin/)?hoseside ", line)]


@pytest.mark.parametrize("line", commands())
def test_every_command_of_the_readme_parses(line):
    """No verb or option that does not exist."""
    words = [w for w in shlex.split(line)[1:] if w not in ("[JOB]", "FILE...")]
    if line.startswith("hoseside hear"):
        words.append("file.wav")
    _parser().parse_args(words)


@pytest.mark.parametrize("line", [c for c in commands() if " figure " in c])
def test_figures_of_the_readme_run(line):
    """They print a result."""
    run = subprocess.run([sys.executable, "-m", "assistant.cli", *shlex.split(line)[1:]],
                         capture_output=True, text=True, timeout=60)
    assert run.returncode == 0 and run.stdout, run.stderr


def test_make_targets_of_the_readme_exist():
    """demo, test and bench."""
    for target in set(re.findall(r"make (\w+)", README)) - {"and"}:
        assert re.search(rf"^{target}:", MAKEFILE, re.M), target


def test_every_quoted_word_may_be_said():
    """Procedure words that the README teaches are in the vocabulary."""
    known = {" ".join(w) for w in vocabulary().requests}
    table = [line for line in README.splitlines() if line.startswith('| "')]
    quoted = {w for line in table for w in re.findall(r'"([a-z ]+)"', line.split("|")[1])}
    for phrase in quoted:
        plain = phrase.startswith(("hose ", "inlet ", "eighty", "one two", "four point"))
        assert phrase in known or plain or phrase.startswith("correction"), phrase


def test_verbs_are_those_of_the_command():
    """Every verb is shown in the README."""
    verbs = _parser()._subparsers._group_actions[0].choices
    for verb in verbs:
        assert f"hoseside {verb}" in README, verb


def test_no_file_named_in_the_documents_is_missing():
    """Paths in backticks exist, but for what is made by running."""
    made = ("demo/out", ".venv", "models/<", "../shared")
    for text in (README, DEVELOPERS):
        for path in re.findall(r"`((?:assistant|checklists|models|tests|demo|\.ci)/[\w./<>-]*)`",
                               text):
            if not path.startswith(made):
                assert (paths.ROOT / path).exists(), path


def test_layout_at_the_top():
    """Nothing beside what belongs there."""
    tracked = subprocess.run(["git", "ls-files"], cwd=paths.ROOT, capture_output=True, text=True)
    tops = {line.split("/")[0] for line in tracked.stdout.splitlines()}
    allowed = {"README.md", "DEVELOPERS.md", "pyproject.toml", "Makefile", "LICENSE", "assistant",
               "checklists", "models", "tests", "demo"}
    assert {t for t in tops if not t.startswith(".")} <= allowed
