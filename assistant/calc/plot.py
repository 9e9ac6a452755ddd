"""Plots of the few figures where looking beats reading, as SVG."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np

from assistant.calc import hose, noise
from assistant.calc.choose import point_of
from assistant.calc.desk import choose_inputs, inputs_of, work
from assistant.errors import HosesideError
from assistant.units import parse_quantity, quantity

STYLES = ("-", "--", "-.", ":")
"""Lines differ in dash as well as colour: colour is never alone."""


def draw(name: str, inputs: Sequence[str], file: Path) -> None:
    """Draw a figure's plot into an SVG file. HosesideError where it has none."""
    drawing = DRAWINGS.get(name)
    if drawing is None:
        raise HosesideError(f"There is no plot for '{name}'; there is one for "
                            f"{', '.join(sorted(DRAWINGS))}.")
    import matplotlib

    matplotlib.use("svg")
    from matplotlib import pyplot

    chart, axes = pyplot.subplots(figsize=(8, 5), layout="constrained")
    try:
        drawing(axes, inputs)
        axes.grid(alpha=0.4)
        if axes.get_legend_handles_labels()[0]:
            axes.legend()
        chart.savefig(file, format="svg")
    except OSError as error:
        raise HosesideError(f"{file}: the plot cannot be written ({error.strerror}).") from None
    finally:
        pyplot.close(chart)


def _along_the_hose(axes: Any, inputs: Sequence[str]) -> None:
    """Pressure from pump to nozzle, with the band of the loss's uncertainty."""
    given = inputs_of("operating-point", inputs)
    results = work("operating-point", inputs)["results"]
    pump = results["pump_pressure"]["value"]
    loss = results["hose_loss"]["value"]
    feet = float(given["length"].to("foot").magnitude)
    x = np.array([0.0, feet])
    axes.plot(x, [pump, pump - loss], color="black")
    axes.fill_between(x, [pump, pump - loss * (1 + hose.UNCERTAINTY)],
                      [pump, pump - loss * (1 - hose.UNCERTAINTY)], alpha=0.25,
                      label="loss plus or minus 20 %")
    axes.annotate(f"{pump:.0f} psi", (0, pump), xytext=(6, 8), textcoords="offset points")
    axes.annotate(f"about {pump - loss:.0f} psi", (feet, pump - loss), ha="right",
                  xytext=(-6, 12), textcoords="offset points")
    axes.set(xlabel="along the hose [ft]", ylabel="pressure [psi]",
             title="Pressure along the hose", ylim=(0, pump * 1.1))


def _every_hose(axes: Any, inputs: Sequence[str]) -> None:
    """Pressure left at the nozzle against hose length, for each hose on board."""
    given = choose_inputs(inputs)
    equipment = given["equipment"]
    feet = np.linspace(10, 1.2 * max(h.length.to("foot").magnitude for h in equipment.hoses), 30)
    for i, on_board in enumerate(equipment.hoses):
        nozzle = next((n for n in equipment.nozzles if n.hose == on_board.name), None)
        if nozzle is None:
            continue
        left = [point_of(equipment, replace(on_board, length=quantity(float(x), "ft")), nozzle)
                .number("nozzle_pressure", "psi") for x in feet]
        axes.plot(feet, left, STYLES[i % len(STYLES)], color="black",
                  label=f"{on_board.name}, {nozzle.name}")
        own = float(on_board.length.to("foot").magnitude)
        axes.plot([own], [np.interp(own, feet, left)], "o", color="black")
    axes.axvline(float(given["length"].to("foot").magnitude), color="grey", label="this line")
    axes.set(xlabel="hose length [ft] (the dot: as on board)", ylabel="at the nozzle [psi]",
             title=f"What reaches the nozzle: {equipment.name}", ylim=(0, None))


def _noise_allowed(axes: Any, inputs: Sequence[str]) -> None:
    """Time a day allowed at a level, by both rules, with the levels that were given."""
    levels = np.linspace(80, noise.HIGHEST, 200)
    axes.semilogy(levels, [noise.osha_hours(x) for x in levels], "-", color="black", label="OSHA")
    axes.semilogy(levels, [noise.niosh_hours(x) for x in levels], "--", color="black",
                  label="NIOSH")
    for text in inputs:
        key, _, value = text.partition("=")
        if key in ("level", "exposures"):
            for part in value.split(","):
                level = float(parse_quantity(part.split(":")[0]).magnitude)
                axes.axvline(level, color="grey", linestyle=":")
                axes.annotate(f"{level:g}", (level, 0.02), xytext=(3, 0),
                              textcoords="offset points")
    axes.set(xlabel="steady level [dBA]", ylabel="hours a day, unprotected",
             title="Noise: time allowed", ylim=(0.01, 40))


DRAWINGS: dict[str, Callable[[Any, Sequence[str]], None]] = {
    "operating-point": _along_the_hose,
    "choose": _every_hose,
    "noise-time": _noise_allowed,
    "noise-dose": _noise_allowed,
}
"""Figure -> what draws it."""
