"""Fakes and drivers for tests, kept in the package so that they keep its protocols."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from assistant import paths
from assistant.hearing.recogniser import Heard, Hypothesis
from assistant.job.decide import Begin, Input, Tick, decide, may_say
from assistant.job.events import Event
from assistant.job.plan import Plan, make_plan
from assistant.job.state import State, apply
from assistant.meaning.weigh import understand
from assistant.speaking.words import Saying, spoken


def shipped_profile(name: str = "engine-trailer") -> Path:
    """The file of a shipped equipment profile."""
    return paths.CHECKLISTS / "equipment" / f"{name}.yaml"


class RecordingVoice:
    """A voice that takes a set time over each sentence and remembers what it was given."""

    alive = True

    def __init__(self, seconds: float = 1.0) -> None:
        self.seconds = seconds
        self.said: list[tuple[str, bool]] = []
        self.cut_off: list[str] = []
        self._until = -1.0
        self._now = 0.0

    def begin(self, text: str, now: float, tone: bool = False, slow: bool = False) -> None:
        """Take `seconds` over a sentence."""
        self.said.append((text, tone))
        self._until = now + self.seconds

    def busy(self, now: float) -> bool:
        """Whether the sentence lasts still."""
        self._now = now
        return now < self._until

    def stop(self) -> None:
        """Cut it off, and remember which."""
        self.cut_off.append(self.said[-1][0])
        self._until = -1.0

    def close(self) -> None:
        """Nothing to close."""


class Rehearsal:
    """A job driven by typed lines, without sound or disk: what was decided and what was said."""

    def __init__(self, plan: Plan | None = None, title: str = "Test job", begin: bool = True
                 ) -> None:
        self.plan = plan or make_plan(shipped_profile())
        self.state = State()
        self.at = 0.0
        self.events: list[Event] = []
        self.said: list[Saying] = []
        if begin:
            self.give(Begin(title))

    def give(self, what: Input, after: float = 1.0) -> list[Event]:
        """Feed one input `after` seconds later; the events it led to."""
        self.at += after
        new = list(decide(self.plan, self.state, what, self.at))
        for event in new:
            before, self.state = self.state, apply(self.state, event)
            self.said += spoken(self.plan, before, event, self.state)
        self.events += new
        return new

    def say(self, *lines: str) -> list[Event]:
        """Type lines; the events of the last."""
        new: list[Event] = []
        for line in lines:
            heard = Heard(line, (Hypothesis(line, 0.0),), 1.0, 0.0)
            new = self.give(understand(heard, may_say(self.plan, self.state)))
        return new

    def quiet(self, seconds: float) -> list[Event]:
        """Let it be quiet for so long; the events of that time."""
        found: list[Event] = []
        since = 0.0
        for _ in range(int(seconds / 0.5)):
            since += 0.5
            new = self.give(Tick(since), after=0.5)
            if new:
                since = 0.0  # the tool has spoken
            found += new
        return found

    def last_words(self, count: int = 1) -> str:
        """The last sentences said, as one text."""
        return " ".join(s.text for s in self.said[-count:])

    def kinds(self) -> list[str]:
        """The kinds of all events."""
        return [type(event).__name__ for event in self.events]


SET_UP = ("four inches", "affirm", "eighty feet", "affirm", "two", "affirm", "grease",
          "tap", "warm", "lower")
PRE_START = ("worn", "worn", "worn", "worn", "clear", "outdoors", "clear", "clear", "full",
             "several feet", "braked", "full", "full", "clean", "loosened",
             "connected", "fully open", "clear", "thirty seconds", "affirm",
             "fifty five p s i", "affirm", "fifty degrees", "affirm")
START = ("fitted", "clear", "none", "past", "open", "shut off", "running",
         "fifty p s i", "affirm", "two thousand eight hundred", "affirm",
         "eighty decibels", "affirm", "twelve", "affirm")
FINISH = ("finish", "affirm", "shut off", "stopped", "closed", "no flow", "withdrawn", "running",
          "clean", "washed", "closed", "washed")


def rehearse(*parts: Sequence[str], plan: Plan | None = None) -> Rehearsal:
    """A rehearsal taken through parts of a job, such as SET_UP and PRE_START."""
    job = Rehearsal(plan)
    for part in parts:
        job.say(*part)
    return job
