"""decide: what an utterance, a moment of silence or a fault leads to. Pure; returns events."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from assistant.calc.constants import constant
from assistant.checklist import Item, applies
from assistant.job import events as e
from assistant.job.plan import ORDER, Plan
from assistant.job.state import State, apply
from assistant.job.workings import (
    FASTEST,
    position_watch,
    pull_margin,
    time_watch,
    work_out,
)
from assistant.limits import Limit, limits, passed
from assistant.meaning.results import (
    CALLS,
    MaySay,
    Meaning,
    Misheard,
    Number,
    OutOfRange,
    Reading,
    Request,
    StateSaid,
    Understood,
    WrongUnit,
)
from assistant.meaning.vocabulary import vocabulary
from assistant.units import Quantity, convert, quantity, unit

MOST_MISSES = 3
"""Refusals on one value before it is parked: say again, then digits, then park."""
FAR = 0.25
"""A steady reading this far from its last value is asked for again."""
STEADY = ("inlet pressure", "supply pressure", "pump pressure", "water temperature", "cord length")

ASK_AGAIN_AFTER = 20.0
VALUE_ASK_AGAIN_AFTER = 12.0
STAND_BY_AFTER = 60.0
"""Seconds of silence after which an open question is put again, and the list stands by."""
HIGH_REPEAT, MEDIUM_REPEAT = 6.0, 8.0
HIGH_OFTEN, HIGH_SELDOM = 5, 30.0
"""Seconds of silence before a warning is said again; a high one that nobody answers is said
HIGH_OFTEN times so and then more seldom."""
DRAIN_AFTER = 45.0
"""Seconds of silence after which it is asked whether water leaves, while nobody has said."""
POSITION_AFTER = 120.0
"""Seconds of silence with the jet on after which the hose position is asked for."""

SLACK = constant("hose call slack").value

ALWAYS = frozenset({"say_again", "help", "stand_by"})


@dataclass(frozen=True)
class Tick:
    """Time has passed with nothing heard. `quiet` is the silence since anyone last spoke [s]."""

    quiet: float


@dataclass(frozen=True)
class Trouble:
    """A device fault: what, and whether it is mended."""

    what: str
    mended: bool = False


@dataclass(frozen=True)
class Begin:
    """The tool was started: a new job with a title, or a resumed one."""

    title: str = ""


Input = Understood | Tick | Trouble | Begin


def may_say(plan: Plan, state: State) -> MaySay:
    """What may be said now; hearing is hinted with it and meaning held to it."""
    celsius = plan.equipment.celsius
    if state.over or not state.started:
        return MaySay(celsius=celsius)
    requests = set(ALWAYS)
    if state.last_value is not None:
        requests.add("read_back")
    if any(not w.acknowledged for w in state.warnings.values()):
        requests.add("acknowledge")
    if state.standing_by is not None:
        return MaySay(frozenset((requests | {"go_ahead"}) - {"stand_by"}), celsius=celsius)
    if state.pending is not None:
        requests |= {"confirm", "deny", "correction", "disregard"}
        return MaySay(frozenset(requests), quantity=state.pending.quantity, celsius=celsius)
    if state.finishing:
        return MaySay(frozenset(requests | {"confirm", "deny"}), celsius=celsius)
    if state.place.item is not None:
        return _may_say_item(plan, state, requests, celsius)
    if state.jetting:
        requests |= CALLS
        return MaySay(frozenset(requests), readings=frozenset(JETTING_READINGS), celsius=celsius)
    return MaySay(frozenset(requests), celsius=celsius)


JETTING_READINGS = ("hose out", "hose in", "stoppage at", "inlet pressure", "pump pressure",
                    "water temperature", "carbon monoxide", "sound level", "tank level")


def _may_say_item(plan: Plan, state: State, requests: set[str], celsius: bool) -> MaySay:
    assert state.place.item is not None
    item = plan.item(state.place.item)
    if not item.hazard:
        requests.add("skip")  # for a held reading too: it is then refused aloud
    if item.quantity is None:
        if item.fact is None:
            requests |= {"deny"}
            if not item.hazard and not state.emergency:
                requests.add("not_fitted")
        return MaySay(frozenset(requests), states=item.states, celsius=celsius)
    requests.add("disregard")
    return MaySay(frozenset(requests), quantity=item.quantity, celsius=celsius)


def decide(plan: Plan, state: State, what: Input, at: float) -> tuple[e.Event, ...]:
    """The events that follow from `what` at time `at` [s] in `state`. Never changes anything."""
    turn = _Turn(plan, state, at)
    if isinstance(what, Begin):
        turn.begin(what)
    elif isinstance(what, Tick):
        turn.tick(what.quiet)
    elif isinstance(what, Trouble):
        turn.trouble(what)
    elif not state.over:
        turn.heard(what)
    return tuple(turn.told)


def describe(meaning: Meaning) -> str:
    """A meaning in a few words, for the log."""
    if isinstance(meaning, Request):
        return meaning.name
    if isinstance(meaning, StateSaid):
        return f"state: {meaning.state}"
    if isinstance(meaning, Reading):
        lead = "correction: " if meaning.correction else ""
        return f"{lead}{meaning.quantity} {meaning.value:g} {meaning.unit}".strip()
    if isinstance(meaning, Number):
        return f"number {meaning.value:g}"
    return {Misheard: "misheard", OutOfRange: "out of range",
            WrongUnit: "wrong unit"}[type(meaning)]


class _Turn:
    """One decision under way: events told so far, and the state they have led to."""

    def __init__(self, plan: Plan, state: State, at: float) -> None:
        self.plan, self.state, self.at = plan, state, at
        self.told: list[e.Event] = []

    def tell(self, kind: Callable[..., e.Event], **fields: object) -> None:
        event = kind(self.at, **fields)
        self.state = apply(self.state, event)
        self.told.append(event)

    # --- beginning, time, faults -------------------------------------------------------------

    def begin(self, what: Begin) -> None:
        if self.state.over:
            return
        if self.state.started:
            self.tell(e.JobResumed)
            if self.state.standing_by:
                self.tell(e.WentAhead)
            if self.state.place.item is None and not self.state.jetting:
                self.go_on()
            return
        self.tell(e.JobStarted, title=what.title, profile=self.plan.profile_text,
                  lists=self.plan.fingerprint)
        self.go_on()

    def trouble(self, what: Trouble) -> None:
        if what.mended:
            self.tell(e.FaultMended, what=what.what)
            return
        self.tell(e.FaultNoticed, what=what.what)
        if what.what == "overflow":
            return  # only that utterance is void
        if self.state.standing_by is None:
            self.tell(e.StoodBy, why=what.what)

    def tick(self, quiet: float) -> None:
        s = self.state
        if not s.started or s.over:
            return
        if s.jetting and not s.emergency:
            for name, value in time_watch(self.plan, s, self.at).items():
                self.watch(name, value)
        self.repeat_warnings(quiet)
        if s.standing_by is not None:
            if quiet >= STAND_BY_AFTER:
                self.tell(e.ReminderGiven, what="standing by")
            return
        if s.pending is not None:
            self.tick_value(quiet)
        elif s.place.item is not None or s.finishing:
            if quiet >= ASK_AGAIN_AFTER and s.reminders == 0:
                self.tell(e.AskedAgain, how="silence")
            elif quiet >= STAND_BY_AFTER - ASK_AGAIN_AFTER and s.reminders == 1:
                self.tell(e.StoodBy, why="silence")
        elif s.jetting and s.jet_on:
            if s.draining is None and quiet >= DRAIN_AFTER:
                self.tell(e.ReminderGiven, what="draining")
            elif quiet >= POSITION_AFTER:
                self.tell(e.ReminderGiven, what="position")

    def tick_value(self, quiet: float) -> None:
        """Silence never confirms: ask once more, then let the value go and park its item."""
        pending = self.state.pending
        assert pending is not None
        if quiet < VALUE_ASK_AGAIN_AFTER:
            return
        if self.state.reminders == 0:
            self.tell(e.AskedAgain, how="silence")
            return
        self.drop("no answer")
        if pending.item is not None:
            self.park(pending.item, "no answer")

    def repeat_warnings(self, quiet: float) -> None:
        """One warning at a time, and only into a silence in which it could be acknowledged."""
        for w in self.state.warnings.values():
            if w.acknowledged:
                continue
            if w.priority == "high":
                pause = HIGH_REPEAT if w.times < HIGH_OFTEN else HIGH_SELDOM
            elif w.priority == "medium" and w.times < 2:
                pause = MEDIUM_REPEAT
            else:
                continue
            if quiet >= pause and self.at - w.last >= pause:
                self.tell(e.WarningRepeated, limit=w.limit)
                return

    # --- going through the lists -------------------------------------------------------------

    def go_on(self) -> None:
        """Ask the next open item, closing sections and lists that are done."""
        while not self.state.over:
            place = self.state.place
            if place.list is None:
                if not self.next_list():
                    return
            elif place.section is None:
                self.next_section(place.list)
            else:
                section = self.plan.section(place.list, place.section)
                todo = [i for i in self.plan.items(section, self.state.facts)
                        if i.id not in self.state.answered]
                if todo:
                    self.tell(e.ItemAsked, item=todo[0].id)
                    return
                self.close_section(place.list, place.section)

    def close_section(self, list_name: str, section_id: str) -> None:
        section = self.plan.section(list_name, section_id)
        parked = tuple(i.id for i in section.items
                       if (a := self.state.answered.get(i.id)) and a.outcome == "parked")
        self.tell(e.SectionClosed, list=list_name, section=section_id, parked=parked)
        if list_name == "set-up" and section_id == "line":
            self.work("choice")
            self.work("strokes")

    def next_section(self, list_name: str) -> None:
        facts = self.plan.facts(self.state.facts)
        for section in self.plan.lists[list_name].sections:
            if f"{list_name}/{section.id}" not in self.state.closed and applies(
                    section.applies, facts):
                self.tell(e.SectionOpened, list=list_name, section=section.id)
                return
        self.tell(e.ListClosed, list=list_name)
        if list_name == "emergency":
            self.tell(e.EmergencyEnded)
            if self.state.place.item is not None:
                self.tell(e.ItemAsked, item=self.state.place.item)
        elif list_name == "start":
            self.tell(e.JettingBegan)

    def next_list(self) -> bool:
        """Open the next list; False where the job waits for calls instead."""
        if self.state.jetting:
            return False
        for name in ORDER:
            if name in self.state.closed:
                continue
            if applies(self.plan.lists[name].applies, self.plan.facts(self.state.facts)):
                self.tell(e.ListOpened, list=name)
                return True
            self.tell(e.ListPassedOver, list=name)
        self.tell(e.JobFinished)
        return False

    def park(self, item_id: str, why: str) -> None:
        self.tell(e.ItemParked, item=item_id, why=why)
        self.go_on()

    # --- what was heard ----------------------------------------------------------------------

    def heard(self, understood: Understood) -> None:
        meaning = understood.meaning
        self.tell(e.SpeechHeard, text=understood.text, meaning=describe(meaning),
                  score=understood.score)
        if isinstance(meaning, Request):
            handler = getattr(self, f"on_{meaning.name}")
            handler()
        elif isinstance(meaning, StateSaid):
            self.on_state(meaning.state)
        elif isinstance(meaning, Reading):
            self.on_reading(meaning)
        elif isinstance(meaning, Number):
            self.tell(e.ValueRefused, quantity=None, why="misheard", detail="")
        else:
            self.on_refusal(meaning)

    def on_emergency(self) -> None:
        self.tell(e.EmergencyCalled)
        self.go_on()

    def on_say_again(self) -> None:
        self.tell(e.AskedAgain, how="request")

    def on_help(self) -> None:
        self.tell(e.HelpGiven)

    def on_read_back(self) -> None:
        self.tell(e.LastReadBack)

    def on_stand_by(self) -> None:
        self.tell(e.StoodBy, why="operator")

    def on_go_ahead(self) -> None:
        self.tell(e.WentAhead)

    def on_acknowledge(self) -> None:
        for w in self.state.warnings.values():
            if not w.acknowledged:
                self.tell(e.WarningAcknowledged, limit=w.limit)

    def on_not_fitted(self) -> None:
        item = self.state.place.item
        assert item is not None
        self.tell(e.ItemNotFitted, item=item)
        self.go_on()

    def on_skip(self) -> None:
        item = self.state.place.item
        assert item is not None
        if item in self.state.held:
            self.tell(e.SkipRefused, item=item)
        else:
            self.park(item, "skipped")

    def on_correction(self) -> None:
        """The bare word: the pending value goes, the right one is awaited."""
        self.drop("corrected")
        self.ask_value_again()

    def on_disregard(self) -> None:
        if self.state.pending is not None:
            self.drop("disregarded")
        self.ask_value_again()

    def ask_value_again(self) -> None:
        """After a value was let go: an item's question is put again, a free call is done with."""
        item = self.state.place.item
        if item is None:
            return
        if self.state.misses >= MOST_MISSES and item not in self.state.held:
            self.park(item, "not understood")
        else:
            self.tell(e.AskedAgain, how="digits" if self.state.misses >= 2 else "misheard")

    def drop(self, why: str) -> None:
        p = self.state.pending
        assert p is not None
        self.tell(e.ValueDropped, quantity=p.quantity, value=p.value, unit=p.unit, why=why)

    def on_confirm(self) -> None:
        s = self.state
        if s.pending is not None:
            if s.pending.doubt:
                # Past a limit or far off: an affirm alone does not make it count.
                self.tell(e.AskedAgain, how="digits")
            else:
                self.confirm_value()
        elif s.finishing:
            self.tell(e.JettingEnded)
            self.work("noise dose")
            self.go_on()

    def on_deny(self) -> None:
        s = self.state
        if s.pending is not None:
            self.drop("denied")
            self.ask_value_again()
        elif s.finishing:
            self.tell(e.FinishDropped)
        elif s.place.item is not None:
            self.tell(e.ItemDenied, item=s.place.item)

    def on_state(self, said: str) -> None:
        item = self.plan.item(self.state.place.item or "")
        if item.fact is not None:
            self.tell(e.FactLearned, name=item.fact, value=said)
        self.tell(e.ItemConfirmed, item=item.id, answer=said)
        if item.id == "start/hose/first-bend":
            self.tell(e.BendPassed)
        self.after_answer(item)

    def after_answer(self, item: Item) -> None:
        for name in item.compute:
            self.work(name)
        self.go_on()

    def on_refusal(self, refused: Misheard | OutOfRange | WrongUnit) -> None:
        s = self.state
        asked = s.pending is not None or s.place.item is not None or s.finishing
        near = refused.near if isinstance(refused, Misheard) else refused.quantity
        if s.standing_by is not None or (not asked and near is None):
            return  # side talk while nothing is asked is nobody's business
        why, detail = "misheard", near or ""
        if isinstance(refused, OutOfRange):
            why, detail = "out of range", f"{refused.value:g}"
        elif isinstance(refused, WrongUnit):
            why, detail = "wrong unit", f"{refused.unit}"
        self.tell(e.ValueRefused, quantity=near, why=why, detail=detail)
        if self.state.misses < MOST_MISSES:
            if self.state.misses == MOST_MISSES - 1 and self.expects_value():
                self.tell(e.AskedAgain, how="digits")
            else:
                self.tell(e.AskedAgain, how="misheard")
            return
        if self.state.pending is not None:
            self.drop("not understood")
        item_id = self.state.place.item
        if item_id is None:
            return
        item = self.plan.item(item_id)
        if item.hazard or item_id in self.state.held:
            self.tell(e.StoodBy, why="not understood")
        else:
            self.park(item_id, "not understood")

    def expects_value(self) -> bool:
        s = self.state
        if s.pending is not None:
            return True
        return s.place.item is not None and self.plan.item(s.place.item).quantity is not None

    # --- values ------------------------------------------------------------------------------

    def on_reading(self, reading: Reading) -> None:
        s = self.state
        item = s.place.item if s.place.item and (
            self.plan.item(s.place.item).quantity == reading.quantity) else None
        pending = s.pending
        doubt = self.doubt(reading)
        if pending is not None:
            same = pending.quantity == reading.quantity and abs(
                convert(pending.value, pending.unit, reading.unit) - reading.value) < 1e-9
            if pending.doubt and same and reading.digits:
                doubt = ""  # said again digit by digit, and the same
            elif not same:
                self.drop("corrected")
        self.tell(e.ValueOffered, quantity=reading.quantity, value=reading.value,
                  unit=reading.unit, item=item, doubt=doubt)

    def doubt(self, reading: Reading) -> str:
        """Why a value must be said digit by digit before it counts; "" if it need not."""
        value = quantity(reading.value, reading.unit)
        if passed(reading.quantity, value, self.plan.equipment):
            return "past a limit"
        if reading.quantity in ("hose out", "hose in"):
            return self.hose_doubt(reading.quantity, float(value.to("foot").magnitude))
        last = self.state.logged.get(reading.quantity)
        held = self.state.place.item in self.state.held  # read again because it was to change
        if last is not None and reading.quantity in STEADY and not held:
            own = convert(reading.value, reading.unit, last.unit)
            if abs(own - last.value) > FAR * max(abs(last.value), 1e-9):
                return "far from the last"
        return ""

    def hose_doubt(self, name: str, feet: float) -> str:
        """What is surprising about a hose call."""
        s = self.state
        out = s.hose_out - feet if name == "hose in" else feet
        if out < 0:
            return "more than is out"
        longest = max(float(h.length.to("foot").magnitude) for h in self.plan.equipment.hoses)
        if out > longest:
            return "more than the hose"
        if s.moved_at is None:
            return ""
        if out > s.hose_out and not s.jet_on:
            return "further in with the jet off"
        if abs(out - s.hose_out) > FASTEST * (self.at - s.moved_at) + SLACK:
            return "a big jump"
        return ""

    def confirm_value(self) -> None:
        p = self.state.pending
        assert p is not None
        before = self.state
        self.tell(e.ValueConfirmed, quantity=p.quantity, value=p.value, unit=p.unit, item=p.item)
        value = quantity(p.value, p.unit)
        found = self.watch(p.quantity, value)
        self.move_hose(p.quantity, value, before)
        if p.item is None:
            for name in FREE_WORKINGS.get(p.quantity, ()):
                self.work(name)
            return
        item = self.plan.item(p.item)
        for name in item.compute:
            found += self.work(name)
        holding = next((x for x in found if x.holds and x.name in item.limits), None)
        if holding is not None:
            self.tell(e.ItemHeld, item=item.id, limit=holding.name)
            return
        answer = f"{p.value:g} {p.unit}".strip()
        self.tell(e.ItemConfirmed, item=item.id, answer=answer)
        self.go_on()

    def work(self, name: str) -> tuple[Limit, ...]:
        """Work a figure out, log it, and check what the limits watch in it."""
        w = work_out(name, self.plan, self.state)
        if w is None:
            return ()
        self.tell(e.FigureWorkedOut, figure=w.figure, inputs=dict(w.inputs),
                  results=dict(w.results), said=w.said, notes=w.notes, sources=w.sources)
        found: tuple[Limit, ...] = ()
        for watched, value in w.watched.items():
            found += self.watch(watched, value)
        return found

    def watch(
        self, name: str, value: Quantity, shown: Quantity | None = None
    ) -> tuple[Limit, ...]:
        """Raise what a value passes, clear what it no longer does; `shown` is said instead."""
        found = passed(name, value, self.plan.equipment)
        names = {x.name for x in found}
        self.clear(*(x.name for x in limits() if x.quantity == name and x.name not in names))
        for limit in found:
            if limit.name not in self.state.warnings:
                value = value if shown is None else shown
                own = _unit_for(limit, value)
                self.tell(e.WarningRaised, limit=limit.name, priority=limit.priority,
                          say=limit.say, do=limit.do,
                          value=round(float(value.to(own).magnitude), 2), unit=_name_of(limit))
        return found

    def clear(self, *names: str) -> None:
        """Clear those of the named warnings that stand."""
        for name in names:
            if name in self.state.warnings:
                self.tell(e.WarningCleared, limit=name)

    # --- jetting -----------------------------------------------------------------------------

    def move_hose(self, name: str, value: Quantity, before: State) -> None:
        if name not in ("hose out", "hose in"):
            return
        feet = float(value.to("foot").magnitude)
        pulled = 0.0
        if name == "hose in":
            pulled = min(feet, before.hose_out)
            feet = before.hose_out - pulled
        elif feet < before.hose_out:
            pulled = before.hose_out - feet
        margin = pull_margin(before, pulled, self.at)
        self.tell(e.HoseMoved, out=feet, pulled=pulled)
        for watched, size in position_watch(self.plan, self.state).items():
            self.watch(watched, size)
        if self.state.jet_on and pulled > 0:
            self.watch("hose in the pipe", quantity(feet - margin, "ft"), quantity(feet, "ft"))
        else:
            self.clear("near the opening")

    def on_jet_on(self) -> None:
        self.tell(e.JetTurnedOn)
        self.clear("bypass too long")
        self.watch("bends passed at jet on",
                   quantity(1 if self.state.bend_passed else 0, ""))

    def on_jet_off(self) -> None:
        self.tell(e.JetTurnedOff)
        self.clear("near the opening", "before the first bend", "no pull for long",
                   "water not leaving")

    def on_past_the_bend(self) -> None:
        self.tell(e.BendPassed)
        self.clear("before the first bend")

    def on_at_the_opening(self) -> None:
        self.tell(e.OpeningReached)
        if self.state.jet_on:
            self.watch("hose in the pipe", quantity(0, "ft"))

    def on_mark(self) -> None:
        """One more mark on the hose has gone in."""
        marks = self.plan.equipment.marks
        if marks is None:
            self.tell(e.CallRefused, why="no marks")
            return
        self.move_hose("hose out", quantity(self.state.hose_out, "ft") + marks, self.state)

    def on_stuck(self) -> None:
        self.tell(e.StuckCalled, tries=self.state.stuck_tries + 1)

    def on_draining(self) -> None:
        self.tell(e.DrainSeen, running=True)
        self.watch("draining", quantity(1, ""))

    def on_not_draining(self) -> None:
        self.tell(e.DrainSeen, running=False)
        if self.state.jet_on:
            self.watch("draining", quantity(0, ""))

    def on_finish(self) -> None:
        if self.state.jet_on:
            self.tell(e.CallRefused, why="jet is on")
        else:
            self.tell(e.FinishAsked)


FREE_WORKINGS = {"pump pressure": ("nozzle pressure", "gauge"), "sound level": ("noise time",),
                 "tank level": ("tank time",)}
"""Worked out when a reading is called out while jetting."""


def _name_of(limit: Limit) -> str:
    """The unit a limit's value is said in: the quantity's own."""
    own = vocabulary().quantities.get(limit.quantity)
    return own.unit if own else DERIVED_UNITS.get(limit.quantity, "")


DERIVED_UNITS = {"nozzle pressure": "psi", "pump limit margin": "psi", "hose left on reel": "ft",
                 "line left": "ft", "hose in the pipe": "ft", "tank minutes": "min",
                 "reach left": "ft", "suction margin": "ft", "motor current": "A", "cord drop": "%",
                 "noise dose": "%", "noise dose by OSHA": "%", "freeze margin": "delta_degF"}


def _unit_for(limit: Limit, value: Quantity) -> Any:
    name = _name_of(limit)
    return unit(name) if name else value.units

