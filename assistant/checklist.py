"""Checklists as data: loaded, checked against the rules of the job, and asked one item at a time.

The rules of layout (five words, at most seven items, a state or value as the answer, a spoken
completion) follow Degani and Wiener, NASA CR-177549 (1990).
"""

from __future__ import annotations

from collections.abc import Mapping as ReadMapping
from dataclasses import dataclass
from pathlib import Path

from assistant import paths
from assistant.meaning.vocabulary import Vocabulary, vocabulary
from assistant.yamldata import Mapping, load_yaml

MOST_ITEMS = 7
MOST_WORDS = 5
NOT_ANSWERS = ("checked", "okay", "ok", "set", "yes", "no", "affirm", "negative")
"""An answer must give the state itself (Degani and Wiener), and not double a procedure word."""

LISTS = ("set-up", "pre-start", "start", "finish", "winterise", "emergency")
"""The shipped lists, in the order of the job; emergency stands outside the order."""

Facts = ReadMapping[str, str]


@dataclass(frozen=True)
class Item:
    """One challenge and what answers it."""

    id: str
    """list/section/item."""
    challenge: str
    states: tuple[str, ...]
    """State words that confirm it; the first is the one the tool teaches."""
    quantity: str | None
    """The quantity to read, where the answer is a reading."""
    fact: str | None
    """The fact that the chosen state word sets, such as supply -> tank."""
    limits: tuple[str, ...]
    """Limits (by name) that hold the item while they are passed."""
    compute: tuple[str, ...]
    """Figures to work out from the answer."""
    hazard: bool
    """Answered no, it holds the section until mended; it cannot be skipped by voice."""
    say: str
    """Spoken before the challenge, where a step is told and not only asked."""
    why: str
    caution: str
    remedy: str
    source: str
    applies: Facts


@dataclass(frozen=True)
class Section:
    """A chunk of at most seven items with its spoken completion."""

    id: str
    title: str
    mode: str
    completion: str
    applies: Facts
    items: tuple[Item, ...]


@dataclass(frozen=True)
class Checklist:
    """One list."""

    name: str
    title: str
    applies: Facts
    at_once: ReadMapping[str, str]
    """For the emergency list: what is said at once, by kind of power."""
    sections: tuple[Section, ...]

    def section(self, section_id: str) -> Section:
        """The section of an id."""
        return next(s for s in self.sections if s.id == section_id)

    def item(self, item_id: str) -> Item:
        """The item of an id."""
        return next(i for s in self.sections for i in s.items if i.id == item_id)


def applies(wanted: Facts, facts: Facts) -> bool:
    """Whether every wanted fact holds; alternatives are written "a|b".

    >>> applies({"power": "engine"}, {"power": "electric"}), applies({}, {})
    (False, True)
    """
    return all(facts.get(k) in v.split("|") for k, v in wanted.items())


def _applies(row: Mapping, what: str) -> dict[str, str]:
    given = row.maybe("applies", dict, what, {})
    result = {}
    for key, value in given.items():
        result[str(key)] = "|".join(value) if isinstance(value, list) else str(value)
    return result


def _states(row: Mapping, what: str, v: Vocabulary) -> tuple[str, ...]:
    answer = row["answer"]
    states = tuple(answer) if isinstance(answer, list) else (answer,)
    for state in states:
        if not isinstance(state, str):
            row.fail(f"the answer of {what} is {state!r}, not a word; put it in quotes.")
        if state.lower() in NOT_ANSWERS:
            row.fail(f"the answer of {what} is '{state}'; give the state itself, such as "
                     "'open' or 'worn'.")
        if tuple(state.split()) in v.requests:
            row.fail(f"the answer of {what} is '{state}', which is a procedure word; choose "
                     "another.")
    if not states:
        row.fail(f"the answer of {what} is empty; give a state word.")
    return tuple(s.lower() for s in states)


def _item(row: Mapping, where: str, v: Vocabulary) -> Item:
    name = row.need("item", str, f"an item of {where}")
    what = f"item '{name}'"
    row.only({"item", "challenge", "answer", "reading", "choose", "limits", "compute", "hazard",
              "say", "why", "caution", "remedy", "source", "applies"}, what)
    challenge = row.need("challenge", str, what)
    if len(challenge.split()) > MOST_WORDS:
        row.fail(f"the challenge of {what} has {len(challenge.split())} words; "
                 f"say it in {MOST_WORDS} or fewer.")
    kinds = [k for k in ("answer", "reading", "choose") if k in row]
    if len(kinds) != 1:
        row.fail(f"{what} needs exactly one of answer, reading or choose.")
    states: tuple[str, ...] = ()
    quantity, fact = None, None
    if kinds == ["answer"]:
        states = _states(row, what, v)
    elif kinds == ["choose"]:
        choose = row.need("choose", dict, what)
        if len(choose) != 1:
            row.fail(f"'choose' of {what} must be one fact with its words, "
                     "such as {supply: [tap, tank]}.")
        fact, words = next(iter(choose.items()))
        if not isinstance(words, list) or len(words) < 2:
            row.fail(f"'choose' of {what} needs a list of two or more words.")
        states = tuple(str(w) for w in words)
    else:
        quantity = row.need("reading", str, what)
        if quantity not in v.quantities:
            row.fail(f"{what} asks for '{quantity}', which is not a known quantity; known are "
                     f"{', '.join(v.quantities)}.")
    hazard = row.maybe("hazard", bool, what, False)
    if hazard and kinds == ["answer"] and "remedy" not in row:
        row.fail(f"{what} is a hazard and lacks 'remedy'; say what mends it.")
    return Item(
        f"{where}/{name}", challenge, states, quantity, fact,
        tuple(row.maybe("limits", list, what, [])), tuple(row.maybe("compute", list, what, [])),
        hazard, row.maybe("say", str, what, ""), row.maybe("why", str, what, ""),
        row.maybe("caution", str, what, ""), row.maybe("remedy", str, what, ""),
        row.need("source", str, what), _applies(row, what))


def _section(row: Mapping, list_name: str, v: Vocabulary) -> Section:
    name = row.need("section", str, "a section")
    what = f"section '{name}'"
    row.only({"section", "title", "mode", "completion", "applies", "items"}, what)
    rows = row.need("items", list, what)
    if not 1 <= len(rows) <= MOST_ITEMS:
        row.fail(f"{what} has {len(rows)} items; split it so that each has "
                 f"1 to {MOST_ITEMS}.")
    mode = row.maybe("mode", str, what, "challenge-do-verify")
    if mode not in ("challenge-do-verify", "do-verify"):
        row.fail(f"the mode of {what} is '{mode}'; it must be challenge-do-verify or do-verify.")
    for item in rows:
        if not isinstance(item, Mapping):
            row.fail(f"an item of {what} is {item!r}, not a mapping; start it with '- item:'.")
    items = tuple(_item(r, f"{list_name}/{name}", v) for r in rows)
    for i, item in enumerate(items):
        for other in items[:i]:
            if other.id == item.id or (
                    other.challenge == item.challenge and other.applies == item.applies):
                rows[i].fail(f"{what} has '{item.challenge}' twice; each item needs its own "
                             "name and challenge.")
    return Section(name, row.need("title", str, what), mode,
                   row.need("completion", str, what), _applies(row, what), items)


def load_checklist(path: Path) -> Checklist:
    """Read and check one list. Errors name the file, line and item."""
    top = load_yaml(path)
    v = vocabulary()
    top.only({"checklist", "title", "applies", "at_once", "sections"}, "the checklist")
    name = top.need("checklist", str, "the checklist")
    rows = top.need("sections", list, "the checklist")
    if not rows:
        top.fail(f"checklist '{name}' has no sections; add one.")
    for row in rows:
        if not isinstance(row, Mapping):
            top.fail(f"a section of '{name}' is not a mapping; start it with '- section:'.")
    sections = tuple(_section(row, name, v) for row in rows)
    seen: set[str] = set()
    for section, row in zip(sections, rows, strict=True):
        if section.id in seen:
            row.fail(f"section '{section.id}' stands twice; give each its own name.")
        seen.add(section.id)
    return Checklist(name, top.need("title", str, "the checklist"), _applies(top, "the checklist"),
                     top.maybe("at_once", dict, "the checklist", {}), sections)


def load_checklists(folder: Path | None = None) -> dict[str, Checklist]:
    """All lists of the job, by name."""
    folder = folder or paths.CHECKLISTS
    lists = {}
    for name in LISTS:
        checklist = load_checklist(folder / f"{name}.yaml")
        lists[checklist.name] = checklist
    return lists
