"""What is known in a job, folded from its events and from nothing else."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from assistant.job import events as e


@dataclass(frozen=True)
class Pending:
    """A value that was heard and not yet affirmed."""

    quantity: str
    value: float
    unit: str
    item: str | None
    doubt: str


@dataclass(frozen=True)
class Logged:
    """A value that was affirmed."""

    quantity: str
    value: float
    unit: str
    at: float


@dataclass(frozen=True)
class Answered:
    """What became of an item: "confirmed", "not fitted" or "parked"."""

    outcome: str
    answer: str


@dataclass(frozen=True)
class ActiveWarning:
    """A limit that is passed now."""

    limit: str
    priority: str
    acknowledged: bool
    times: int
    last: float


@dataclass(frozen=True)
class Place:
    """Where in the lists the job stands."""

    list: str | None = None
    section: str | None = None
    item: str | None = None


@dataclass(frozen=True)
class State:
    """The whole state of a job."""

    started: bool = False
    title: str = ""
    profile: str = ""
    over: bool = False
    at: float = 0.0
    place: Place = Place()
    suspended: Place | None = None
    """Where the job stood when the emergency was called."""
    emergency: bool = False
    answered: Mapping[str, Answered] = field(default_factory=dict)
    denied: frozenset[str] = frozenset()
    held: Mapping[str, str] = field(default_factory=dict)
    """Item -> limit that holds it open."""
    closed: tuple[str, ...] = ()
    """list/section of every closed section, and the name of every closed or passed-over list."""
    facts: Mapping[str, str] = field(default_factory=dict)
    logged: Mapping[str, Logged] = field(default_factory=dict)
    figures: Mapping[str, Mapping[str, tuple[float, str]]] = field(default_factory=dict)
    pending: Pending | None = None
    misses: int = 0
    """Refusals in a row on the open question."""
    reminders: int = 0
    """Times the open question was put again into silence."""
    standing_by: str | None = None
    warnings: Mapping[str, ActiveWarning] = field(default_factory=dict)
    jetting: bool = False
    jet_on: bool = False
    jet_since: float = 0.0
    """When the jet was last called on [s]."""
    jet_seconds: float = 0.0
    """Time under pressure up to the last jet off [s]."""
    bend_passed: bool = False
    pump_running: bool = False
    """Believed from the calls: from the first jet on until jetting ends or an emergency."""
    jet_off_since: float = 0.0
    """When the jet was last called off [s]; the pump is in bypass since then."""
    hose_out: float = 0.0
    """Feet of hose in the pipe."""
    deepest: float = 0.0
    last_pull: float = 0.0
    """Feet of the last pull-back."""
    last_pull_at: float = 0.0
    moved_at: float | None = None
    """When the hose was last called [s]."""
    strokes: int = 0
    """Pull-backs so far."""
    stuck_tries: int = 0
    draining: bool | None = None
    """Whether water was called as leaving the line; None while nobody has said."""
    finishing: bool = False
    last_confirmed: str = ""
    """The last confirmed item or value, in words, for a resume."""
    last_value: Logged | None = None

    @property
    def under_pressure(self) -> float:
        """Seconds with the jet on so far, the run in progress included."""
        return self.jet_seconds + (self.at - self.jet_since if self.jet_on else 0.0)


def apply(state: State, event: e.Event) -> State:
    """The state after an event. Raises TypeError for a kind it does not know."""
    change = _CHANGES.get(type(event))
    if change is None:
        raise TypeError(f"apply does not know {type(event).__name__}")
    return replace(state, at=event.at, **change(state, event))


def fold(all_events: Any) -> State:
    """The state after all events, from the beginning."""
    state = State()
    for event in all_events:
        state = apply(state, event)
    return state


Change = dict[str, Any]


def _nothing(_s: State, _e: Any) -> Change:
    return {}


def _with(mapping: Mapping[str, Any], key: str, value: Any) -> dict[str, Any]:
    return {**mapping, key: value}


def _without(mapping: Mapping[str, Any], key: str) -> dict[str, Any]:
    return {k: v for k, v in mapping.items() if k != key}


def _fresh() -> Change:
    """A new question: nothing has gone wrong with it yet."""
    return {"misses": 0, "reminders": 0}


def _answer(s: State, item: str, outcome: str, answer: str) -> Change:
    return {"answered": _with(s.answered, item, Answered(outcome, answer)),
            "denied": s.denied - {item}, "held": _without(s.held, item),
            "place": replace(s.place, item=None), **_fresh()}


def _value_confirmed(s: State, x: e.ValueConfirmed) -> Change:
    logged = Logged(x.quantity, x.value, x.unit, x.at)
    return {"logged": _with(s.logged, x.quantity, logged), "pending": None, "last_value": logged,
            "last_confirmed": x.quantity, **_fresh()}


def _warned(s: State, x: e.WarningRaised) -> Change:
    active = ActiveWarning(x.limit, x.priority, False, 1, x.at)
    return {"warnings": _with(s.warnings, x.limit, active)}


def _repeated(s: State, x: e.WarningRepeated) -> Change:
    w = s.warnings[x.limit]
    return {"warnings": _with(s.warnings, x.limit, replace(w, times=w.times + 1, last=x.at))}


def _acknowledged(s: State, x: e.WarningAcknowledged) -> Change:
    w = s.warnings[x.limit]
    return {"warnings": _with(s.warnings, x.limit, replace(w, acknowledged=True))}


def _jet_off(s: State, x: e.Event) -> Change:
    run = x.at - s.jet_since if s.jet_on else 0.0
    return {"jet_on": False, "jet_seconds": s.jet_seconds + run, "jet_off_since": x.at}


def _moved(s: State, x: e.HoseMoved) -> Change:
    change: Change = {"hose_out": x.out, "deepest": max(s.deepest, x.out), "moved_at": x.at,
                      "stuck_tries": 0}
    if x.pulled > 0:
        change |= {"last_pull": x.pulled, "last_pull_at": x.at, "strokes": s.strokes + 1}
    return change


def _called_emergency(s: State, x: e.EmergencyCalled) -> Change:
    suspended = s.suspended if s.emergency else s.place
    answered = {k: v for k, v in s.answered.items() if not k.startswith("emergency/")}
    closed = tuple(c for c in s.closed if not c.startswith("emergency"))
    return {"emergency": True, "suspended": suspended, "place": Place("emergency"),
            "pending": None, "finishing": False, "standing_by": None, **_jet_off(s, x),
            "pump_running": False,
            "answered": answered, "closed": closed, **_fresh()}


def _asked_again(s: State, x: e.AskedAgain) -> Change:
    return {"reminders": s.reminders + 1} if x.how == "silence" else {}


_CHANGES: dict[type[e.Event], Any] = {
    e.JobStarted: lambda s, x: {"started": True, "title": x.title, "profile": x.profile},
    e.JobResumed: _nothing,
    e.SpeechHeard: lambda s, x: {"reminders": 0},
    e.FactLearned: lambda s, x: {"facts": _with(s.facts, x.name, x.value)},
    e.ListOpened: lambda s, x: {"place": Place(x.list)},
    e.ListPassedOver: lambda s, x: {"closed": (*s.closed, x.list)},
    e.SectionOpened: lambda s, x: {"place": Place(x.list, x.section)},
    e.ItemAsked: lambda s, x: {"place": replace(s.place, item=x.item), **_fresh()},
    e.AskedAgain: _asked_again,
    e.ItemConfirmed: lambda s, x: {**_answer(s, x.item, "confirmed", x.answer),
                                   "last_confirmed": x.item},
    e.ItemDenied: lambda s, x: {"denied": s.denied | {x.item}, **_fresh()},
    e.ItemHeld: lambda s, x: {"held": _with(s.held, x.item, x.limit), **_fresh()},
    e.ItemNotFitted: lambda s, x: _answer(s, x.item, "not fitted", "not fitted"),
    e.ItemParked: lambda s, x: {**_answer(s, x.item, "parked", x.why), "pending": None},
    e.SkipRefused: _nothing,
    e.SectionClosed: lambda s, x: {"closed": (*s.closed, f"{x.list}/{x.section}"),
                                   "place": Place(x.list)},
    e.ListClosed: lambda s, x: {"closed": (*s.closed, x.list), "place": Place()},
    e.ValueOffered: lambda s, x: {
        "pending": Pending(x.quantity, x.value, x.unit, x.item, x.doubt), "reminders": 0},
    e.ValueRefused: lambda s, x: {"misses": s.misses + 1},
    e.ValueDropped: lambda s, x: {
        "pending": None,
        "misses": s.misses + 1 if x.why in ("denied", "corrected") else s.misses},
    e.ValueConfirmed: _value_confirmed,
    e.FigureWorkedOut: lambda s, x: {"figures": _with(s.figures, x.figure, x.results)},
    e.WarningRaised: _warned,
    e.WarningRepeated: _repeated,
    e.WarningAcknowledged: _acknowledged,
    e.WarningCleared: lambda s, x: {"warnings": _without(s.warnings, x.limit)},
    e.JettingBegan: lambda s, x: {"jetting": True, "place": Place()},
    e.JetTurnedOn: lambda s, x: {} if s.jet_on else {
        "jet_on": True, "jet_since": x.at, "last_pull_at": x.at, "pump_running": True},
    e.JetTurnedOff: lambda s, x: _jet_off(s, x),
    e.HoseMoved: lambda s, x: _moved(s, x),
    e.BendPassed: lambda s, x: {"bend_passed": True},
    e.OpeningReached: lambda s, x: {"hose_out": 0.0, "moved_at": x.at},
    e.StuckCalled: lambda s, x: {"stuck_tries": x.tries},
    e.DrainSeen: lambda s, x: {"draining": x.running},
    e.CallRefused: _nothing,
    e.ReminderGiven: _nothing,
    e.FinishAsked: lambda s, x: {"finishing": True, **_fresh()},
    e.FinishDropped: lambda s, x: {"finishing": False},
    e.JettingEnded: lambda s, x: {"finishing": False, "jetting": False, "pump_running": False},
    e.StoodBy: lambda s, x: {"standing_by": x.why},
    e.WentAhead: lambda s, x: {"standing_by": None, **_fresh()},
    e.HelpGiven: _nothing,
    e.LastReadBack: _nothing,
    e.EmergencyCalled: _called_emergency,
    e.EmergencyEnded: lambda s, x: {"emergency": False, "place": s.suspended or Place(),
                                    "suspended": None, **_fresh()},
    e.AudioKept: _nothing,
    e.AudioKeepingBegan: _nothing,
    e.FaultNoticed: _nothing,
    e.FaultMended: _nothing,
    e.JobFinished: lambda s, x: {"over": True, "place": Place()},
}
