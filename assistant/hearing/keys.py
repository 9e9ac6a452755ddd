"""The one-button twin: a key, foot switch or presentation remote, for when the noise wins."""

from __future__ import annotations

import os
import queue
import select
import sys
import threading
from collections.abc import Callable, Iterable
from contextlib import suppress

from assistant.hearing.ears import Ears, Perceived, Said
from assistant.hearing.recogniser import Timing
from assistant.meaning.results import MaySay, Meaning, Request, StateSaid, Understood

NAMES = {" ": "space", "\n": "enter", "\r": "enter", "\t": "tab", "\x1b[5~": "page up",
         "\x1b[6~": "page down", "\x1b[C": "right", "\x1b[D": "left"}


def meaning_of(request: str, may: MaySay) -> Meaning | None:
    """What a key for a request means now; None where it may not be said.

    Confirm on an item that asks for a state is that item's own state: a deliberate press is an
    answer, as a word is.
    """
    if request == "emergency" or request in may.requests:
        return Request(request)
    if request == "confirm" and may.states and "deny" in may.requests:
        return StateSaid(may.states[0])
    if request == "confirm" and "acknowledge" in may.requests:
        return Request("acknowledge")
    if request == "stand_by" and "go_ahead" in may.requests:
        return Request("go_ahead")  # the same key takes the job up again
    return None


class KeyedEars:
    """Other ears with keys beside them. Keys work whatever has become of the sound."""

    def __init__(self, ears: Ears, keys: Iterable[tuple[str, str]]) -> None:
        self._ears, self._keys = ears, dict(keys)
        self._pressed: queue.Queue[str] = queue.Queue()
        self.live = ears.live

    def press(self, key: str) -> None:
        """A key was pressed: a character, or one of the names space, enter, tab, page up..."""
        self._pressed.put(NAMES.get(key, key))

    def now(self) -> float:
        """The other ears' clock."""
        return self._ears.now()

    def poll(self, may: MaySay, own_words: str | None) -> Perceived:
        """A pressed key first, else what the other ears perceive."""
        with suppress(queue.Empty):
            key = self._pressed.get_nowait()
            request = self._keys.get(key)
            meaning = meaning_of(request, may) if request else None
            if meaning is not None:
                now = self.now()
                return Said(Understood(meaning, f"({key} key)", 1.0), now, now, Timing())
        return self._ears.poll(may, own_words)

    def close(self) -> None:
        """Close the other ears."""
        self._ears.close()


def listen_to_terminal(press: Callable[[str], None]) -> Callable[[], None]:
    """Read single keys from the terminal in a thread; the returned call gives it back.

    Where standard input is no terminal, or the system has no such modes, nothing is read.
    """
    try:
        import termios
        import tty

        handle = sys.stdin.fileno()
        before = termios.tcgetattr(handle)
    except (ImportError, OSError, ValueError, termios.error):
        return lambda: None
    tty.setcbreak(handle)
    stop = threading.Event()

    def read() -> None:
        while not stop.is_set():
            if select.select([handle], [], [], 0.1)[0]:
                data = os.read(handle, 16).decode(errors="ignore")
                for key in [data] if data in NAMES else data:
                    press(key)

    thread = threading.Thread(target=read, daemon=True)
    thread.start()

    def give_back() -> None:
        stop.set()
        thread.join(1)
        termios.tcsetattr(handle, termios.TCSADRAIN, before)

    return give_back
