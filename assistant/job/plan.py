"""What does not change during a job: the machine, the lists, and what each answer is worth."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from assistant import checklist, equipment
from assistant.checklist import Checklist, Item, Section, applies
from assistant.equipment import Equipment

ORDER = ("set-up", "pre-start", "start", "finish", "winterise")
"""The lists of a job; jetting comes between start and finish."""


@dataclass(frozen=True)
class Plan:
    """A machine and the lists to work through with it."""

    equipment: Equipment
    profile_text: str
    lists: Mapping[str, Checklist]

    @property
    def fingerprint(self) -> str:
        """Changes when any list does."""
        return hashlib.sha256(repr(sorted(self.lists.items())).encode()).hexdigest()[:16]

    def facts(self, learned: Mapping[str, str]) -> dict[str, str]:
        """Facts of the machine and of the job."""
        return {**self.equipment.facts(), **learned}

    def item(self, item_id: str) -> Item:
        """The item of an id."""
        return self.lists[item_id.split("/")[0]].item(item_id)

    def section(self, list_name: str, section_id: str) -> Section:
        """A section of a list."""
        return self.lists[list_name].section(section_id)

    def items(self, section: Section, learned: Mapping[str, str]) -> list[Item]:
        """The items of a section that apply now."""
        facts = self.facts(learned)
        return [i for i in section.items if applies(i.applies, facts)]


def make_plan(profile: Path, lists: Path | None = None) -> Plan:
    """A plan from an equipment profile and the lists of a folder (the shipped ones)."""
    machine = equipment.load_equipment(profile)
    return Plan(machine, profile.read_text(encoding="utf-8"), checklist.load_checklists(lists))
