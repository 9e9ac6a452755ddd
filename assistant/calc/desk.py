"""Figures by name with written inputs: what `hoseside figure` does."""

from __future__ import annotations

import importlib
import json
import pkgutil
from collections.abc import Sequence
from typing import Any

import assistant.calc
from assistant import paths
from assistant.calc.choose import choose
from assistant.calc.figure import FIGURES, Description, Input
from assistant.equipment import load_equipment
from assistant.errors import HosesideError
from assistant.units import Quantity, parse_quantity, short, unit


def all_figures() -> dict[str, Description]:
    """Every figure by name, all modules of the package imported."""
    for module in pkgutil.iter_modules(assistant.calc.__path__):
        importlib.import_module(f"assistant.calc.{module.name}")
    return FIGURES


def described_figure(name: str) -> Description:
    """The figure of a name; HosesideError naming near ones."""
    found = all_figures().get(name)
    if found is None:
        raise HosesideError(f"There is no figure '{name}'; 'hoseside figure --list' shows "
                            f"all: {', '.join([*sorted(FIGURES), 'choose'])}.")
    return found


def _pairs(inputs: Sequence[str]) -> dict[str, str]:
    given = {}
    for text in inputs:
        key, equals, value = text.partition("=")
        if not equals or not value:
            raise HosesideError(f"'{text}' is not an input; write key=value, such as "
                                "length='200 ft'.")
        if key in given:
            raise HosesideError(f"'{key}' is given twice; keep one.")
        given[key] = value
    return given


def _value(figure: str, key: str, spec: Input, text: str) -> Quantity | list[Quantity]:
    try:
        if spec.many:
            return [parse_quantity(part) for part in text.split(",")]
        return parse_quantity(text)
    except HosesideError as error:
        raise HosesideError(f"{figure}: {key}: {error}") from None


def _spread_exposures(figure: str, given: dict[str, str]) -> dict[str, str]:
    """ "95dBA:3h,85dBA:5h" as levels and hours."""
    text = given.get("exposures")
    if text is None or ":" not in text:
        return given
    levels, hours = [], []
    for part in text.split(","):
        level, colon, time = part.partition(":")
        if not colon:
            raise HosesideError(f"{figure}: '{part}' is not an exposure; write level:time, "
                                "such as 95dBA:3h.")
        levels.append(level)
        hours.append(time)
    return {**given, "exposures": ",".join(levels), "hours": ",".join(hours)}


def inputs_of(name: str, inputs: Sequence[str]) -> dict[str, Any]:
    """The quantities that "key=value" texts give for a figure."""
    found = described_figure(name)
    given = _spread_exposures(name, _pairs(inputs))
    for key in given:
        if key not in found.takes:
            raise HosesideError(f"{name}: there is no input '{key}'; inputs are "
                                f"{', '.join(found.takes)}.")
    return {k: _value(name, k, found.takes[k], text) for k, text in given.items()}


def work(name: str, inputs: Sequence[str]) -> dict[str, Any]:
    """Work a figure out from "key=value" texts; the JSON form of its result."""
    if name == "choose":
        return choose(**choose_inputs(inputs)).as_json()
    return described_figure(name).function(**inputs_of(name, inputs)).as_json()


CHOOSE_INPUTS = ("line", "length", "bends", "stoppage", "profile", "supply")


def choose_inputs(inputs: Sequence[str]) -> dict[str, Any]:
    """The same for `choose`, whose profile is a shipped name or a file."""
    given = _pairs(inputs)
    for key in given:
        if key not in CHOOSE_INPUTS:
            raise HosesideError(f"choose: there is no input '{key}'; inputs are "
                                f"{', '.join(CHOOSE_INPUTS)}.")
    for key in ("line", "length"):
        if key not in given:
            raise HosesideError(f"choose: the input '{key}' is missing; give {key}='4 in' or so.")
    profile = paths.profile_path(given.get("profile", "engine-trailer"))
    wanted = {"line": "in", "length": "ft", "supply": "gpm", "bends": ""}
    read = {k: parse_quantity(v) for k, v in given.items() if k in wanted}
    for key, value in read.items():
        if not value.is_compatible_with(unit(wanted[key])):
            raise HosesideError(f"choose: {key} was {given[key]}, not something measured in "
                                f"{short(unit(wanted[key])) or 'a plain number'}.")
    bends = round(float(read.pop("bends").magnitude)) if "bends" in read else 0
    return {**read, "bends": bends, "stoppage": given.get("stoppage", "unknown"),
            "equipment": load_equipment(profile)}


def described(result: dict[str, Any]) -> str:
    """A result as lines for a person."""
    lines = []
    for key, found in result["results"].items():
        value = found["value"]
        text = f"{value:.4g}" if isinstance(value, float) else str(value)
        share = result.get("uncertainty", {}).get(key)
        about = f"  (about: plus or minus {share * 100:.0f} %)" if share else ""
        lines.append(f"{key.replace('_', ' ')}: {text} {found['unit']}".rstrip() + about)
    lines += [f"ruled out: {r['name']}: {r['why']}" for r in result.get("ruled_out", [])]
    lines += [f"note: {n}" for n in result["notes"]]
    lines += [f"source: {s}" for s in result["sources"]]
    return "\n".join(lines)


def listing(as_json: bool) -> str:
    """All figures with their inputs and outputs."""
    figures = all_figures()
    if as_json:
        return json.dumps([
            {"name": d.name, "about": d.about,
             "inputs": {k: {"unit": i.unit, "low": i.low,
                            "high": None if i.high == float("inf") else i.high,
                            "default": i.default, "about": i.about}
                        for k, i in d.takes.items()},
             "outputs": dict(d.gives), "sources": list(d.sources)}
            for d in sorted(figures.values(), key=lambda d: d.name)])
    lines = []
    for d in sorted(figures.values(), key=lambda d: d.name):
        lines.append(f"{d.name}: {d.about}")
        for k, i in d.takes.items():
            default = "" if i.default is None else f", default {i.default:g}"
            about = f" ({i.about})" if i.about else ""
            lines.append(f"    {k}: {i.allowed}{default}{about}")
        lines.append("    gives " + ", ".join(
            f"{k} [{u}]" if u else k for k, u in d.gives.items()))
    lines.append("choose: Hose and nozzle for a line, from a profile.")
    lines.append(f"    {', '.join(CHOOSE_INPUTS)}")
    return "\n".join(lines)
