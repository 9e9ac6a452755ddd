"""The conversation, one behaviour a test, by typed lines through the real meaning stage."""

import pytest

from assistant.job import events as e
from assistant.job.decide import Begin, Trouble, decide
from assistant.job.state import fold
from assistant.testing import FINISH, PRE_START, SET_UP, START, Rehearsal, rehearse


def at_boots() -> Rehearsal:
    """At the third item of the pre-start list, a hazard."""
    return rehearse(SET_UP, PRE_START[:2])


def at_bucket() -> Rehearsal:
    """At the bucket test, a reading."""
    return rehearse(SET_UP, PRE_START[:18])


def test_items_are_asked_one_at_a_time():
    """After an answer the next challenge is spoken and nothing beyond it."""
    job = at_boots()
    asked = [x for x in job.say("worn") if isinstance(x, e.ItemAsked)]
    assert [x.item for x in asked] == ["pre-start/protection/hearing"]
    assert job.last_words() == "Hearing protection?"


def test_silence_never_ticks():
    """Ten minutes of silence leave the item open and log no answer."""
    job = at_boots()
    before = dict(job.state.answered)
    job.quiet(600)
    assert job.state.answered == before
    assert job.state.standing_by == "silence"


def test_silence_is_asked_once_then_stands_by():
    """The question is put again once; after that the list waits to be told."""
    job = at_boots()
    kinds = [type(x).__name__ for x in job.quiet(100)]
    assert kinds[:2] == ["AskedAgain", "StoodBy"]


def test_a_hazard_answered_no_holds_until_mended():
    """The remedy is spoken and the section stays; "worn" then mends it."""
    job = at_boots()
    job.say("negative")
    assert "Put on rubber boots." in job.last_words()
    assert job.state.place.item == "pre-start/protection/boots"
    job.say("worn")
    assert job.state.answered["pre-start/protection/boots"].outcome == "confirmed"


@pytest.mark.parametrize("said", [
    "affirm", "yes", "skip this one", "not fitted", "go ahead", "finish", "disregard", "checked",
    "read back", "clear", "acknowledged", "okay", "eighty feet", "open"])
def test_no_voice_override_of_a_hazard(said):
    """Nothing but its own state word closes a hazard item, denied or not."""
    job = at_boots()
    job.say("negative", said)
    assert "pre-start/protection/boots" not in job.state.answered


def test_not_fitted_is_logged_and_goes_on():
    """An item that this machine lacks is logged as such."""
    job = rehearse(SET_UP, PRE_START[:8])
    job.say("not fitted")
    assert job.state.answered["pre-start/engine/engine-oil"].outcome == "not fitted"


def test_skipped_items_are_spoken_before_the_section_closes():
    """ "left open: pump oil" is part of the completion."""
    job = rehearse(SET_UP, PRE_START[:11])
    job.say("skip this one", "full", "clean", "loosened")
    assert any("left open: pump oil" in s.text for s in job.said)
    closed = [x for x in job.events if isinstance(x, e.SectionClosed) and x.section == "machine"]
    assert closed[0].parked == ("pre-start/machine/pump-oil",)


def test_say_again_repeats_the_open_question():
    """The same challenge, with what may be answered."""
    job = at_boots()
    job.say("say again")
    assert job.last_words() == "Rubber boots? Say worn or negative."


def test_stand_by_and_go_ahead():
    """While standing by nothing counts; go ahead names place, last done, and asks again."""
    job = at_boots()
    job.say("stand by", "worn")
    assert "pre-start/protection/boots" not in job.state.answered
    job.say("go ahead")
    assert job.last_words().startswith("Protection. Last done: Rubber gloves. Rubber boots?")


def test_every_value_is_read_back_in_both_forms_and_not_logged_before():
    """ "three two, thirty two seconds"; logged only by affirm."""
    job = at_bucket()
    job.say("thirty two seconds")
    assert job.last_words() == "Bucket time, three two, thirty two seconds?"
    assert "bucket time" not in job.state.logged
    job.say("affirm")
    assert job.state.logged["bucket time"].value == 32


def test_no_answer_to_a_read_back_parks_it_unlogged():
    """Asked once more, then let go and said so."""
    job = at_bucket()
    job.say("thirty two seconds")
    job.quiet(40)
    assert "bucket time" not in job.state.logged
    assert job.state.answered["pre-start/supply/bucket-time"].outcome == "parked"
    assert any("not logged" in s.text for s in job.said)


def test_negative_to_a_read_back_asks_again():
    """A denied value goes and the question comes back."""
    job = at_bucket()
    job.say("fifteen seconds", "negative")
    assert job.state.pending is None
    assert job.state.place.item == "pre-start/supply/bucket-time"
    job.say("fifty seconds", "affirm")
    assert job.state.logged["bucket time"].value == 50


def test_correction_replaces_and_is_read_back():
    """The corrected value is pending, not logged, until affirmed."""
    job = at_bucket()
    job.say("fifteen seconds", "correction fifty seconds")
    assert job.last_words() == "Bucket time, five zero, fifty seconds?"
    assert not job.state.logged.get("bucket time")
    job.say("affirm")
    assert job.state.logged["bucket time"].value == 50


def test_disregard_drops_the_value_and_logs_nothing():
    """The item stays open."""
    job = at_bucket()
    job.say("fifteen seconds", "disregard")
    assert job.state.pending is None and "bucket time" not in job.state.logged
    assert job.state.place.item == "pre-start/supply/bucket-time"


def test_three_refusals_say_again_then_digits_then_park():
    """The ladder of design.md."""
    job = at_bucket()
    job.say("blah")
    assert job.last_words().startswith("Say again.")
    job.say("blah")
    assert job.last_words() == "Bucket time, digit by digit."
    job.say("blah")
    assert job.state.answered["pre-start/supply/bucket-time"].outcome == "parked"
    assert any(s.text.startswith("I can't make it out. Left open") for s in job.said)


def test_three_refusals_on_a_hazard_stand_by_instead():
    """A hazard item is never parked for want of hearing."""
    job = at_boots()
    job.say("blah", "blah", "blah")
    assert job.state.standing_by == "not understood"
    assert "pre-start/protection/boots" not in job.state.answered


def test_a_value_past_a_limit_is_asked_digit_by_digit_first():
    """An affirm alone does not log it; the same value again and an affirm do."""
    job = rehearse(SET_UP, PRE_START, START[:7])
    job.say("one fifteen", "affirm")
    assert "inlet pressure" not in job.state.logged
    job.say("one one five", "affirm")
    assert job.state.logged["inlet pressure"].value == 115


def test_a_held_reading_stays_open_until_within_its_limit():
    """Too much inlet pressure holds the item; skip is refused; a good reading frees it."""
    job = rehearse(SET_UP, PRE_START, START[:7])
    job.say("one one five", "one one five", "affirm")
    warned = [x for x in job.events if isinstance(x, e.WarningRaised)]
    assert warned[-1].limit == "inlet pressure high" and warned[-1].priority == "high"
    assert job.state.place.item == "start/run/inlet-pressure"
    assert isinstance(job.say("skip this one")[-1], e.SkipRefused)
    job.say("sixty p s i", "affirm")
    assert job.state.answered["start/run/inlet-pressure"].outcome == "confirmed"
    assert "inlet pressure high" not in job.state.warnings


def test_a_value_far_from_the_last_is_asked_again():
    """More than a quarter away, for a steady quantity."""
    job = rehearse(SET_UP, PRE_START, START)
    job.say("inlet pressure eighty p s i")
    assert "far from the last" in job.last_words()


def test_out_of_range_and_wrong_unit_are_said():
    """The operator hears what was wrong."""
    job = at_bucket()
    job.say("two seconds")
    assert "can't be right" in job.last_words(2)
    job.say("ten feet")
    assert "Wrong unit, feet." in job.last_words(2)


def test_bucket_test_feeds_the_supply_check():
    """5 gal in 60 s is 5 gpm, less than the 8 gpm pump: warned, held."""
    job = at_bucket()
    job.say("sixty seconds", "affirm")
    figure = next(x for x in job.events if isinstance(x, e.FigureWorkedOut)
                  and x.figure == "supply flow")
    assert figure.results["flow"][0] == pytest.approx(5.0)
    assert "supply too small" in job.state.warnings
    assert job.state.place.item == "pre-start/supply/bucket-time"


def test_set_up_names_hose_and_nozzle():
    """After the line is known, what to fit is said."""
    job = rehearse(SET_UP)
    said = " ".join(s.text for s in job.said)
    assert "Fit the three eighths hose" in said and "at the nozzle" in said


def test_high_warning_repeats_until_acknowledged():
    """Every six seconds of silence, then no more once acknowledged."""
    job = rehearse(SET_UP, PRE_START, START[:7])
    job.say("one one five", "one one five", "affirm")
    repeats = [x for x in job.quiet(20) if isinstance(x, e.WarningRepeated)]
    assert 2 <= len(repeats) <= 3
    job.say("acknowledged")
    assert not [x for x in job.quiet(30) if isinstance(x, e.WarningRepeated)]


def test_medium_warning_is_spoken_twice():
    """And then not again."""
    job = at_bucket()
    job.say("thirty two seconds", "affirm")  # 9.4 gpm for 8: under the margin of 1.25
    repeats = [x for x in job.quiet(300) if isinstance(x, e.WarningRepeated)]
    assert len(repeats) == 1


def jetting() -> Rehearsal:
    """Ready for the jet."""
    return rehearse(SET_UP, PRE_START, START)


def test_hose_position_follows_the_calls():
    """Out is the total, in is by how much."""
    job = jetting()
    job.say("jet on", "hose out forty feet", "affirm", "hose in fifteen feet", "affirm")
    assert (job.state.hose_out, job.state.deepest) == (25, 40)


def test_jet_off_is_called_before_the_nozzle_leaves_the_pipe():
    """Pulled back to within ten feet of the opening with the jet on: a high warning."""
    job = jetting()
    job.say("jet on", "hose out forty feet", "affirm")
    job.at += 240
    job.say("hose in twenty nine feet", "affirm")
    assert "near the opening" not in job.state.warnings
    job.at += 60
    job.say("hose in two feet", "affirm")
    raised = [x for x in job.events if isinstance(x, e.WarningRaised)][-1]
    assert (raised.limit, raised.priority) == ("near the opening", "high")
    assert "jet off before the nozzle leaves the pipe" in job.last_words(3).lower()
    job.say("jet off")
    assert "near the opening" not in job.state.warnings


def test_going_in_past_the_opening_is_no_reason_to_warn():
    """Ten feet out on the way in is not a nozzle about to leave."""
    job = jetting()
    job.say("jet on", "hose out five feet", "affirm")
    assert "near the opening" not in job.state.warnings


def test_end_of_the_line_is_warned():
    """Within five feet of the line's end."""
    job = jetting()
    job.say("jet on", "hose out seventy six feet", "affirm")
    assert "line end" in job.state.warnings


def test_side_talk_while_jetting_is_nobodys_business():
    """No answer and no refusal to what was not meant for the tool."""
    job = jetting()
    job.say("jet on")
    assert [type(x).__name__ for x in job.say("did you move the truck yet")] == ["SpeechHeard"]


def test_finish_is_asked_back_and_refused_with_the_jet_on():
    """ "finish" alone ends nothing."""
    job = jetting()
    job.say("jet on", "finish")
    assert job.last_words() == "The jet is on. Say jet off first."
    job.say("jet off", "finish")
    assert job.state.jetting
    job.say("negative")
    assert job.state.jetting and not job.state.finishing
    job.say("finish", "affirm")
    assert not job.state.jetting


def test_whole_job_reaches_its_end_and_winterises_only_in_frost():
    """Warm weather passes winterising over; frost asks it."""
    job = rehearse(SET_UP, PRE_START, START, FINISH)
    assert job.state.over and "winterise" in job.state.closed
    cold = tuple("freezing" if x == "warm" else x for x in SET_UP)
    frost = rehearse(cold, PRE_START, START, FINISH)
    assert frost.state.place.list == "winterise"
    frost.say("inside")
    assert frost.state.over


@pytest.mark.parametrize("parts", [
    (SET_UP[:1],), (SET_UP,), (SET_UP, PRE_START[:5]), (SET_UP, PRE_START[:19]),
    (SET_UP, PRE_START, START), (SET_UP, PRE_START, START, ("jet on",))])
def test_emergency_at_any_moment(parts):
    """At once the shut-off words, then the first step; a pending value is let go unlogged."""
    job = rehearse(*parts)
    logged = dict(job.state.logged)
    new = job.say("emergency")
    assert isinstance(new[1], e.EmergencyCalled)
    said = next(s for s in job.said if s.text.startswith("Emergency."))
    assert said.priority == "high" and "Stop the engine" in said.text
    assert job.state.place.item == "emergency/what/machine-off"
    assert not job.state.jet_on
    assert job.state.logged == logged


def test_emergency_steps_then_back_to_where_the_job_stood():
    """Injection: steps one at a time, each confirmed, then the interrupted item again."""
    job = at_bucket()
    job.say("emergency", "stopped", "injection")
    assert "surgical emergency" in job.last_words()
    job.say("called", "told", "done", "understood")
    assert not job.state.emergency
    assert job.state.place.item == "pre-start/supply/bucket-time"


def test_emergency_words_suit_the_machine():
    """An electric unit is told about the plug and the circuit."""
    from assistant.job.plan import make_plan
    from assistant.testing import shipped_profile

    job = Rehearsal(make_plan(shipped_profile("electric-cart")))
    job.say("emergency")
    assert any("circuit" in s.text for s in job.said)


def test_lost_microphone_pauses_and_is_announced():
    """The list stands by until told to go ahead."""
    job = at_boots()
    job.give(Trouble("microphone lost"))
    assert job.state.standing_by == "microphone lost"
    assert any("Microphone lost" in s.text and s.priority == "high" for s in job.said)
    job.give(Trouble("microphone lost", mended=True))
    job.say("worn")
    assert "pre-start/protection/boots" not in job.state.answered
    job.say("go ahead", "worn")
    assert "pre-start/protection/boots" in job.state.answered


def test_replay_equals_live():
    """Folding the events again gives the same state."""
    job = rehearse(SET_UP, PRE_START, START, ("jet on", "hose out forty feet", "affirm"))
    assert fold(job.events) == job.state


def test_resume_says_where_it_stands():
    """Place, last confirmed item, and the open question."""
    job = at_boots()
    again = Rehearsal(job.plan, begin=False)
    again.state = fold(job.events)
    again.give(Begin())
    assert again.said[0].text == ("Job resumed. Protection. Last done: Rubber gloves. "
                                  "Rubber boots? Say worn or negative.")


def test_decide_changes_nothing():
    """The state given is the state after, and the same input gives the same events."""
    job = at_boots()
    before = fold(job.events)
    first = decide(job.plan, job.state, Begin(), 99.0)
    assert job.state == before
    assert decide(job.plan, job.state, Begin(), 99.0) == first


def test_help_says_what_may_be_said():
    """In the words of the item and the procedure."""
    job = at_boots()
    job.say("help")
    assert "worn" in job.last_words() and "say again" in job.last_words()


def test_say_again_repeats_a_first_aid_step_whole():
    """Not only its question."""
    job = at_bucket()
    job.say("emergency", "stopped", "injection", "say again")
    assert "Even a small painless hole is a surgical emergency" in job.last_words()


def test_emergency_before_any_list_is_open():
    """With no job begun and no checklist open the shut-off words come at once."""
    job = Rehearsal(begin=False)
    job.say("emergency")
    assert job.said[0].text.startswith("Emergency. Jet off. Stop the engine.")
    assert job.said[0].priority == "high"


def test_emergency_says_the_profiles_number(tmp_path):
    """The local one, digit by digit."""
    from assistant.job.plan import make_plan
    from assistant.testing import shipped_profile

    path = tmp_path / "mine.yaml"
    path.write_text(shipped_profile().read_text().replace('"911"', '"112"'))
    job = Rehearsal(make_plan(path))
    job.say("emergency")
    assert any("Call one one two." in s.text for s in job.said)


@pytest.mark.parametrize(("what", "answers", "words"), [
    ("injection", ("called", "told", "done", "understood"), "not a cut"),
    ("shock", ("off", "called"), "Do not touch the person"),
    ("burn", ("cooling", "called"), "clean running water"),
    ("gas", ("outside", "called"), "fresh air"),
    ("sewage", ("rinsing", "told"), "Rinse the eyes"),
    ("machine", ("clear",), "Keep everyone clear")])
def test_every_kind_of_emergency_has_its_steps_and_ends(what, answers, words):
    """One at a time, each confirmed, each timed in the log."""
    job = jetting()
    job.say("jet on", "emergency", "stopped", what, *answers)
    assert not job.state.emergency and job.state.jetting and not job.state.jet_on
    assert any(words in s.text for s in job.said)
    done = [x for x in job.events if isinstance(x, e.ItemConfirmed)
            and x.item.startswith(f"emergency/{what}")]
    assert len(done) == len(answers) and done[0].at > 0
