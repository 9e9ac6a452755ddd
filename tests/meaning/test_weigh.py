"""Several heard texts to one meaning: weighed together, refused when torn."""

import math

from assistant.hearing.recogniser import Heard, Hypothesis
from assistant.meaning.results import MaySay, Misheard, OutOfRange, Reading, Request
from assistant.meaning.weigh import understand

MAY = MaySay(frozenset({"confirm", "deny"}), quantity="hose out")


def heard(*texts_and_shares):
    """A Heard whose hypotheses hold the given shares of belief."""
    found = tuple(Hypothesis(t, math.log(p)) for t, p in texts_and_shares)
    return Heard(found[0].text, found, 0.5, 0.0)


def test_texts_that_mean_the_same_are_added_up():
    """ "58 feet" and "fifty eight feet" together outweigh a third text."""
    found = understand(heard(("15 feet", 0.3), ("58 feet", 0.28), ("fifty eight feet", 0.28)),
                       MaySay(quantity="hose out", readings=frozenset()))
    assert isinstance(found.meaning, Reading) and found.meaning.value == 58


def test_torn_between_two_values_is_refused():
    """Two values of nearly the same weight are offered to nobody, but both are kept."""
    found = understand(heard(("fifteen feet", 0.5), ("fifty feet", 0.48)), MAY)
    assert isinstance(found.meaning, Misheard)
    assert [a.meaning.value for a in found.alternatives] == [15, 50]


def test_a_meaning_with_little_of_all_belief_is_refused():
    """A parse far down the list does not make side talk an answer."""
    found = understand(heard(("he has it", 0.95), ("yes", 0.03)), MAY)
    assert isinstance(found.meaning, Misheard)


def test_the_first_text_that_parses_wins_when_it_is_heavy_enough():
    """A slip of spelling in the best text does not lose the answer."""
    found = understand(heard(("a firma", 0.4), ("affirm", 0.35), ("the firm", 0.1)), MAY)
    assert found.meaning == Request("confirm")


def test_out_of_range_is_said_rather_than_misheard():
    """The best text's own refusal is kept."""
    assert isinstance(understand(heard(("900 feet", 1.0)), MAY).meaning, OutOfRange)
