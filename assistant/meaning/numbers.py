"""Spoken numbers, strictly: every form in use at the machine, and nothing that only looks like one.

Accepted: digits ("one two zero"), cardinals ("one hundred and twenty"), pairs ("one twenty",
"fifteen fifty"), hundreds of two figures ("twenty six hundred"), decimals ("four point five",
"four decimal five", "four and a half") and figures as a recogniser writes them ("1,550", "2 3 3").
A run of words that is not wholly one number is None, never a guess.
"""

from __future__ import annotations

import re

from assistant.meaning.vocabulary import Vocabulary, vocabulary

MAX_DIGITS = 11  # long runs are still one number; the range of the quantity decides later

_FIGURES = re.compile(r"\d+(\.\d+)?")


def parse_number(said: str, words: Vocabulary | None = None) -> float | None:
    """The number that `said` (lower-case words and figures) wholly is, else None.

    >>> parse_number("one twenty"), parse_number("four point five")
    (120.0, 4.5)
    >>> parse_number("fifty hundred zero") is None
    True
    """
    value, _ = number_and_form(said.split(), words or vocabulary())
    return value


def number_and_form(tokens: list[str], v: Vocabulary) -> tuple[float | None, str]:
    """The number and how it was said: 'digits', 'words', or 'none' with None."""
    if not tokens:
        return None, "none"
    if len(tokens) == 1 and _FIGURES.fullmatch(tokens[0]):
        text = tokens[0]
        form = "digits" if len(text) == 1 else "figures"
        return (float(text), form) if len(text) <= MAX_DIGITS else (None, "none")
    if tokens[-3:] == ["and", "a", "half"] and len(tokens) > 3:
        whole = _integer(tokens[:-3], v)
        return (None, "none") if whole is None else (whole + 0.5, "words")
    points = [i for i, t in enumerate(tokens) if t in v.point]
    if points:
        return _decimal(tokens, points, v)
    value = _integer(tokens, v)
    if value is None:
        return None, "none"
    return float(value), "digits" if _all_digits(tokens, v) is not None else "words"


def _decimal(tokens: list[str], points: list[int], v: Vocabulary) -> tuple[float | None, str]:
    if len(points) != 1:
        return None, "none"
    whole_words, after = tokens[: points[0]], tokens[points[0] + 1:]
    fraction = _all_digits(after, v)
    if fraction is None and len(after) == 1 and after[0].isdigit():
        fraction = after[0]
    whole = _integer(whole_words, v)
    if whole is None or fraction is None or len(fraction) > 3:
        return None, "none"
    return float(f"{whole}.{fraction}"), "words"


def _digit(token: str, v: Vocabulary) -> str | None:
    if token in v.digits:
        return str(v.digits[token])
    return token if len(token) == 1 and token.isdigit() else None


def _all_digits(tokens: list[str], v: Vocabulary) -> str | None:
    digits = [_digit(t, v) for t in tokens]
    for i in range(1, len(tokens) - 1):  # between two digits a sound-alike can only be one too
        if digits[i] is None and digits[i - 1] and digits[i + 1] and tokens[i] in v.digits_inside:
            digits[i] = str(v.digits_inside[tokens[i]])
    if not digits or None in digits or len(digits) > MAX_DIGITS:
        return None
    return "".join(d for d in digits if d)


def _integer(tokens: list[str], v: Vocabulary) -> int | None:
    digits = _all_digits(tokens, v)
    if digits is not None:
        return int(digits)
    for way in (_cardinal, _pairs):
        value = way(tokens, v)
        if value is not None:
            return value
    return None


def _two_figures(tokens: list[str], v: Vocabulary) -> int | None:
    """10 to 99, as one or two words or as figures."""
    if len(tokens) == 1:
        token = tokens[0]
        if token in v.teens or token in v.tens:
            return v.teens.get(token, v.tens.get(token))
        return int(token) if len(token) == 2 and token.isdigit() and token >= "10" else None
    if len(tokens) == 2 and tokens[0] in v.tens:
        unit = _digit(tokens[1], v)
        return v.tens[tokens[0]] + int(unit) if unit and unit != "0" else None
    return None


def _below_hundred(tokens: list[str], v: Vocabulary) -> int | None:
    if len(tokens) == 1 and (digit := _digit(tokens[0], v)) and digit != "0":
        return int(digit)
    return _two_figures(tokens, v)


def _split(tokens: list[str], at: frozenset[str]) -> tuple[list[str], list[str]] | None:
    for i, token in enumerate(tokens):
        if token in at:
            return tokens[:i], tokens[i + 1:]
    return None


def _rest(tokens: list[str], v: Vocabulary) -> list[str] | None:
    """What follows "hundred" or "thousand", without its "and"; None if only "and" is left."""
    if tokens and tokens[0] in v.and_:
        return tokens[1:] or None
    return tokens


def _below_thousand(tokens: list[str], v: Vocabulary) -> int | None:
    parts = _split(tokens, v.hundred)
    if parts is None:
        if len(tokens) == 1 and len(tokens[0]) == 3 and tokens[0].isdigit():
            return int(tokens[0])
        return _below_hundred(tokens, v)
    return _hundreds(*parts, v, most=9)


def _hundreds(before: list[str], after: list[str], v: Vocabulary, most: int) -> int | None:
    count = 1 if before == ["a"] else _below_hundred(before, v)
    rest = _rest(after, v)
    if count is None or rest is None or count > most or (count >= 10 and count % 10 == 0):
        return None
    tail = _below_hundred(rest, v) if rest else 0
    return None if tail is None else count * 100 + tail


def _cardinal(tokens: list[str], v: Vocabulary) -> int | None:
    parts = _split(tokens, v.thousand)
    if parts is None:
        hundreds = _split(tokens, v.hundred)
        if hundreds is not None:
            return _hundreds(*hundreds, v, most=99)
        return _below_thousand(tokens, v)
    before, after = parts
    count = 1 if before == ["a"] else _below_hundred(before, v)
    rest = _rest(after, v)
    if count is None or rest is None:
        return None
    tail = _below_thousand(rest, v) if rest else 0
    return None if tail is None else count * 1000 + tail


def _pairs(tokens: list[str], v: Vocabulary) -> int | None:
    """ "one twenty nine", "fifteen fifty", "twenty oh five": two groups of one or two figures."""
    for cut in range(1, len(tokens)):
        first = _below_hundred(tokens[:cut], v)
        second = _two_figures(tokens[cut:], v)
        last = tokens[cut:]
        if second is None and first is not None and first >= 10 and len(last) == 2:
            zero, digit = _digit(last[0], v), _digit(last[1], v)
            if zero == "0" and digit and digit != "0":
                second = int(digit)
        if first is not None and second is not None:
            return first * 100 + second
    return None
