"""The terminal screen and the view behind both screens."""

import io

from assistant.meaning.vocabulary import vocabulary
from assistant.screen.glance import Glance, drawn, hose_bar
from assistant.screen.view import SHOWN, view
from assistant.testing import SET_UP, rehearse
from tests.screen.test_page import jetting


def test_the_view_holds_what_a_glance_needs():
    """Asked, heard, hose against the line, pressures, time, warnings."""
    job = jetting()
    v = view(job.plan, job.state, "hose out 76", "hose out 76 ft")
    assert v["asked"] == "Call the hose, or say finish."
    assert (v["hose_out"], v["deepest"], v["line"], v["hose"]) == (76, 76, 80, 200)
    assert v["jet"] == "on" and v["strokes"] == 1 and v["heard"] == "hose out 76"
    assert {"name": "pump pressure", "value": "2800 psi"} in v["readings"]
    assert v["warnings"][0]["priority"] == "high"
    assert v["water"].endswith("gal") and v["under_pressure"].startswith("0:0")


def test_unacknowledged_high_warnings_come_first():
    """Then the others, then the acknowledged."""
    job = jetting()
    v = view(job.plan, job.state)
    ranks = [(w["acknowledged"], w["priority"]) for w in v["warnings"]]
    order = {"high": 0, "medium": 1, "low": 2}
    assert ranks == sorted(ranks, key=lambda r: (r[0], order[r[1]]))


def test_the_drawing_carries_meaning_in_words():
    """WARNING, EMERGENCY and the jet's state are words, not colours."""
    job = jetting()
    text = drawn(view(job.plan, job.state), 100)
    assert "WARNING: near the end of the line" in text and "Jet ON" in text
    assert "\x1b[3" not in text  # no colour at all
    job.say("emergency")
    assert "EMERGENCY" in drawn(view(job.plan, job.state), 100)


def test_the_bar_keeps_its_width():
    """Whatever the numbers."""
    for out, deep, line in ((0, 0, None), (0, 0, 80), (90, 95, 80), (40, 76, 80)):
        assert len(hose_bar(out, deep, line, 40)) == 40


def test_it_draws_at_each_change_on_one_screen():
    """Each view clears the one before."""
    out = io.StringIO()
    glance = Glance(out, width=80)
    job = rehearse(SET_UP[:1])
    glance.show(view(job.plan, job.state, "four inches", "line diameter 4 in"))
    assert "Line diameter, four, four inches?" in out.getvalue()
    assert out.getvalue().startswith("\x1b[2J")


def test_shown_readings_are_quantities():
    """No misspelt name."""
    assert set(SHOWN) <= set(vocabulary().quantities)
