"""The conversation as lines of text: everything spoken, everything heard and its meaning."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TextIO

from assistant.job.decide import describe
from assistant.meaning.results import Misheard, OutOfRange, Understood, WrongUnit
from assistant.speaking.words import Saying


class Terminal:
    """Prints to a stream (standard output)."""

    def __init__(self, stream: TextIO | None = None) -> None:
        self._stream = stream or sys.stdout

    def _line(self, text: str) -> None:
        print(text, file=self._stream, flush=True)

    def said(self, saying: Saying) -> None:
        """A sentence the tool says now."""
        mark = {"high": "!!", "medium": "  ", "low": " ."}[saying.priority]
        self._line(f"{mark} {saying.text}")

    def heard(self, understood: Understood) -> None:
        """An utterance, and what it was taken for."""
        meaning = understood.meaning
        text = understood.text.strip()
        if isinstance(meaning, Misheard | OutOfRange | WrongUnit):
            self._line(f"      > {text}   ({describe(meaning)})")
        else:
            self._line(f"      > {text}   [{describe(meaning)}]")

    def note(self, text: str) -> None:
        """Something beside the conversation."""
        self._line(text)

    def ended(self, file: Path, over: bool) -> None:
        """The last line: where the job is."""
        if over:
            self._line(f"Job file: {file}")
        else:
            self._line(f"Job file: {file} (not finished; go on with --resume)")


class Quiet(Terminal):
    """Only notes and the end: something else draws the screen."""

    def said(self, saying: Saying) -> None:
        """Not printed."""

    def heard(self, understood: Understood) -> None:
        """Not printed."""
