"""Which calculation follows which answer in a job, and what it then warns of."""

import pytest

from assistant.job import events as e
from assistant.job.plan import make_plan
from assistant.testing import PRE_START, SET_UP, START, Rehearsal, rehearse, shipped_profile

CART_TO_CORD = ("worn", "worn", "worn", "clear", "grounded", "present", "undamaged")
CART_LINE = ("two inches", "affirm", "forty feet", "affirm", "one", "affirm", "grease")


def figures(job, name):
    """The workings of a name, oldest first."""
    return [x for x in job.events if isinstance(x, e.FigureWorkedOut) and x.figure == name]


def test_cord_length_gives_its_drop_and_holds_when_too_long():
    """40 ft of 12 gauge at 14 A loses 1.9 %; 60 ft is over the trade's 50."""
    job = Rehearsal(make_plan(shipped_profile("electric-cart")))
    job.say(*CART_LINE, "tap", "warm", "lower", *CART_TO_CORD, "sixty feet", "six zero", "affirm")
    assert "extension cord long" in job.state.held.values()
    job.say("forty feet", "affirm")
    drop = figures(job, "electrics")[-1].results["percent"][0]
    assert drop == pytest.approx(2 * 40 * 1.98 * 14 / 1000 / 120 * 100, rel=0.01)


def test_a_tank_supply_gets_suction_head_and_time():
    """At 50 degF and sea level, with 8 ft asked for, there is enough."""
    tank = tuple("tank" if x == "tap" else x for x in SET_UP)
    job = rehearse(tank, PRE_START[:15], ("connected", "sixty gallons", "affirm",
                                           "fifty degrees", "affirm"))
    assert figures(job, "tank time")[0].results["time"][0] == pytest.approx(60 / 8)
    assert "tank low" in job.state.warnings
    assert 15 < figures(job, "suction")[0].results["npsh_available"][0] < 34


def test_pump_pressure_gives_nozzle_pressure_and_a_diagnosis():
    """Well below what the jets should need: worn jets, a leak or the bypass."""
    job = rehearse(SET_UP, PRE_START, START[:9], ("two thousand two hundred", "affirm"))
    assert figures(job, "nozzle pressure") and figures(job, "gauge")
    assert "gauge low" in job.state.warnings


def test_the_plan_of_strokes_is_said_after_set_up():
    """Minutes and gallons for the line."""
    job = rehearse(SET_UP)
    assert figures(job, "strokes")[0].results["advances"][0] == 31
    assert any("Five feet in" in s.text for s in job.said)


def test_noise_dose_comes_from_the_time_the_jet_was_on():
    """Two hours at 95 dBA is 1260 % of the NIOSH day; it is said and warned when jetting ends."""
    loud = tuple("ninety five decibels" if x == "eighty decibels" else x for x in START[:12])
    job = rehearse(SET_UP, PRE_START, loud, ("nine five", "affirm", "twelve", "affirm"))
    job.say("jet on")
    job.at += 7200
    job.say("jet off", "finish", "affirm")
    dose = figures(job, "noise dose")[0].results["niosh"][0]
    assert dose == pytest.approx(2 / (47.6 / 60) * 100, rel=0.01)
    assert "noise dose full" in job.state.warnings


def test_every_working_names_its_sources_and_is_spoken_as_about():
    """What is spoken of an uncertain figure says "about"; the record has notes and sources."""
    job = rehearse(SET_UP, PRE_START, START)
    for x in job.events:
        if isinstance(x, e.FigureWorkedOut) and x.results:
            assert x.sources, x.figure
            assert not x.said or "about" in x.said.lower(), x.said
