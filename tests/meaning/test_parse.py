"""The strict parser: accepted, refused, and the typed near misses."""

import pytest

from assistant.meaning.parse import parse
from assistant.meaning.results import (
    MaySay,
    Misheard,
    Number,
    OutOfRange,
    Reading,
    Request,
    StateSaid,
    WrongUnit,
)
from assistant.meaning.vocabulary import vocabulary

V = vocabulary()
ALL = MaySay(frozenset(V.request_names_in_order), readings=frozenset(V.quantities))
ASKED = MaySay(frozenset({"say_again", "correction"}), quantity="inlet pressure")
ITEM = MaySay(frozenset({"deny", "say_again"}), states=("open", "fully open"))
VALUE = MaySay(frozenset({"confirm", "deny", "correction"}), quantity="hose out")


def test_every_phrase_of_the_vocabulary_means_its_request():
    """All phrases that mean a request are understood as it where all may be said."""
    for words, name in V.requests.items():
        if name != "correction":
            assert parse(" ".join(words), ALL) == Request(name)


READINGS = [
    ("inlet pressure eighty seven p s i", "inlet pressure", 87, "psi"),
    ("Inlet pressure, 87 PSI.", "inlet pressure", 87, "psi"),
    ("inlet pressure is six bar", "inlet pressure", 6, "bar"),
    ("supply pressure three hundred kilopascal", "supply pressure", 300, "kPa"),
    ("pump pressure twenty six hundred", "pump pressure", 2600, "psi"),
    ("Pump pressure 1,550P, SI.", "pump pressure", 1550, "psi"),
    ("water temperature sixty eight degrees", "water temperature", 68, "degF"),
    ("water temperature twenty degrees celsius", "water temperature", 20, "degC"),
    ("hose out two three three feet", "hose out", 233, "ft"),
    ("Hose out 2-3-3 feet.", "hose out", 233, "ft"),
    ("hose in twelve metres", "hose in", 12, "m"),
    ("Stopage at 29 feet.", "stoppage at", 29, "ft"),
    ("bucket time eighty nine seconds", "bucket time", 89, "s"),
    ("carbon monoxide seven parts per million", "carbon monoxide", 7, "ppm"),
    ("sound level seventy four decibels", "sound level", 74, "dBA"),
    ("tank level one hundred seventy five gallons", "tank level", 175, "gal"),
    ("flow four point five gallons per minute", "flow", 4.5, "gal/min"),
    ("flow twenty litres per minute", "flow", 20, "L/min"),
    ("hose in 15 feet, hose in 15 feet,", "hose in", 15, "ft"),
]


@pytest.mark.parametrize(("said", "quantity", "value", "unit"), READINGS)
def test_reading(said, quantity, value, unit):
    """Quantity, number and unit, in the forms people say and recognisers write."""
    found = parse(said, ALL)
    assert isinstance(found, Reading)
    assert (found.quantity, found.value, found.unit) == (quantity, value, unit)


@pytest.mark.parametrize("said", [
    "did you move the truck yet", "watch out behind you", "I will be done in about half an hour",
    "inlet pressure", "eighty seven", "hose out fifty three feet or so", "yes please do",
    "call me on four one two", "in case of an emergency call the office", "",
    "inlet pressure four point five p s i", "the hose out is fifty", "no no no wait", "...",
])
def test_side_talk_and_half_readings_are_refused(said):
    """What is not wholly something that may be said is misheard, never guessed."""
    assert isinstance(parse(said, ALL), Misheard)


def test_an_answer_counts_only_while_it_may_be_said():
    """ "affirm" with nothing to confirm is misheard."""
    assert isinstance(parse("affirm", ITEM), Misheard)
    assert parse("affirm", VALUE) == Request("confirm")


def test_the_items_own_state_word():
    """A state word is understood only for the item that has it; "yes yes" twice is once."""
    assert parse("Fully open.", ITEM) == StateSaid("fully open")
    assert parse("open, open", ITEM) == StateSaid("open")
    assert isinstance(parse("worn", ITEM), Misheard)


def test_emergency_is_always_understood():
    """Whatever may be said now, the one word is heard."""
    assert parse("Emergency!", MaySay()) == Request("emergency")
    assert parse("emergency emergency", VALUE) == Request("emergency")


def test_a_bare_number_means_what_was_asked():
    """With a quantity asked, a number is its reading; without, it is nothing."""
    assert parse("thirty six", ASKED) == Reading("inlet pressure", 36, "psi")
    assert isinstance(parse("thirty six", MaySay()), Misheard)
    assert parse("thirty six feet", MaySay(number=True)) == Number(36, "ft")


def test_correction_replaces():
    """ "correction" with a value is that value, marked; alone it is the request."""
    assert parse("correction fifty eight feet", VALUE) == Reading(
        "hose out", 58, "ft", correction=True)
    assert parse("correction", VALUE) == Request("correction")


def test_out_of_range_and_wrong_unit_are_told_apart():
    """A near miss says what it was, so that it can be said back."""
    assert parse("inlet pressure nine hundred p s i", ALL) == OutOfRange(
        "inlet pressure", 900, "psi", 0, 300)
    assert parse("inlet pressure forty feet", ALL) == WrongUnit("inlet pressure", 40, "ft", "psi")


def test_a_reading_not_open_now_is_refused_by_name():
    """Another quantity than the one asked for is misheard, and the name kept."""
    assert parse("sound level eighty", ASKED) == Misheard("sound level eighty", "sound level")


def test_degrees_follow_the_profile():
    """ "degrees" alone is Celsius where the profile says so."""
    may = MaySay(quantity="water temperature", celsius=True)
    assert parse("twenty degrees", may) == Reading("water temperature", 20, "degC")


def test_one_one_is_eleven_and_not_one_said_twice():
    """Repeats are only taken out where they cannot be digits."""
    may = MaySay(quantity="bucket time")
    found = parse("one one seconds", may)
    assert isinstance(found, Reading) and found.value == 11
