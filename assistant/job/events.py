"""Everything that can have happened in a job, as frozen past-tense facts.

Each carries `at`, seconds on the job's clock. A stored event is its kind (the class name), its
version and its fields; see `to_record` and `from_record`.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from assistant.errors import HosesideError

VERSION = 1
"""Version of the event fields below; raise it when one changes meaning, and add an upgrade."""

UPGRADES: dict[tuple[str, int], Callable[[dict[str, Any]], dict[str, Any]]] = {}
"""(kind, version) -> the fields of the next version. Applied on read, one version at a time; the
file itself is never rewritten."""


@dataclass(frozen=True)
class Event:
    """Something that happened at a time [s]."""

    at: float


@dataclass(frozen=True)
class JobStarted(Event):
    """A job was opened with an equipment profile (its text, so that a replay needs no file)."""

    title: str
    profile: str
    lists: str
    """Fingerprint of the checklists in use."""


@dataclass(frozen=True)
class JobResumed(Event):
    """The tool was started again on an unfinished job."""


@dataclass(frozen=True)
class SpeechHeard(Event):
    """An utterance, and how it was understood."""

    text: str
    meaning: str
    score: float


@dataclass(frozen=True)
class AudioKept(Event):
    """The sound in which a value was heard was kept beside the log, by the operator's choice."""

    quantity: str
    sha256: str


@dataclass(frozen=True)
class AudioKeepingBegan(Event):
    """Sound of confirmed values is kept from here on; it is said aloud."""


@dataclass(frozen=True)
class FactLearned(Event):
    """Something about the job that decides which items apply."""

    name: str
    value: str


@dataclass(frozen=True)
class ListOpened(Event):
    """A checklist was begun."""

    list: str


@dataclass(frozen=True)
class ListPassedOver(Event):
    """A checklist does not apply to this job."""

    list: str


@dataclass(frozen=True)
class SectionOpened(Event):
    """A section was begun."""

    list: str
    section: str


@dataclass(frozen=True)
class ItemAsked(Event):
    """A challenge was put."""

    item: str


@dataclass(frozen=True)
class AskedAgain(Event):
    """The open question was put again: "misheard", "digits", "silence" or "request"."""

    how: str


@dataclass(frozen=True)
class ItemConfirmed(Event):
    """An item was answered with its state, or its reading was logged and is within limits."""

    item: str
    answer: str


@dataclass(frozen=True)
class ItemDenied(Event):
    """An item was answered no; it stays open until mended."""

    item: str


@dataclass(frozen=True)
class ItemHeld(Event):
    """A reading passed a limit that holds its item open."""

    item: str
    limit: str


@dataclass(frozen=True)
class ItemNotFitted(Event):
    """An item does not apply to this machine, said the operator."""

    item: str


@dataclass(frozen=True)
class ItemParked(Event):
    """An item was left open: "skipped", "not understood" or "no answer"."""

    item: str
    why: str


@dataclass(frozen=True)
class SkipRefused(Event):
    """An item that cannot be left out was asked to be."""

    item: str


@dataclass(frozen=True)
class SectionClosed(Event):
    """Every item of a section was done or named as left open."""

    list: str
    section: str
    parked: tuple[str, ...]


@dataclass(frozen=True)
class ListClosed(Event):
    """Every section of a list was closed."""

    list: str


@dataclass(frozen=True)
class ValueOffered(Event):
    """A value was heard and read back; it counts for nothing yet.

    `doubt` is "" when only an affirm is wanted, else why it must be said digit by digit first.
    """

    quantity: str
    value: float
    unit: str
    item: str | None
    doubt: str = ""


@dataclass(frozen=True)
class ValueRefused(Event):
    """Something that should have been a value was not: "misheard", "out of range", "wrong unit"."""

    quantity: str | None
    why: str
    detail: str


@dataclass(frozen=True)
class ValueDropped(Event):
    """A pending value was let go unlogged: "denied", "disregarded", "corrected", "no answer",
    "not understood"."""

    quantity: str
    value: float
    unit: str
    why: str


@dataclass(frozen=True)
class ValueConfirmed(Event):
    """A value was affirmed after its read-back: only this makes it true."""

    quantity: str
    value: float
    unit: str
    item: str | None


@dataclass(frozen=True)
class FigureWorkedOut(Event):
    """A calculation from logged readings."""

    figure: str
    inputs: Mapping[str, str]
    results: Mapping[str, tuple[float, str]]
    said: str
    notes: tuple[str, ...]
    sources: tuple[str, ...]


@dataclass(frozen=True)
class WarningRaised(Event):
    """A limit was passed."""

    limit: str
    priority: str
    say: str
    do: str
    value: float
    unit: str


@dataclass(frozen=True)
class WarningRepeated(Event):
    """A warning was spoken again by its rule."""

    limit: str


@dataclass(frozen=True)
class WarningAcknowledged(Event):
    """The operator acknowledged a warning."""

    limit: str


@dataclass(frozen=True)
class WarningCleared(Event):
    """A later value is within the limit again."""

    limit: str


@dataclass(frozen=True)
class JettingBegan(Event):
    """The start list was closed; hose calls are awaited."""


@dataclass(frozen=True)
class JetTurnedOn(Event):
    """The jet was called on."""


@dataclass(frozen=True)
class JetTurnedOff(Event):
    """The jet was called off."""


@dataclass(frozen=True)
class HoseMoved(Event):
    """The hose position followed from a call; all in feet."""

    out: float
    pulled: float
    """How far it came back with this call; 0 when it went in."""


@dataclass(frozen=True)
class BendPassed(Event):
    """The nozzle was called past the first bend."""


@dataclass(frozen=True)
class OpeningReached(Event):
    """The nozzle was called at the opening."""


@dataclass(frozen=True)
class StuckCalled(Event):
    """The hose was called stuck, for the `tries`-th time since it last moved."""

    tries: int


@dataclass(frozen=True)
class DrainSeen(Event):
    """Whether water was called as leaving the line."""

    running: bool


@dataclass(frozen=True)
class CallRefused(Event):
    """A call that cannot be right now, and why."""

    why: str


@dataclass(frozen=True)
class ReminderGiven(Event):
    """A reminder by time."""

    what: str


@dataclass(frozen=True)
class FinishAsked(Event):
    """The operator said finish; it is asked back first."""


@dataclass(frozen=True)
class FinishDropped(Event):
    """Not finished after all."""


@dataclass(frozen=True)
class JettingEnded(Event):
    """Finish was affirmed."""


@dataclass(frozen=True)
class StoodBy(Event):
    """The list was paused: "operator", "silence", "microphone lost" and the like."""

    why: str


@dataclass(frozen=True)
class WentAhead(Event):
    """The list was taken up again."""


@dataclass(frozen=True)
class HelpGiven(Event):
    """What may be said now was spoken."""


@dataclass(frozen=True)
class LastReadBack(Event):
    """The last logged value was said again."""


@dataclass(frozen=True)
class EmergencyCalled(Event):
    """The word was heard."""


@dataclass(frozen=True)
class EmergencyEnded(Event):
    """The emergency list was closed; the job is where it was, with the jet taken as off."""


@dataclass(frozen=True)
class FaultNoticed(Event):
    """A device fault: "microphone lost", "sound lost"..."""

    what: str


@dataclass(frozen=True)
class FaultMended(Event):
    """The device is back."""

    what: str


@dataclass(frozen=True)
class JobFinished(Event):
    """All lists are done."""


KINDS: dict[str, type[Event]] = {
    cls.__name__: cls for cls in list(globals().values())
    if isinstance(cls, type) and issubclass(cls, Event) and cls is not Event}


def to_record(event: Event) -> dict[str, Any]:
    """Kind, version and fields of an event, ready for JSON."""
    return {"kind": type(event).__name__, "version": VERSION,
            "fields": {f.name: getattr(event, f.name) for f in dataclasses.fields(event)}}


def from_record(record: Mapping[str, Any]) -> Event:
    """An event from what `to_record` gave. An unknown kind or version raises HosesideError."""
    kind, version = record.get("kind"), record.get("version")
    if kind not in KINDS:
        raise HosesideError(f"The log holds an event of unknown kind '{kind}'; "
                            "it was written by a newer Hoseside, so open it with that.")
    fields = dict(record["fields"])
    while isinstance(version, int) and version < VERSION and (kind, version) in UPGRADES:
        fields = UPGRADES[kind, version](fields)
        version += 1
    if version != VERSION:
        raise HosesideError(f"The log holds '{kind}' in version {version}, this Hoseside knows "
                            f"version {VERSION}; open it with a newer one.")
    for f in dataclasses.fields(KINDS[kind]):
        if isinstance(fields.get(f.name), list):
            fields[f.name] = tuple(fields[f.name])
    if kind == "FigureWorkedOut":
        fields["results"] = {k: tuple(v) for k, v in fields["results"].items()}
    try:
        return KINDS[kind](**fields)
    except TypeError as error:
        raise HosesideError(f"The log holds a '{kind}' with wrong fields ({error}).") from None


__all__ = [*KINDS, "KINDS", "Event", "from_record", "to_record"]
