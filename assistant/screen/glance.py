"""`--screen`: one terminal screen for a glance, redrawn at each change."""

from __future__ import annotations

import shutil
import sys
import textwrap
from typing import Any, TextIO

CLEAR = "\x1b[2J\x1b[H"
BOLD, REVERSE, PLAIN = "\x1b[1m", "\x1b[7m", "\x1b[0m"


def hose_bar(out: float, deepest: float, line: float | None, width: int) -> str:
    """The hose in the line as characters: # in the pipe, | the deepest point, ] the line's end.

    >>> hose_bar(20, 30, 40, 20)
    '##########-----|---]'
    """
    most = max(out, deepest, line or 0.0, 1.0)

    def at(feet: float) -> int:
        return min(width - 1, round(feet / most * width))

    cells = ["#" if i < at(out) else "-" for i in range(width)]
    if deepest > out:
        cells[at(deepest)] = "|"
    if line is not None:
        cells[at(line)] = "]"
    return "".join(cells)


def drawn(view: dict[str, Any], width: int) -> str:
    """The view as text. Weight and words carry the meaning, colour carries none."""
    lines = [f"{view['place']}   {view['title']}   {view['clock']}", ""]
    if view["emergency"]:
        lines.append(f"{REVERSE}{BOLD} EMERGENCY {PLAIN}")
    lines += [f"{BOLD}{part}{PLAIN}" for part in textwrap.wrap(view["asked"], width) or [""]]
    if view["may_say"]:
        lines += textwrap.wrap("Say: " + ", ".join(view["may_say"][:6]), width)
    lines.append("")
    if view["heard"]:
        lines.append(f"Heard \"{view['heard']}\" -> {view['understood']}")
    for w in view["warnings"][:3]:
        if w["acknowledged"]:
            lines.append(f"Still: {w['say']}")
        else:
            mark = "WARNING" if w["priority"] == "high" else "Caution"
            lines.append(f"{REVERSE}{BOLD} {mark}: {w['say']}. {w['do']} {PLAIN}")
    if view["jet"]:
        bar = hose_bar(view["hose_out"], view["deepest"], view["line"], max(10, width - 2))
        end = f", line {view['line']:g} ft" if view["line"] else ""
        lines += ["", bar, f"Jet {view['jet'].upper()}, {view['hose_out']:g} ft out, deepest "
                  f"{view['deepest']:g} ft{end}, under pressure {view['under_pressure']}"]
    if view["readings"]:
        lines += ["", "   ".join(f"{r['name']} {r['value']}" for r in view["readings"])]
    return "\n".join(lines)


class Glance:
    """Draws views on a terminal."""

    def __init__(
        self, stream: TextIO | None = None, width: int | None = None, footer: str = ""
    ) -> None:
        self._stream = stream or sys.stdout
        self._width = width
        self._footer = footer

    def show(self, view: dict[str, Any]) -> None:
        """Redraw."""
        width = self._width or shutil.get_terminal_size((80, 24)).columns
        footer = f"\n\n{self._footer}" if self._footer else ""
        print(CLEAR + drawn(view, width) + footer, file=self._stream, flush=True)
