"""The speech queue: three priorities, one sentence at a time, and a warning may cut in."""

from __future__ import annotations

from collections.abc import Callable

from assistant.speaking.voice import Voice
from assistant.speaking.words import Saying

_RANK = {"high": 0, "medium": 1, "low": 2}


class Mouth:
    """Says what it is given, highest priority first and in order within one.

    A high saying cuts off a lower one, which is then said again from its start. Every saying is
    shown (`show`) as it begins, so that what is spoken is always also on the screen.
    """

    def __init__(self, voice: Voice, show: Callable[[Saying], None]) -> None:
        self._voice, self._show = voice, show
        self._queue: list[Saying] = []
        self._current: Saying | None = None
        self.fell_silent = 0.0
        """When the last sentence ended [s]."""
        self.first_sound = 0.0
        """When the last sentence began [s]."""

    def say(self, saying: Saying) -> None:
        """Queue a sentence."""
        self._queue.append(saying)
        self._queue.sort(key=lambda s: _RANK[s.priority])  # stable: order within a priority

    @property
    def alive(self) -> bool:
        """Whether the voice can still be heard."""
        return self._voice.alive

    @property
    def words(self) -> str | None:
        """What is being said or waits to be; None in silence."""
        if self._current is None and not self._queue:
            return None
        parts = [self._current.text] if self._current else []
        return " ".join([*parts, *(s.text for s in self._queue)])

    def pump(self, now: float) -> None:
        """Move on: end what has ended, cut in what must, begin what is next. Call often."""
        if self._current is not None and not self._voice.busy(now):
            self._current = None
            self.fell_silent = now
        if not self._queue:
            return
        next_one = self._queue[0]
        if self._current is not None:
            cuts_in = next_one.priority == "high" and self._current.priority != "high"
            if not cuts_in:
                return
            self._voice.stop()
            self._queue.insert(1, self._current)
        self._queue.pop(0)
        self._current = next_one
        self._show(next_one)
        self.first_sound = now
        high = next_one.priority == "high"
        self._voice.begin(next_one.text, now, tone=high, slow=high or next_one.slow)

    def hush(self) -> None:
        """Drop everything of lower priority than high, as when an emergency is called."""
        self._queue = [s for s in self._queue if s.priority == "high"]
        if self._current is not None and self._current.priority != "high":
            self._voice.stop()
            self._current = None

    def close(self) -> None:
        """Let the voice go."""
        self._voice.close()
