"""What is said: every template works, and sentences are short."""

import re

import pytest

from assistant.job import events as e
from assistant.meaning.numbers import parse_number
from assistant.speaking.numbers import about, read_back
from assistant.speaking.words import phrases
from assistant.testing import FINISH, PRE_START, SET_UP, START, rehearse

COLD = tuple("freezing" if x == "warm" else x for x in SET_UP)


@pytest.fixture(scope="module")
def whole_job():
    """A whole job with an emergency, a held reading and winterising."""
    return rehearse(COLD, PRE_START, START[:7], ("one one five", "one one five", "affirm",
                    "acknowledged"), START[7:], ("jet on", "hose out seventy six feet", "affirm",
                    "emergency", "stopped", "shock", "off", "called"), FINISH,
                    ("outside", "coupled", "showing", "kept", "drained"))


def test_a_whole_job_is_said_in_sentences(whole_job):
    """Every saying is a capitalised sentence without a hole, a figure or a double blank in it."""
    assert whole_job.state.over
    for saying in whole_job.said:
        assert re.fullmatch(r"[A-Z].*[.?]", saying.text), saying.text
        assert not re.search(r"\d|[{}]|\s\s|\.\.|\bNone\b", saying.text), saying.text


def test_prompts_are_short(whole_job):
    """Outside the emergency, figures and the greeting, a sentence takes 20 words or fewer."""
    told = [s.text for s in whole_job.said if s.priority != "high"]
    long = [t for t in told if len(t.split()) > 20 and not t.startswith(
        ("Fit the", "Do not touch", "Call for", "Nozzle in", "Even", "Supply about"))]
    assert long == []


def test_read_backs_carry_both_forms():
    """Each half of a read-back is the same number."""
    for n in (7, 15, 50, 120, 233, 1550):
        first, second = read_back(n, "").split(", ")
        assert parse_number(first) == parse_number(second) == n


def test_about_rounds_to_two_figures():
    """A figure that is known to 20 % is not spoken to four places."""
    assert about(1987.4, "psi") == "two thousand p s i"
    assert about(9.375, "gal/min") == "nine point four gallons per minute"


def test_every_template_belongs_to_an_event_or_a_prompt():
    """No dead phrases: each key names an event kind or starts with prompt."""
    for key in phrases():
        kind = key.split(".")[0]
        assert kind in e.KINDS or kind == "prompt", key
