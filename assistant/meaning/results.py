"""What an utterance can turn out to mean, each its own type; and what may be said now."""

from dataclasses import dataclass, field

CALLS = frozenset({"jet_on", "jet_off", "past_the_bend", "at_the_opening", "finish", "mark",
                   "stuck", "draining", "not_draining"})
"""Requests that are called out among readings while jetting, and so belong in their prompt."""


@dataclass(frozen=True)
class MaySay:
    """What may be said now. The job derives it from its state; hearing and meaning obey it."""

    requests: frozenset[str] = frozenset()
    """Names of requests that are open. "emergency" is always understood."""
    states: tuple[str, ...] = ()
    """The open item's own state words or choices, such as "open" or "tap"."""
    quantity: str | None = None
    """The quantity that was asked for; a bare number then means it."""
    readings: frozenset[str] = frozenset()
    """Quantities that may be called out by name."""
    number: bool = False
    """A bare number is understood although no quantity was asked for."""
    celsius: bool = False
    """ "degrees" alone means Celsius."""


@dataclass(frozen=True)
class Request:
    """A procedure word, such as confirm, say_again or emergency."""

    name: str


@dataclass(frozen=True)
class StateSaid:
    """The open item's own state word or one of its choices."""

    state: str


@dataclass(frozen=True)
class Reading:
    """A value for a quantity, in the unit said (or the quantity's own if none was)."""

    quantity: str
    value: float
    unit: str
    correction: bool = False
    digits: bool = False
    """It was, or may have been, said digit by digit: recognisers write figures for both."""


@dataclass(frozen=True)
class Number:
    """A bare number when no quantity was asked for."""

    value: float
    unit: str | None = None
    digits: bool = False


@dataclass(frozen=True)
class Misheard:
    """Not wholly something that may be said now."""

    text: str
    near: str | None = None
    """The quantity it began with, if it began with one: someone did mean the tool."""


@dataclass(frozen=True)
class OutOfRange:
    """A reading outside the plausible range of its quantity, in the quantity's own unit."""

    quantity: str
    value: float
    unit: str
    low: float
    high: float


@dataclass(frozen=True)
class WrongUnit:
    """A reading in a unit of another kind, such as feet for a pressure."""

    quantity: str
    value: float
    unit: str
    wanted: str


Refused = Misheard | OutOfRange | WrongUnit
Meaning = Request | StateSaid | Reading | Number | Misheard | OutOfRange | WrongUnit


@dataclass(frozen=True)
class Alternative:
    """One of several admissible meanings of an utterance, with its share of the belief."""

    meaning: Meaning
    text: str
    probability: float


@dataclass(frozen=True)
class Understood:
    """The result of the meaning stage for one utterance."""

    meaning: Meaning
    text: str
    score: float
    alternatives: tuple[Alternative, ...] = field(default=())
