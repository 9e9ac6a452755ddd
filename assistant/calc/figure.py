"""What a figure is: a function from quantities to quantities whose edge is checked.

Inside, every number is SI; `figure` converts on the way in, refuses what lies outside the range
in which the formula holds, and converts on the way out. The same description feeds
`hoseside figure --list`, the docstrings and the record.
"""

from __future__ import annotations

import functools
import inspect
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any

from assistant.errors import HosesideError
from assistant.units import Quantity, short, unit, ureg

Exposures = tuple[tuple[Quantity, Quantity], ...]
"""Levels with how long each lasted, such as (95 dBA, 3 h)."""


class OutsideRange(HosesideError):
    """An input for which the formula does not hold. It names the input, its value and the range."""

    def __init__(self, figure: str, name: str, value: str, wanted: str) -> None:
        self.figure, self.name, self.value, self.wanted = figure, name, value, wanted
        super().__init__(f"{figure}: {name} was {value}; it must be {wanted}.")


@dataclass(frozen=True)
class Input:
    """One input of a figure."""

    unit: str
    """The unit it is shown in, and meant when a bare number is given on a dimensionless one."""
    low: float = 0.0
    high: float = float("inf")
    """Range in that unit in which the formula holds, ends included."""
    default: float | None = None
    """In that unit; None where the input is needed."""
    about: str = ""
    many: bool = False
    """A list of values, each checked alone."""

    @property
    def allowed(self) -> str:
        """The range in words."""
        u = f" {short(unit(self.unit))}" if self.unit else ""
        if self.high == float("inf"):
            return f"{self.low:g}{u} or more"
        return f"from {self.low:g} to {self.high:g}{u}"


@dataclass(frozen=True)
class Outcome:
    """What the inside of a figure hands back: SI numbers by name, and what to say with them."""

    values: Mapping[str, float]
    notes: tuple[str, ...] = ()
    uncertainty: Mapping[str, float] = field(default_factory=dict)
    """Relative, such as 0.2; for the values that are only known about so well."""


@dataclass(frozen=True)
class Result:
    """A worked-out figure."""

    name: str
    values: Mapping[str, Quantity]
    notes: tuple[str, ...]
    sources: tuple[str, ...]
    uncertainty: Mapping[str, float]

    def __getitem__(self, key: str) -> Quantity:
        return self.values[key]

    def number(self, key: str, unit_name: str) -> float:
        """One value as a number in a written unit."""
        return float(self.values[key].to(unit(unit_name)).magnitude)

    def as_json(self) -> dict[str, Any]:
        """The JSON form: values with units, notes, sources, uncertainty."""
        return {
            "name": self.name,
            "results": {k: {"value": float(q.magnitude), "unit": short(q.units)}
                        for k, q in self.values.items()},
            "notes": list(self.notes),
            "sources": list(self.sources),
            "uncertainty": dict(self.uncertainty),
        }


@dataclass(frozen=True)
class Description:
    """A figure as the list shows it."""

    name: str
    about: str
    takes: Mapping[str, Input]
    gives: Mapping[str, str]
    """Output -> the unit it comes in."""
    sources: tuple[str, ...]
    function: Callable[..., Result]


FIGURES: dict[str, Description] = {}
"""Every figure by name; filled as the modules are imported (see `all_figures`)."""


def figure(
    name: str, *, takes: Mapping[str, Input], gives: Mapping[str, str], sources: tuple[str, ...]
) -> Callable[[Callable[..., Outcome]], Callable[..., Result]]:
    """Make a public figure of a function over SI numbers."""

    def wrap(inside: Callable[..., Outcome]) -> Callable[..., Result]:
        parameters = list(inspect.signature(inside).parameters)
        if parameters != list(takes):
            raise TypeError(f"{name}: described inputs {list(takes)} are not {parameters}")

        @functools.wraps(inside)
        def public(*args: Any, **kwargs: Any) -> Result:
            given = dict(zip(parameters, args, strict=False)) | kwargs
            for key in given:
                if key not in takes:
                    raise HosesideError(
                        f"{name}: there is no input '{key}'; inputs are {', '.join(takes)}.")
            si = {key: _to_si(name, key, spec, given.get(key)) for key, spec in takes.items()}
            outcome = inside(**si)
            missing = set(gives) ^ set(outcome.values)
            if missing:
                raise TypeError(f"{name}: results {missing} are described or given, not both")
            values = {key: _from_si(value, gives[key]) for key, value in outcome.values.items()}
            return Result(name, values, outcome.notes, sources, outcome.uncertainty)

        about = " ".join((inside.__doc__ or "").split("\n\n")[0].split())
        public.__doc__ = (inside.__doc__ or "") + _range_lines(takes, gives, sources)
        FIGURES[name] = Description(name, about, takes, gives, sources, public)
        return public

    return wrap


def _range_lines(
    takes: Mapping[str, Input], gives: Mapping[str, str], sources: tuple[str, ...]
) -> str:
    lines = ["", "", "    Inputs, with the range outside which OutsideRange is raised:"]
    lines += [f"        {k}: {i.allowed}{'' if i.default is None else f' (default {i.default:g})'}"
              for k, i in takes.items()]
    lines.append("    Results: " + ", ".join(f"{k} [{u or '-'}]" for k, u in gives.items()))
    lines.append("    Sources: " + "; ".join(sources))
    return "\n".join(lines) + "\n"


def _to_si(figure_name: str, key: str, spec: Input, value: Any) -> Any:
    if value is None:
        if spec.default is None:
            raise HosesideError(f"{figure_name}: the input '{key}' is missing; give "
                                f"{key}, {spec.allowed}.")
        value = ureg.Quantity(spec.default, unit(spec.unit))
    if spec.many:
        return tuple(_one_to_si(figure_name, key, spec, v) for v in value)
    return _one_to_si(figure_name, key, spec, value)


def _one_to_si(figure_name: str, key: str, spec: Input, value: Any) -> float:
    if isinstance(value, int | float) and not isinstance(value, bool):
        if unit(spec.unit).dimensionality != unit("").dimensionality:
            raise HosesideError(
                f"{figure_name}: {key} was {value} without a unit; write it with one, "
                f"such as {value} {short(unit(spec.unit))}.")
        value = ureg.Quantity(float(value), unit(spec.unit))
    if not value.is_compatible_with(unit(spec.unit)):
        raise HosesideError(
            f"{figure_name}: {key} was {value:~}, not something measured in "
            f"{short(unit(spec.unit))}; it must be {spec.allowed}.")
    shown = float(value.to(unit(spec.unit)).magnitude)
    slack = 1e-9 * max(1.0, abs(spec.low), abs(shown))
    if not spec.low - slack <= shown <= spec.high + slack:  # NaN fails too
        raise OutsideRange(
            figure_name, key, f"{shown:g} {short(unit(spec.unit))}".strip(), spec.allowed)
    return float(value.to_base_units().magnitude)


def _from_si(value: float, unit_name: str) -> Quantity:
    target = unit(unit_name)
    base = ureg.Quantity(1.0, target).to_base_units().units
    return ureg.Quantity(value, base).to(target)
