"""The loop that ties it together: hear, decide, log, then speak. All the impure parts meet here."""

from __future__ import annotations

import time
from collections.abc import Callable

from assistant.hearing.ears import Ears, EndOfInput, Said
from assistant.hearing.recogniser import PCM, Timing
from assistant.hearing.sources import Fault
from assistant.job.decide import Begin, Input, Tick, Trouble, decide, may_say
from assistant.job.events import (
    AudioKeepingBegan,
    AudioKept,
    EmergencyCalled,
    Event,
    ValueConfirmed,
    ValueOffered,
)
from assistant.job.plan import Plan
from assistant.job.state import State, apply
from assistant.joblog.store import JobLog
from assistant.speaking.mouth import Mouth
from assistant.speaking.words import spoken

FAULTS = {"lost": "microphone lost", "overflow": "overflow", "back": "microphone lost",
          "failed": "recogniser lost"}
TICK_EVERY = 0.5
"""Seconds between looks at the clock."""


class Conversation:
    """One run of a job. `heard` is called with each utterance as it was understood, before the
    tool answers: the screen uses it."""

    def __init__(
        self, plan: Plan, ears: Ears, mouth: Mouth, log: JobLog,
        heard: Callable[[Said], None] = lambda _said: None,
        told: Callable[[Event], None] = lambda _event: None,
        keep: Callable[[PCM], str] | None = None,
        changed: Callable[[Plan, State], None] = lambda _plan, _state: None,
    ) -> None:
        self.plan, self.ears, self.mouth, self.log = plan, ears, mouth, log
        self._heard, self._told, self._keep, self._changed = heard, told, keep, changed
        self._offered: PCM | None = None
        """The sound in which the pending value was heard."""
        self.state = State()
        for entry in log.entries():
            self.state = apply(self.state, entry.event)
        self._clock_base = self.state.at  # a resumed job's clock goes on from where it stood
        self._last_spoken = 0.0
        self._last_tick = 0.0
        self._sound_lost = False
        self.replies: list[tuple[float, Timing]] = []
        """For each utterance: seconds from the end of speech to the first sound of the reply,
        and the time of each stage."""

    def now(self) -> float:
        """Seconds on the job's clock."""
        return self._clock_base + self.ears.now()

    def run(self, title: str) -> State:
        """From the greeting to the end of the job or of the input."""
        self.take(Begin(title))
        if self._keep is not None:
            self.tell(AudioKeepingBegan(self.now()))
        while True:
            self.mouth.pump(self.ears.now())
            perceived = self.ears.poll(may_say(self.plan, self.state), self.mouth.words)
            if isinstance(perceived, EndOfInput):
                break
            if isinstance(perceived, Said):
                self.hear(perceived)
            elif isinstance(perceived, Fault):
                self.take(Trouble(FAULTS[perceived.what], mended=perceived.what == "back"))
            else:
                self.let_time_pass()
            self.watch_speaker()
            if self.state.over and self.mouth.words is None:
                break
        self.drain()
        return self.state

    def hear(self, said: Said) -> None:
        """Take an utterance in, and time the reply."""
        self._heard(said)
        began = time.perf_counter()
        self.take(said.understood, said.pcm)
        self.mouth.pump(self.ears.now())
        said.timing.add("decide, log and speech", time.perf_counter() - began)
        self._last_spoken = self.ears.now()
        stages = said.timing.stages
        if "recognition" in stages:
            # The pause is waited for on the source's clock, the rest is work done after it.
            after = sum(v for k, v in stages.items() if k != "detector")
            self.replies.append((after, said.timing))

    def let_time_pass(self) -> None:
        """Nothing was heard: twice a second see whether something is due."""
        now = self.ears.now()
        if now - self._last_tick < TICK_EVERY:
            return
        self._last_tick = now
        busy = self.mouth.words is not None
        since = max(self._last_spoken, self.mouth.fell_silent)
        self.take(Tick(0.0 if busy else now - since))

    def watch_speaker(self) -> None:
        """A silent speaker pauses the list; it is announced on what is left, the screen."""
        if not self.mouth.alive and not self._sound_lost:
            self._sound_lost = True
            self.take(Trouble("sound lost"))

    def take(self, what: Input, pcm: PCM | None = None) -> None:
        """Decide, and tell each event; `pcm` is the sound of what was said."""
        before = self.state
        for event in decide(self.plan, self.state, what, self.now()):
            self.tell(event)
            if isinstance(event, ValueOffered):
                self._offered = pcm
            elif isinstance(event, ValueConfirmed) and self._keep and self._offered is not None:
                digest = self._keep(self._offered)
                self.tell(AudioKept(event.at, event.quantity, digest))
        if self.state is not before:
            self._changed(self.plan, self.state)  # once a turn: the screen shows no half steps

    def tell(self, event: Event) -> None:
        """Keep an event on disk, and only then queue its words."""
        self.log.append(event)
        before, self.state = self.state, apply(self.state, event)
        self._told(event)
        if isinstance(event, EmergencyCalled):
            self.mouth.hush()
        for saying in spoken(self.plan, before, event, self.state):
            self.mouth.say(saying)

    def drain(self) -> None:
        """Let the last words be said before the devices close."""
        limit = time.monotonic() + 30.0
        virtual = self.ears.now()
        while self.mouth.words is not None and time.monotonic() < limit:
            if self.ears.live:
                time.sleep(0.02)
                virtual = self.ears.now()
            else:
                virtual += 0.05
            self.mouth.pump(virtual)
