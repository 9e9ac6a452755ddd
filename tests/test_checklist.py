"""Checklists: the shipped ones keep the rules, and a broken one names file, line and item."""

import re

import pytest

from assistant import paths
from assistant.checklist import (
    LISTS,
    MOST_ITEMS,
    MOST_WORDS,
    applies,
    load_checklist,
    load_checklists,
)
from assistant.errors import HosesideError
from assistant.job.plan import make_plan
from assistant.job.workings import WORKINGS
from assistant.limits import limits
from assistant.meaning.vocabulary import vocabulary
from assistant.testing import shipped_profile

FILES = sorted(paths.CHECKLISTS.glob("*.yaml"))

GOOD = """\
checklist: test
title: Test
sections:
  - section: one
    title: One
    completion: One complete
    items:
      - item: valve
        challenge: Valve?
        answer: open
        source: none
"""


@pytest.mark.parametrize("path", FILES, ids=lambda p: p.stem)
def test_shipped_checklist_loads(path):
    """Every shipped list is sound."""
    assert load_checklist(path).sections


def test_all_lists_of_the_job_are_shipped():
    """Set-up to winterising, and the emergency."""
    assert set(load_checklists()) == set(LISTS)


def shipped_items():
    """All items of all lists."""
    return [i for c in load_checklists().values() for s in c.sections for i in s.items]


def test_rules_of_layout():
    """At most seven items a section, five words a challenge (NASA CR-177549 and the issue)."""
    for checklist in load_checklists().values():
        for section in checklist.sections:
            assert len(section.items) <= MOST_ITEMS
            assert section.completion
    for item in shipped_items():
        assert len(item.challenge.split()) <= MOST_WORDS, item.id


def test_a_section_can_be_said_within_ninety_seconds():
    """At 150 words a minute, all challenges of a section and two seconds an answer."""
    for checklist in load_checklists().values():
        if checklist.name == "emergency":
            continue  # its steps are told, one at a time, as long as they must be
        for section in checklist.sections:
            count = sum(len(f"{i.challenge} {i.caution} {i.say}".split()) for i in section.items)
            assert count / 150 * 60 + 2 * len(section.items) < 90, section.id


def test_what_items_name_exists():
    """Limits and figures that items name are there, and every source is given."""
    names = {x.name for x in limits()}
    for item in shipped_items():
        assert set(item.limits) <= names, item.id
        assert set(item.compute) <= set(WORKINGS), item.id
        assert item.source, item.id
        for limit in item.limits:
            assert next(x for x in limits() if x.name == limit).holds, (item.id, limit)


def test_no_state_word_is_a_procedure_word_or_another_items_hazard():
    """A state word must never be taken for confirm or deny."""
    taken = set(vocabulary().requests)
    for item in shipped_items():
        for state in item.states:
            assert tuple(state.split()) not in taken


BROKEN = [
    ("challenge: Valve?", "challenge: Is the main inlet valve open now?",
     r"line 8: .*'valve' has 7 words"),
    ("answer: open", "answer: checked", r"line 8: .*'valve' is 'checked'"),
    ("answer: open", "answer: affirm", r"line 8: .*'valve' is 'affirm'"),
    ("answer: open", "answer: on", r"line 8: .*'valve'.*quotes"),
    ("        answer: open\n", "", r"line 8: item 'valve' needs exactly one"),
    ("answer: open", "reading: water colour", r"line 8: .*'water colour'.*not a known quantity"),
    ("answer: open", "answer: open\n        hazard: true", r"line 8: .*'valve' is a hazard"),
    ("answer: open", "answer: open\n        remdy: x", r"line 8: .*unknown key 'remdy'"),
    ("        source: none\n", "", r"line 8: item 'valve' lacks 'source'"),
    ("    completion: One complete\n", "", r"line 4: section 'one' lacks 'completion'"),
    ("checklist: test", "checklist: [", r"line \d+: not valid YAML"),
    ("answer: open", "choose: {supply: tap}", r"line 8: .*two or more words"),
    ("title: Test", "title: Test\ntitle: Twice", r"line 3: 'title' stands twice"),
]


@pytest.mark.parametrize(("old", "new", "message"), BROKEN)
def test_broken_checklist_names_file_line_and_item(tmp_path, old, new, message):
    """One sentence: the file, the line, the item, the mend."""
    path = tmp_path / "broken.yaml"
    path.write_text(GOOD.replace(old, new, 1))
    with pytest.raises(HosesideError) as error:
        load_checklist(path)
    assert str(error.value).startswith(f"{path}, line ")
    assert re.search(message, str(error.value)), str(error.value)


def test_too_many_items(tmp_path):
    """Eight items want a split."""
    item = GOOD[GOOD.index("      - item"):]
    more = "".join(item.replace("valve", f"v{i}").replace("Valve", f"Valve {i}") for i in range(8))
    path = tmp_path / "long.yaml"
    path.write_text(GOOD.replace(item, more))
    with pytest.raises(HosesideError, match="has 8 items; split it"):
        load_checklist(path)


def test_items_apply_by_the_machine():
    """An electric cart is asked about its cord, an engine about its exhaust, never both."""
    for name, mine, other in (("electric-cart", "electric", "engine"),
                              ("engine-trailer", "engine", "electric")):
        plan = make_plan(shipped_profile(name))
        facts = plan.facts({})
        sections = {s.id for s in plan.lists["pre-start"].sections if applies(s.applies, facts)}
        assert mine in sections and other not in sections
