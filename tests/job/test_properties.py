"""Whatever is said, in any order, the promises hold (hypothesis, stateful)."""

from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, rule

from assistant.job import events as e
from assistant.job.decide import Trouble
from assistant.job.plan import make_plan
from assistant.job.state import fold
from assistant.meaning.vocabulary import vocabulary
from assistant.testing import PRE_START, SET_UP, START, Rehearsal, shipped_profile

PLAN = make_plan(shipped_profile())
V = vocabulary()
PHRASES = sorted({" ".join(w) for w in V.requests} | {s for c in PLAN.lists.values()
                 for x in c.sections for i in x.items for s in i.states})


class AnySequence(RuleBasedStateMachine):
    """A job that hears anything, starting anywhere."""

    def __init__(self):
        super().__init__()
        self.job = Rehearsal(PLAN)
        self.offered = None

    @rule(upto=st.integers(0, len(SET_UP + PRE_START + START)))
    def follow_the_lists(self, upto):
        """Answers as they should be, up to somewhere."""
        self.job.say(*(SET_UP + PRE_START + START)[:upto])

    @rule(said=st.sampled_from(PHRASES))
    def say_a_phrase(self, said):
        """Any phrase of the vocabulary or any state word."""
        self.job.say(said)

    @rule(quantity=st.sampled_from(sorted(V.quantities)), value=st.integers(0, 400))
    def call_a_reading(self, quantity, value):
        """Any reading."""
        self.job.say(f"{quantity} {value}")

    @rule(value=st.integers(0, 4000))
    def say_a_number(self, value):
        """Any number."""
        self.job.say(str(value))

    @rule(seconds=st.integers(1, 90))
    def be_quiet(self, seconds):
        """Silence."""
        self.job.quiet(seconds)

    @rule(mended=st.booleans())
    def trouble(self, mended):
        """A device comes or goes."""
        self.job.give(Trouble("microphone lost", mended))

    @invariant()
    def only_an_affirm_logs_a_value(self):
        """Before each logged value stands "affirm", said while that very value was pending
        without doubt."""
        events = self.job.events
        for i, event in enumerate(events):
            if isinstance(event, e.ValueConfirmed):
                before = fold(events[:i])
                heard = next(x for x in reversed(events[:i]) if isinstance(x, e.SpeechHeard))
                assert heard.meaning == "confirm" and heard.at == event.at
                assert before.pending and before.pending.doubt == ""
                assert (before.pending.quantity, before.pending.value) == (
                    event.quantity, event.value)

    @invariant()
    def every_tick_was_said(self):
        """A confirmed state item stands right after its own state word was heard."""
        for i, event in enumerate(self.job.events):
            if isinstance(event, e.ItemConfirmed) and PLAN.item(event.item).states:
                heard = next(x for x in reversed(self.job.events[:i])
                             if isinstance(x, e.SpeechHeard))
                assert heard.meaning == f"state: {event.answer}" and heard.at == event.at
                assert event.answer in PLAN.item(event.item).states

    @invariant()
    def hazards_are_confirmed_or_open(self):
        """No hazard item was ever parked or waved off."""
        for item_id, answer in self.job.state.answered.items():
            if PLAN.item(item_id).hazard:
                assert answer.outcome == "confirmed"

    @invariant()
    def replay_equals_live(self):
        """The log is the truth."""
        assert fold(self.job.events) == self.job.state


AnySequence.TestCase.settings = settings(
    max_examples=60, stateful_step_count=15, deadline=None, derandomize=True,
    suppress_health_check=list(HealthCheck))
TestAnySequence = AnySequence.TestCase
