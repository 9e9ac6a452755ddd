"""The watch while jetting: each warning on both sides, surprises asked again, and an hour of
random but lawful calls that keeps the promises."""

import random

import pytest

from assistant.job import events as e
from assistant.job.decide import HIGH_REPEAT, Tick
from assistant.job.workings import FASTEST, bypass_seconds
from assistant.testing import PRE_START, SET_UP, START, Rehearsal, rehearse


def jetting(*set_up) -> Rehearsal:
    """With the jet on and the drain seen running, so that only the tested warning can come."""
    job = rehearse(set_up or SET_UP, PRE_START, START, ("jet on", "draining"))
    return job


def call(job, *lines, after=60.0):
    """Calls with time between them, each affirmed where it is a value."""
    for line in lines:
        job.at += after
        job.say(line)
        if job.state.pending is not None:
            job.say("affirm")


def raised(job):
    """Names of all warnings raised so far."""
    return [x.limit for x in job.events if isinstance(x, e.WarningRaised)]


@pytest.mark.parametrize(("seconds", "left", "warned"), [
    (60, 14, False), (60, 9, True), (10, 14, True), (20, 14, True), (300, 12, False)])
def test_the_margin_at_the_opening_grows_with_the_pace_of_the_pull(seconds, left, warned):
    """Slowly, ten feet are enough; at two feet a second the warning comes earlier."""
    job = jetting()
    call(job, "hose out forty feet")
    call(job, f"hose in {40 - left} feet", after=seconds)
    assert ("near the opening" in raised(job)) is warned


def test_the_warning_at_the_opening_says_the_distance():
    """The true one, not the margin."""
    job = jetting()
    call(job, "hose out forty feet")
    call(job, "hose in thirty two feet", after=20)
    warning = next(x for x in job.events if isinstance(x, e.WarningRaised)
                   and x.limit == "near the opening")
    assert warning.value == 8


SURPRISES = [
    (("hose out two hundred fifty feet",), "more than the hose"),
    (("hose out forty feet", "hose in fifty feet"), "more than is out"),
    (("hose out twenty feet", "jet off", "hose out forty feet"), "further in with the jet off"),
]


@pytest.mark.parametrize(("calls", "why"), SURPRISES)
def test_surprising_positions_are_asked_again(calls, why):
    """Said digit by digit before it counts."""
    job = jetting()
    call(job, *calls[:-1])
    job.at += 60
    job.say(calls[-1])
    assert job.state.pending.doubt == why
    job.say("affirm")
    assert job.state.pending is not None  # an affirm alone does not do


def test_a_jump_beyond_the_pace_possible_is_asked_again():
    """Sixty feet in two seconds is not; in a minute it is."""
    job = jetting()
    call(job, "hose out ten feet")
    job.say("hose out seventy feet")
    assert job.state.pending.doubt == "a big jump"
    slow = jetting()
    call(slow, "hose out ten feet", "hose out seventy feet")
    assert slow.state.hose_out == 70


def test_marks_count_up():
    """Ten feet a mark, as the profile has it."""
    job = jetting()
    call(job, "mark", "mark", "mark")
    assert job.state.hose_out == 30


def test_pull_back_by_half_is_said_after_an_advance():
    """With the jet on, and not after a pull."""
    job = jetting()
    call(job, "hose out ten feet")
    assert any("Pull back five next." in s.text for s in job.said)
    count = len(job.said)
    call(job, "hose in five feet")
    assert not any("Pull back" in s.text for s in job.said[count:])


def test_strokes_pulls_and_time_under_pressure_are_kept():
    """What the record and the screen show."""
    job = jetting()
    call(job, "hose out ten feet", "hose in five feet", "hose out twenty feet", "hose in ten feet")
    assert (job.state.strokes, job.state.last_pull, job.state.deepest) == (2, 10, 20)
    began = job.state.jet_since
    job.at += 100
    job.say("jet off")
    assert job.state.jet_seconds == pytest.approx(job.at - began)


def tick(job, seconds, quiet=0.0):
    """Time passes."""
    job.at += seconds
    return job.give(Tick(quiet), after=0.0)


@pytest.mark.parametrize(("minutes", "warned"), [(4.9, False), (5.2, True)])
def test_no_pull_for_long(minutes, warned):
    """Five minutes without a pull, on both sides; a pull clears it."""
    job = jetting()
    tick(job, 60 * minutes)
    assert ("no pull for long" in raised(job)) is warned
    if warned:
        call(job, "hose out twenty feet", "hose in ten feet", after=10)
        tick(job, 1)
        assert "no pull for long" not in job.state.warnings


@pytest.mark.parametrize(("share", "warned"), [(0.9, False), (1.1, True)])
def test_too_long_in_bypass(share, warned):
    """With the jet off the water heats; the time is worked out."""
    job = jetting()
    job.say("jet off")
    tick(job, share * bypass_seconds(job.plan, job.state))
    assert ("bypass too long" in raised(job)) is warned
    job.say("jet on")
    assert "bypass too long" not in job.state.warnings


@pytest.mark.parametrize(("minutes", "expected"), [
    (14, []), (15.2, ["tank low"]), (20.2, ["tank low", "tank nearly empty"])])
def test_tank_runs_down_with_the_time_under_pressure(minutes, expected):
    """200 gallons at 8 a minute are 25 minutes: low at ten left, nearly empty at five."""
    tank = tuple("tank" if x == "tap" else x for x in SET_UP)
    before = (*PRE_START[:15], "connected", "two hundred gallons", "affirm", "fifty degrees",
              "affirm")
    job = rehearse(tank, before, START, ("jet on", "draining"))
    for _ in range(int(minutes)):
        tick(job, 60)
    tick(job, (minutes - int(minutes)) * 60)
    assert [x for x in raised(job) if x.startswith("tank")] == expected


def test_water_not_leaving_is_warned_and_asked_for():
    """Nobody has said: asked after a while. "Not draining" with the jet on: high."""
    job = rehearse(SET_UP, PRE_START, START, ("jet on",))
    assert any(isinstance(x, e.ReminderGiven) and x.what == "draining" for x in job.quiet(60))
    job.say("not draining")
    warning = [x for x in job.events if isinstance(x, e.WarningRaised)][-1]
    assert (warning.limit, warning.priority) == ("water not leaving", "high")
    job.say("draining")
    assert "water not leaving" not in job.state.warnings


@pytest.mark.parametrize(("feet", "warned"), [(74, False), (76, True)])
def test_end_of_the_line(feet, warned):
    """Within five feet of eighty."""
    job = jetting()
    call(job, f"hose out {feet} feet")
    assert ("line end" in raised(job)) is warned


def test_end_of_the_hose():
    """Within ten feet of the reel's end on a longer line."""
    long = tuple("one hundred ninety feet" if x == "eighty feet" else x for x in SET_UP)
    for feet, warned in ((189, False), (191, True)):
        job = jetting(*long)
        call(job, f"hose out {feet} feet", after=600)
        assert ("hose end" in raised(job)) is warned


def test_stuck_gives_the_next_remedy_in_order_and_starts_over_when_it_moves():
    """Loop and twist, snap, leader spring, smaller hose."""
    job = jetting()
    call(job, "hose out twenty feet", "stuck")
    assert "twist it to and fro" in job.last_words()
    for words in ("snap it forward", "leader spring", "smaller hose", "smaller hose"):
        job.say("stuck")
        assert words in job.last_words()
    call(job, "hose in ten feet", "stuck")
    assert "twist it to and fro" in job.last_words()


def test_noise_dose_is_watched_as_time_passes():
    """At 95 dBA half of a NIOSH day is gone after 24 minutes, all of it after 48."""
    loud = tuple("ninety five decibels" if x == "eighty decibels" else x for x in START[:12])
    job = rehearse(SET_UP, PRE_START, loud, ("nine five", "affirm", "twelve", "affirm", "jet on",
                                             "draining"))
    tick(job, 23 * 60)
    assert not any(x.startswith("noise dose") for x in raised(job))
    tick(job, 2 * 60)
    assert "noise dose half" in raised(job) and "noise dose full" not in raised(job)
    tick(job, 24 * 60)
    assert "noise dose full" in raised(job)


@pytest.mark.parametrize(("hours", "warned"), [(49, False), (50, True)])
def test_engine_oil_due(hours, warned, tmp_path):
    """By the hours the owner keeps, as jetting goes on."""
    from assistant.job.plan import make_plan
    from assistant.testing import shipped_profile

    path = tmp_path / "mine.yaml"
    path.write_text(shipped_profile().read_text().replace("since_oil: 12 h",
                                                          f"since_oil: {hours} h"))
    job = rehearse(SET_UP, PRE_START, START, ("jet on", "draining"), plan=make_plan(path))
    tick(job, 60)
    assert ("engine oil due" in raised(job)) is warned


@pytest.mark.parametrize("said", ["inlet pressure one zero nine", "inlet pressure nine",
                                  "carbon monoxide four zero", "carbon monoxide two five zero",
                                  "water temperature one four five"])
def test_readings_called_while_jetting_warn_too(said):
    """Past a limit: digits, affirm, warned."""
    job = jetting()
    call(job, said, said)
    assert raised(job)[-1] in ("inlet pressure high", "inlet pressure low", "water hot",
                               "carbon monoxide ventilate", "carbon monoxide leave")


@pytest.mark.parametrize("seed", range(6))
def test_an_hour_of_random_lawful_calls_keeps_the_promises(seed):
    """Never silent past a limit, never two high warnings in one breath, the opening warned before
    every exit with the jet on, no warning repeated beyond its rule."""
    rng = random.Random(seed)
    job = jetting()
    out, end = 0.0, job.at + 3600
    while job.at < end:
        step = rng.randrange(4, 15)
        inward = rng.random() < 0.55 and out + step <= 80
        out = out + step if inward else max(0.0, out - step)
        pace = rng.uniform(0.2, FASTEST)
        job.quiet(step / pace)
        if not job.state.jet_on:
            job.say("jet on")
        job.say(f"hose out {out:g} feet")
        if job.state.pending and job.state.pending.doubt:
            job.say(f"hose out {out:g} feet")
        job.say("affirm")
        if out == 0 and job.state.jet_on:
            job.say("jet off")
        if rng.random() < 0.5:
            job.say("acknowledged")
        assert job.state.hose_out == out
    check_opening(job)
    check_high_warnings(job)


def check_opening(job):
    """Each time a pull with the jet on came within ten feet, the warning was raised with that
    very call, unless it stood already."""
    jet, active = False, False
    for i, x in enumerate(job.events):
        if isinstance(x, e.JetTurnedOn | e.JetTurnedOff):
            jet = isinstance(x, e.JetTurnedOn)
        elif isinstance(x, e.WarningRaised | e.WarningCleared) and x.limit == "near the opening":
            active = isinstance(x, e.WarningRaised)
        elif isinstance(x, e.HoseMoved) and jet and x.pulled > 0 and x.out < 10:
            now = [y for y in job.events[i:i + 12] if y.at == x.at]
            assert active or any(isinstance(y, e.WarningRaised) and y.limit == "near the opening"
                                 for y in now), x


def check_high_warnings(job):
    """At most one repeat a moment, none within the pause of the last, none once acknowledged."""
    last, acknowledged, at_once = {}, set(), {}
    for x in job.events:
        if isinstance(x, e.WarningRaised):
            last[x.limit] = x.at
            acknowledged.discard(x.limit)
        elif isinstance(x, e.WarningAcknowledged):
            acknowledged.add(x.limit)
        elif isinstance(x, e.WarningRepeated):
            assert x.limit not in acknowledged
            assert x.at - last[x.limit] >= HIGH_REPEAT
            last[x.limit] = x.at
            at_once[x.at] = at_once.get(x.at, 0) + 1
    assert all(n == 1 for n in at_once.values())
