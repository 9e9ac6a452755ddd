"""Properties of liquid water between freezing and boiling, from a shipped table."""

from __future__ import annotations

import math
from bisect import bisect_right
from functools import cache
from pathlib import Path

from assistant.yamldata import load_yaml

GRAVITY = 9.80665
"""Standard gravity [m/s²]."""
ZERO_CELSIUS = 273.15
SOURCE = "water: IAPWS-IF97 (2007) and IAPWS R12-08, table by the iapws library 1.5.5"

_DATA = Path(__file__).parent / "data" / "water.yaml"


@cache
def _columns() -> tuple[tuple[float, ...], ...]:
    rows = load_yaml(_DATA)["rows"]
    return tuple(tuple(float(r[i]) for r in rows) for i in range(4))


def _between(kelvin: float, column: int, log: bool = False) -> float:
    """Cubic through the four nearest rows (Lagrange); vapour pressure on a logarithmic scale."""
    x, y = _columns()[0], _columns()[column]
    t = min(max(kelvin - ZERO_CELSIUS, x[0]), x[-1])
    first = min(max(bisect_right(x, t) - 2, 0), len(x) - 4)
    total = 0.0
    for i in range(first, first + 4):
        term = math.log(y[i]) if log else y[i]
        for j in range(first, first + 4):
            if j != i:
                term *= (t - x[j]) / (x[i] - x[j])
        total += term
    return math.exp(total) if log else total


def density(kelvin: float) -> float:
    """Density [kg/m³] at a temperature [K] from 273.16 to 372.75.

    >>> round(density(293.15), 2)
    998.21
    """
    return _between(kelvin, 1)


def viscosity(kelvin: float) -> float:
    """Dynamic viscosity [Pa s] at a temperature [K] from 273.16 to 372.75.

    >>> round(viscosity(293.15) * 1e3, 3)
    1.002
    """
    return _between(kelvin, 2) * 1e-3


def vapour_pressure(kelvin: float) -> float:
    """Vapour pressure [Pa] at a temperature [K] from 273.16 to 372.75.

    >>> round(vapour_pressure(293.15))
    2339
    """
    return _between(kelvin, 3, log=True) * 1e3
