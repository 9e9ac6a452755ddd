"""What is said for each event: a pure function from event and state to sentences."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

from assistant.checklist import Item
from assistant.job import events as e
from assistant.job.decide import may_say
from assistant.job.plan import Plan
from assistant.job.state import State
from assistant.limits import limit_named
from assistant.meaning.vocabulary import vocabulary
from assistant.speaking.numbers import digits, read_back, said_unit, words
from assistant.units import convert
from assistant.yamldata import load_yaml

_FILE = Path(__file__).with_name("phrases.yaml")


@dataclass(frozen=True)
class Saying:
    """A sentence to speak, with its priority: "high" cuts in, "medium" waits its turn, "low"
    waits for a gap. Everything spoken is shown too."""

    text: str
    priority: str = "medium"
    slow: bool = False
    """Spoken slower: numbers are to be checked by ear."""


@cache
def phrases() -> dict[str, str]:
    """The templates by key."""
    return dict(load_yaml(_FILE))


def _fill(key: str, **values: str) -> str:
    return phrases()[key].format(**values).strip()


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def name_of(plan: Plan, item_id: str) -> str:
    """An item by its challenge, without the question mark."""
    return plan.item(item_id).challenge.rstrip("?")


def either(choices: tuple[str, ...]) -> str:
    """ "a, b or c".

    >>> either(("tap", "tank"))
    'tap or tank'
    """
    return choices[0] if len(choices) == 1 else f"{', '.join(choices[:-1])} or {choices[-1]}"


def prompt(plan: Plan, state: State) -> str:
    """The question that is open now, in full."""
    if state.standing_by is not None:
        return _fill("prompt.standing by")
    if state.pending is not None:
        p = state.pending
        value = read_back(p.value, p.unit)
        if p.doubt:
            return _fill("ValueOffered.doubt", quantity=_capital(p.quantity), value=value,
                         doubt=p.doubt)
        return _fill("prompt.value", quantity=_capital(p.quantity), value=value)
    if state.finishing:
        return _fill("prompt.finish")
    if state.place.item is not None:
        item = plan.item(state.place.item)
        if item.quantity is not None:
            return _fill("prompt.reading", challenge=item.challenge)
        states = item.states if item.fact else (item.states[0], "negative")
        asked = _fill("prompt.item", challenge=item.challenge, states=either(states))
        return f"{item.say} {asked}" if item.say and not item.fact else asked
    return _fill("prompt.jetting") if state.jetting else ""


def may_be_said(plan: Plan, state: State) -> tuple[str, ...]:
    """The phrases that may be said now, as help and the screen give them."""
    may, v = may_say(plan, state), vocabulary()
    found = list(may.states[:1] if not _is_choice(plan, state) else may.states)
    if may.quantity:
        found.append(f"{may.quantity} and the number")
    if may.readings:
        found.append("a reading by its name")
    order = [r for r in v.request_names_in_order if r in may.requests]
    found += [v.phrases(r)[0] for r in order]
    return (*found, "emergency")


def _is_choice(plan: Plan, state: State) -> bool:
    return state.place.item is not None and plan.item(state.place.item).fact is not None


def _place(plan: Plan, state: State) -> str:
    if state.place.list and state.place.section:
        return plan.section(state.place.list, state.place.section).title
    return "Jetting" if state.jetting else "Hoseside"


def _last(plan: Plan, state: State) -> str:
    last = state.last_confirmed
    if not last:
        return ""
    return f"Last done: {name_of(plan, last) if '/' in last else last}. "


def spoken(plan: Plan, before: State, event: e.Event, after: State) -> tuple[Saying, ...]:
    """The sentences for one event; none for events that need no words."""
    text, priority = _sentence(plan, before, event, after)
    slow = isinstance(event, _NUMBERS)
    return (Saying(_capital(text), priority, slow),) if text else ()


_NUMBERS = (e.ValueOffered, e.ValueRefused, e.LastReadBack, e.AskedAgain)


def _sentence(plan: Plan, before: State, event: e.Event, after: State) -> tuple[str, str]:
    special = _SPECIAL.get(type(event))
    if special is not None:
        result: tuple[str, str] = special(plan, before, event, after)
        return result
    key = type(event).__name__
    return (_fill(key), "medium") if key in phrases() else ("", "medium")


def _job_started(plan: Plan, _b: State, x: e.JobStarted, _a: State) -> tuple[str, str]:
    return _fill("JobStarted", title=x.title, machine=plan.equipment.name), "medium"


def _job_resumed(plan: Plan, before: State, _x: Any, _a: State) -> tuple[str, str]:
    asked = prompt(plan, before) if before.standing_by is None else ""
    text = f"{_fill('JobResumed')} {_place(plan, before)}. {_last(plan, before)}{asked}"
    return text, "medium"


def _section_closed(plan: Plan, _b: State, x: e.SectionClosed, _a: State) -> tuple[str, str]:
    section = plan.section(x.list, x.section)
    if not x.parked:
        return _fill("SectionClosed", completion=section.completion), "medium"
    parked = ", ".join(name_of(plan, i).lower() for i in x.parked)
    return _fill("SectionClosed.parked", completion=section.completion, parked=parked), "medium"


def _item_asked(plan: Plan, _b: State, x: e.ItemAsked, _a: State) -> tuple[str, str]:
    item = plan.item(x.item)
    lead = " ".join(part for part in (item.caution, item.say) if part)
    if item.fact and not item.say and not _names_choices(item):
        return f"{item.challenge} {_capital(either(item.states))}?", "medium"
    return _fill("ItemAsked", lead=f"{lead} " if lead else "", challenge=item.challenge), "medium"


def _names_choices(item: Item) -> bool:
    return all(state in item.challenge.lower() for state in item.states)


def _item_denied(plan: Plan, _b: State, x: e.ItemDenied, _a: State) -> tuple[str, str]:
    item = plan.item(x.item)
    remedy = item.remedy or "Put it right."
    return _fill("ItemDenied", remedy=remedy, state=item.states[0]), "medium"


def _item_held(plan: Plan, _b: State, x: e.ItemHeld, _a: State) -> tuple[str, str]:
    item = plan.item(x.item)
    return _fill("ItemHeld", remedy=item.remedy, challenge=item.challenge), "medium"


def _item_parked(plan: Plan, _b: State, x: e.ItemParked, _a: State) -> tuple[str, str]:
    key = "ItemParked.understood" if x.why == "not understood" else "ItemParked"
    return _fill(key, name=name_of(plan, x.item).lower()), "medium"


def _skip_refused(plan: Plan, _b: State, x: e.SkipRefused, _a: State) -> tuple[str, str]:
    return _fill("SkipRefused", challenge=plan.item(x.item).challenge), "medium"


def _asked_again(plan: Plan, _b: State, x: e.AskedAgain, after: State) -> tuple[str, str]:
    name = "The number"
    if after.pending is not None:
        name = _capital(after.pending.quantity)
    elif after.place.item is not None:
        name = _capital(plan.item(after.place.item).quantity or name)
    key = f"AskedAgain.{x.how}"
    return _fill(key, prompt=prompt(plan, after), name=name), "medium"


def _value_offered(_p: Plan, _b: State, x: e.ValueOffered, _a: State) -> tuple[str, str]:
    value = read_back(x.value, x.unit)
    if x.doubt:
        return _fill("ValueOffered.doubt", quantity=_capital(x.quantity), value=value,
                     doubt=x.doubt), "medium"
    return _fill("ValueOffered", quantity=_capital(x.quantity), value=value), "medium"


def _value_refused(_p: Plan, _b: State, x: e.ValueRefused, _a: State) -> tuple[str, str]:
    if x.why == "out of range":
        return _fill("ValueRefused.out of range", value=_capital(digits(float(x.detail)))), "medium"
    if x.why == "wrong unit":
        return _fill("ValueRefused.wrong unit", unit=said_unit(x.detail, 2)), "medium"
    return "", "medium"


def _value_dropped(_p: Plan, _b: State, x: e.ValueDropped, _a: State) -> tuple[str, str]:
    key = f"ValueDropped.{x.why}"
    return _fill(key if key in phrases() else "ValueDropped", quantity=_capital(x.quantity)), \
        "medium"


def _figure(_p: Plan, _b: State, x: e.FigureWorkedOut, _a: State) -> tuple[str, str]:
    return x.said, "medium"


def _warning_raised(_p: Plan, _b: State, x: e.WarningRaised, _a: State) -> tuple[str, str]:
    return _warning_text(x.limit, x.value, x.unit, x.say, x.do), x.priority


def _warning_text(limit: str, value: float, unit: str, say: str, do: str) -> str:
    number = "" if unit == "" else f", {digits(round(value, 1))} {said_unit(unit, value)}"
    return _fill("WarningRaised", say=_capital(say), value=number, do=do)


def _warning_repeated(_p: Plan, _b: State, x: e.WarningRepeated, after: State) -> tuple[str, str]:
    limit = limit_named(x.limit)
    return _fill("WarningRepeated", say=_capital(limit.say), value="", do=limit.do), limit.priority


def _cleared(_p: Plan, _b: State, x: e.WarningCleared, _a: State) -> tuple[str, str]:
    """Only for a reading: that the hose has moved on is no news."""
    limit = limit_named(x.limit)
    if limit.quantity not in vocabulary().quantities:
        return "", "medium"
    return _fill("WarningCleared", quantity=_capital(limit.quantity)), "medium"


def _of_limit(_p: Plan, _b: State, x: Any, _a: State) -> tuple[str, str]:
    return _fill(type(x).__name__, say=_capital(limit_named(x.limit).say)), "medium"


def _hose_moved(_p: Plan, before: State, x: e.HoseMoved, after: State) -> tuple[str, str]:
    out = _capital(f"{words(round(x.out))} {said_unit('ft', round(x.out))}")
    line = after.logged.get("line length")
    if line is None:
        return _fill("HoseMoved", out=out), "medium"
    left = words(round(max(0.0, convert(line.value, line.unit, "ft") - x.out)))
    advance = x.out - before.hose_out
    if after.jet_on and advance >= LEAST_ADVANCE:
        half = words(max(1, round(advance / 2)))
        return _fill("HoseMoved.advance", out=out, left=left, half=half), "medium"
    return _fill("HoseMoved.line", out=out, left=left), "medium"


LEAST_ADVANCE = 2.0
"""Feet; a smaller advance is not worth a word about pulling back."""


def _stuck(_p: Plan, _b: State, x: e.StuckCalled, _a: State) -> tuple[str, str]:
    return _fill(f"StuckCalled.{min(x.tries, 4)}"), "medium"


def _stood_by(plan: Plan, before: State, x: e.StoodBy, _a: State) -> tuple[str, str]:
    key = f"StoodBy.{x.why}"
    urgent = "high" if x.why in ("microphone lost", "sound lost", "recogniser lost") else "medium"
    return _fill(key if key in phrases() else "StoodBy", place=_place(plan, before)), urgent


def _went_ahead(plan: Plan, _b: State, _x: Any, after: State) -> tuple[str, str]:
    return _fill("WentAhead", place=_place(plan, after), last=_last(plan, after),
                 prompt=prompt(plan, after)), "medium"


def _help(plan: Plan, _b: State, _x: Any, after: State) -> tuple[str, str]:
    return _fill("HelpGiven", may=either(may_be_said(plan, after))), "medium"


def _last_read_back(_p: Plan, _b: State, _x: Any, after: State) -> tuple[str, str]:
    last = after.last_value
    assert last is not None
    return _fill("LastReadBack", quantity=_capital(last.quantity),
                 value=read_back(last.value, last.unit)), "medium"


def _emergency(plan: Plan, _b: State, _x: Any, _a: State) -> tuple[str, str]:
    number = " ".join(digits(float(c)) for c in plan.equipment.emergency_number if c.isdigit())
    words_at_once = plan.lists["emergency"].at_once[plan.equipment.power].format(number=number)
    return _fill("EmergencyCalled", at_once=words_at_once), "high"


def _emergency_ended(_p: Plan, _b: State, _x: Any, after: State) -> tuple[str, str]:
    key = "EmergencyEnded.jetting" if after.jetting else "EmergencyEnded"
    return _fill(key), "medium"


def _keyed(suffix: str) -> Any:
    def say(_p: Plan, _b: State, x: Any, _a: State) -> tuple[str, str]:
        key = f"{type(x).__name__}.{getattr(x, suffix)}"
        if key not in phrases():
            key = type(x).__name__
        return (_fill(key), "low" if key.startswith("Reminder") else "medium")
    return say


def _mended(_p: Plan, _b: State, x: e.FaultMended, _a: State) -> tuple[str, str]:
    return _fill("FaultMended", what=_capital(x.what.removesuffix(" lost"))), "medium"


def _titled(plan: Plan, _b: State, x: Any, _a: State) -> tuple[str, str]:
    section = getattr(x, "section", None)
    title = plan.section(x.list, section).title if section else plan.lists[x.list].title
    return _fill(type(x).__name__, title=title), "medium"


_SPECIAL: dict[type[e.Event], Any] = {
    e.JobStarted: _job_started,
    e.JobResumed: _job_resumed,
    e.ListOpened: _titled,
    e.SectionOpened: _titled,
    e.SectionClosed: _section_closed,
    e.ItemAsked: _item_asked,
    e.ItemDenied: _item_denied,
    e.ItemHeld: _item_held,
    e.ItemParked: _item_parked,
    e.SkipRefused: _skip_refused,
    e.AskedAgain: _asked_again,
    e.ValueOffered: _value_offered,
    e.ValueRefused: _value_refused,
    e.ValueDropped: _value_dropped,
    e.FigureWorkedOut: _figure,
    e.WarningRaised: _warning_raised,
    e.WarningRepeated: _warning_repeated,
    e.WarningAcknowledged: _of_limit,
    e.WarningCleared: _cleared,
    e.HoseMoved: _hose_moved,
    e.CallRefused: _keyed("why"),
    e.StuckCalled: _stuck,
    e.DrainSeen: _keyed("running"),
    e.ReminderGiven: _keyed("what"),
    e.StoodBy: _stood_by,
    e.WentAhead: _went_ahead,
    e.HelpGiven: _help,
    e.LastReadBack: _last_read_back,
    e.EmergencyCalled: _emergency,
    e.EmergencyEnded: _emergency_ended,
    e.FaultNoticed: _keyed("what"),
    e.FaultMended: _mended,
}
