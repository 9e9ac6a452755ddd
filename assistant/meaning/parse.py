"""The strict parser: an utterance is wholly one of the things that may be said now, or refused."""

from __future__ import annotations

import re

from assistant.meaning.numbers import number_and_form
from assistant.meaning.results import (
    MaySay,
    Meaning,
    Misheard,
    Number,
    OutOfRange,
    Reading,
    Request,
    StateSaid,
    WrongUnit,
)
from assistant.meaning.vocabulary import QuantityWords, Vocabulary, vocabulary
from assistant.units import convert, same_kind

EMERGENCY_WORDS = 3
"""An utterance this short that has "emergency" in it is one; a sentence about one is not."""


def words_of(text: str) -> list[str]:
    """An utterance as lower-case words: punctuation gone, figures kept whole.

    >>> words_of("Pump pressure: 1,550 P.S.I., four-point-five.")
    ['pump', 'pressure', '1550', 'psi', 'four', 'point', 'five']
    """
    text = _said_once(text.lower())
    text = re.sub(r"\b((?:[a-z]\.){2,})", lambda m: m.group(1).replace(".", ""), text)
    text = re.sub(r"\d(?:\.\d){2,}", lambda m: m.group(0).replace(".", " "), text)
    text = re.sub(r"(\d),(\d{3})(?!\d)", r"\1\2", text)
    text = re.sub(r"(\d)[-/](?=\d)", r"\1 ", text)
    text = re.sub(r"(\d)(?=[a-z°])", r"\1 ", text)
    text = text.replace("°", " degrees ")
    text = re.sub(r"(?<!\d)\.|\.(?!\d)", " ", text)
    return re.sub(r"[^a-z0-9.']+", " ", text).split()


def _said_once(text: str) -> str:
    """A recogniser repeats short utterances ("43. 43."): equal parts are one, but for digits."""
    for marks in (r"[.!?;]+(?:\s+|$)", r"[.,!?;]+(?:\s+|$)"):
        parts = [part.strip() for part in re.split(marks, text) if part.strip()]
        if len(parts) > 1 and len(set(parts)) == 1 and not re.fullmatch(r"\d", parts[0]):
            return parts[0]
    return text


def parse(text: str, may: MaySay, words: Vocabulary | None = None) -> Meaning:
    """The one meaning of `text` given what may be said now.

    Anything that is not wholly an admissible phrase is Misheard; a reading outside its range
    or in a unit of another kind is told apart. Never raises.

    >>> parse("Hose out one twenty feet.", MaySay(readings=frozenset({"hose out"})))
    Reading(quantity='hose out', value=120.0, unit='ft', correction=False, digits=False)
    """
    v = words or vocabulary()
    tokens = words_of(text)
    while tokens and tokens[0] in v.fillers:
        tokens = tokens[1:]
    if not tokens:
        return Misheard(text)
    tokens = _mended(tokens, v)
    phrase = _unrepeated(tokens, v)
    variant = list(v.heard_for.get(tuple(phrase), ()))
    for candidate in (variant, tokens, phrase):
        found = _phrase(candidate, may, v)
        if found is not None:
            return found
    correction = tokens[0] == "correction" and "correction" in may.requests
    if correction:
        tokens = tokens[1:]
    return _value(text, _unrepeated_reading(tokens, v), may, correction, v)


def _mended(tokens: list[str], v: Vocabulary) -> list[str]:
    """Near spellings of whole multi-word names, put right ("stopage at" -> "stoppage at")."""
    for wrong, right in v.spelt_as.items():
        for i in range(len(tokens) - len(wrong) + 1):
            if tuple(tokens[i:i + len(wrong)]) == wrong:
                tokens = [*tokens[:i], *right, *tokens[i + len(wrong):]]
                break
    return tokens


def _phrase(tokens: list[str], may: MaySay, v: Vocabulary) -> Meaning | None:
    said = " ".join(tokens)
    if "emergency" in tokens and len(tokens) <= EMERGENCY_WORDS:
        return Request("emergency")
    if said in may.states:
        return StateSaid(said)
    name = v.requests.get(tuple(tokens))
    if name in may.requests and name is not None:
        return Request(name)
    return None


def _unrepeated(tokens: list[str], v: Vocabulary) -> list[str]:
    """ "yes yes" is one yes. Only for words that are not numbers: "one one" is eleven."""
    for size in range(1, len(tokens) // 2 + 1):
        if len(tokens) % size == 0 and tokens[:size] * (len(tokens) // size) == tokens:
            return tokens if _is_numberish(tokens[:size], v) else tokens[:size]
    return tokens


def _unrepeated_reading(tokens: list[str], v: Vocabulary) -> list[str]:
    """A reading said twice in one breath, with its quantity each time, is one reading."""
    half = len(tokens) // 2
    if len(tokens) % 2 == 0 and tokens[:half] == tokens[half:] and _quantity(tokens, v)[0]:
        return tokens[:half]
    return tokens


def _is_numberish(tokens: list[str], v: Vocabulary) -> bool:
    known = (v.digits, v.teens, v.tens, v.hundred, v.thousand)
    return any(t[0].isdigit() or any(t in table for table in known) for t in tokens)


def _quantity(tokens: list[str], v: Vocabulary) -> tuple[QuantityWords | None, list[str]]:
    for name, quantity in v.quantities.items():
        words = name.split()
        if tokens[: len(words)] == words:
            rest = tokens[len(words):]
            while rest and rest[0] in v.links:
                rest = rest[1:]
            return quantity, rest
    return None, tokens


def _unit(tokens: list[str], may: MaySay, v: Vocabulary) -> tuple[str | None, list[str]]:
    """The unit at the end of the words, and what is left before it."""
    for size in range(min(4, len(tokens) - 1), 0, -1):
        written = v.units.get(tuple(tokens[-size:]))
        if written is not None:
            return written, tokens[:-size]
    if len(tokens) > 1 and tokens[-1] in v.degrees:
        return ("degC" if may.celsius else "degF"), tokens[:-1]
    return None, tokens


def _value(
    text: str, tokens: list[str], may: MaySay, correction: bool, v: Vocabulary
) -> Meaning:
    named, rest = _quantity(tokens, v)
    near = named.name if named else None
    unit, figures = _unit(rest, may, v)
    value, form = number_and_form(figures, v)
    if value is None:
        return Misheard(text, near)
    digits = form in ("digits", "figures")  # a recogniser writes "one one five" as 115
    if named is None:
        if may.quantity is None:
            return Number(value, unit, digits) if may.number else Misheard(text)
        named = v.quantities[may.quantity]
    elif named.name != may.quantity and named.name not in may.readings:
        return Misheard(text, near)
    return _reading(text, named, value, unit, correction, digits)


def _reading(
    text: str, quantity: QuantityWords, value: float, unit: str | None,
    correction: bool, digits: bool,
) -> Meaning:
    unit = quantity.unit if unit is None else unit
    if not same_kind(unit, quantity.unit):
        return WrongUnit(quantity.name, value, unit, quantity.unit)
    own = convert(value, unit, quantity.unit)
    if not quantity.low <= own <= quantity.high:
        return OutOfRange(quantity.name, value, unit, quantity.low, quantity.high)
    if quantity.whole and unit == quantity.unit and value != int(value):
        return Misheard(text, quantity.name)
    return Reading(quantity.name, value, unit, correction, digits)
