"""Units, in one place: one pint registry, quantities from text, short names for writing."""

import re
from typing import Any

import pint

from assistant.errors import HosesideError

ureg: pint.UnitRegistry[Any] = pint.UnitRegistry()
ureg.define("dBA = [sound_level]")  # a level on its own scale: never mixed with ratios

Quantity = pint.Quantity[Any]

#: Spellings pint does not know, by the trade's habit.
ALIASES = {
    "gpm": "gallon / minute",
    "lpm": "liter / minute",
    "degf": "degF",
    "degc": "degC",
    "°f": "degF",
    "°c": "degC",
    "f": "degF",
    "c": "degC",
    "psi": "psi",
    "in": "inch",
    "gal": "gallon",
    "gal/min": "gallon / minute",
    "l/min": "liter / minute",
    "l": "liter",
    "db": "dBA",
    "dba": "dBA",
    "lbf": "force_pound",
    "a": "ampere",
    "v": "volt",
    "s": "second",
    "h": "hour",
    "%": "percent",
    "deg": "degree",
    "awg": "",
    "hp": "horsepower",
    "kw": "kilowatt",
    "w": "watt",
    "j": "joule",
    "cfm": "foot ** 3 / minute",
    "ft3": "foot ** 3",
    "ach": "1 / hour",
}

#: How a unit is written in JSON, on the screen and in the record.
SHORT = {
    "gallon / minute": "gal/min",
    "liter / minute": "L/min",
    "degree_Fahrenheit": "degF",
    "degree_Celsius": "degC",
    "pound_force_per_square_inch": "psi",
    "foot": "ft",
    "inch": "in",
    "gallon": "gal",
    "liter": "L",
    "second": "s",
    "minute": "min",
    "hour": "h",
    "ppm": "ppm",
    "force_pound": "lbf",
    "dimensionless": "",
    "percent": "%",
    "degree": "deg",
    "foot / second": "ft/s",
    "foot / minute": "ft/min",
    "volt": "V",
    "ampere": "A",
    "horsepower": "hp",
    "watt": "W",
    "force_pound / foot": "lbf/ft",
    "meter": "m",
    "bar": "bar",
    "kilopascal": "kPa",
    "joule": "J",
    "foot ** 3 / minute": "ft3/min",
    "foot ** 3": "ft3",
    "gram / hour": "g/h",
    "kelvin": "K",
    "delta_degree_Celsius": "K",
    "delta_degree_Fahrenheit": "delta_degF",
    "1 / hour": "1/h",
    "pound_force_per_square_inch * gallon / minute": "psi gal/min",
    "millimeter": "mm",
}


def unit(name: str) -> Any:
    """The pint unit for a written name such as 'gpm', 'psi' or 'gal/min'.

    Raises HosesideError if no such unit is known.
    """
    text = name.strip()
    try:
        return ureg.parse_units(ALIASES.get(text.lower(), text))
    except Exception:  # pint raises several unrelated kinds here
        raise HosesideError(f"'{name}' is not a unit known here; try psi, ft, gpm, degF.") from None


def quantity(value: float, unit_name: str) -> Quantity:
    """A pint quantity from a number and a written unit name.

    >>> quantity(1, "gpm").to("L/min").magnitude.__round__(3)
    3.785
    """
    return ureg.Quantity(float(value), unit(unit_name))


def short(u: Any) -> str:
    """The short written name of a pint unit.

    >>> short(unit("gpm"))
    'gal/min'
    """
    text = f"{u:D}" if u else ""
    return SHORT.get(text, text)


def same_kind(a: str, b: str) -> bool:
    """Whether two written units measure the same kind of thing."""
    return bool(unit(a).dimensionality == unit(b).dimensionality)


def convert(value: float, from_unit: str, to_unit: str) -> float:
    """A number converted between two written units of the same kind.

    >>> round(convert(100, "psi", "bar"), 3)
    6.895
    """
    return float(quantity(value, from_unit).to(unit(to_unit)).magnitude)


def parse_quantity(text: str) -> Quantity:
    """A written quantity such as '1/4 in', '200 ft', '4 gpm', '60 degF', '1 1/2 in' or '0.9'.

    Raises HosesideError saying how to write one.

    >>> parse_quantity("1 1/2 in").magnitude, parse_quantity("0.9").magnitude
    (1.5, 0.9)
    """
    match = _WRITTEN.fullmatch(text.strip())
    if not match:
        raise HosesideError(f"'{text}' is not a quantity; write a number and a unit, "
                            "such as '200 ft' or '1/4 in'.")
    whole, top, bottom, plain, name = match.groups()
    if plain is not None:
        value = float(plain)
    elif float(bottom) == 0:
        raise HosesideError(f"'{text}' divides by zero; write a number and a unit.")
    else:
        value = float(whole or 0) + float(top) / float(bottom)
    return quantity(value, name.strip())


_WRITTEN = re.compile(
    r"(?:(?:(\d+)\s+)?(\d+)\s*/\s*(\d+)|([-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?))\s*(.*)")
