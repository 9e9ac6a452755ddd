"""Numbers as they are spoken: in digits, in words, and both for a read-back."""

from __future__ import annotations

from assistant.meaning.vocabulary import vocabulary

_DIGITS = ("zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine")
_TEENS = ("ten", "eleven", "twelve", "thirteen", "fourteen", "fifteen", "sixteen", "seventeen",
          "eighteen", "nineteen")
_TENS = ("", "", "twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety")


def _plain(value: float) -> str:
    return f"{round(value, 3):.3f}".rstrip("0").rstrip(".")


def digits(value: float) -> str:
    """A number digit by digit.

    >>> digits(120), digits(4.5), digits(-3)
    ('one two zero', 'four decimal five', 'minus three')
    """
    names = {"-": "minus", ".": "decimal"}
    return " ".join(names.get(c) or _DIGITS[int(c)] for c in _plain(value))


def words(value: float) -> str:
    """A number in words.

    >>> words(120), words(1550), words(4.5)
    ('one hundred twenty', 'one thousand five hundred fifty', 'four point five')
    """
    text = _plain(abs(value))
    whole, _, fraction = text.partition(".")
    said = _whole(int(whole))
    if fraction:
        said += " point " + " ".join(_DIGITS[int(c)] for c in fraction)
    return f"minus {said}" if value < 0 else said


def _whole(n: int) -> str:
    if n >= 1000:
        rest = _whole(n % 1000) if n % 1000 else ""
        return f"{_whole(n // 1000)} thousand {rest}".strip()
    if n >= 100:
        rest = _whole(n % 100) if n % 100 else ""
        return f"{_DIGITS[n // 100]} hundred {rest}".strip()
    if n >= 20:
        return _TENS[n // 10] + (f" {_DIGITS[n % 10]}" if n % 10 else "")
    return _TEENS[n - 10] if n >= 10 else _DIGITS[n]


def said_unit(unit: str, value: float) -> str:
    """A written unit as it is spoken after a value.

    >>> said_unit("psi", 2), said_unit("ft", 1), said_unit("", 3)
    ('p s i', 'foot', '')
    """
    singular = {"ft": "foot", "in": "inch", "gal": "gallon", "s": "second", "min": "minute"}
    if unit == "":
        return ""
    if value == 1 and unit in singular:
        return singular[unit]
    return _OTHER_UNITS.get(unit) or vocabulary().spoken_unit(unit)


_OTHER_UNITS = {"%": "percent", "delta_degF": "degrees"}


def read_back(value: float, unit: str) -> str:
    """A value in both forms, so that fifteen and fifty show themselves.

    >>> read_back(120, "ft"), read_back(7, "ppm")
    ('one two zero, one hundred twenty feet', 'seven, seven parts per million')
    """
    return f"{digits(value)}, {words(value)} {said_unit(unit, value)}".strip()


def rounded(value: float) -> float:
    """A worked-out value to two significant figures: enough to say.

    >>> rounded(1987.0), rounded(6.04), rounded(0.512)
    (2000.0, 6.0, 0.51)
    """
    return float(f"{value:.2g}")


def about(value: float, unit: str) -> str:
    """A worked-out value, rounded.

    >>> about(1987, "psi")
    'two thousand p s i'
    """
    value = rounded(value)
    return f"{words(value)} {said_unit(unit, value)}".strip()
