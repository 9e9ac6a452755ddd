"""Spoken numbers: every form in use, and refusals. Forms from ../shared/design.md."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.meaning.numbers import parse_number
from assistant.meaning.vocabulary import vocabulary
from assistant.speaking.numbers import digits, words

REFUSED = None

CASES = [
    ("one two zero", 120), ("one hundred twenty", 120), ("one hundred and twenty", 120),
    ("one twenty", 120), ("four point five", 4.5), ("four decimal five", 4.5),
    ("niner", 9), ("fife", 5), ("tree", 3), ("one oh five", 105), ("two ten", 210),
    ("two thirty nine", 239), ("twenty six hundred", 2600), ("fifteen fifty", 1550),
    ("twenty six fifty", 2650), ("one thousand five hundred fifty", 1550),
    ("two thousand five hundred", 2500), ("fifteen hundred and fifty", 1550),
    ("three five five zero", 3550), ("a hundred", 100), ("a thousand", 1000),
    ("zero", 0), ("zero point five", 0.5), ("four and a half", 4.5), ("eight point zero", 8),
    ("one five oh four four", 15044), ("1 2 0", 120), ("120", 120), ("26 hundred", 2600),
    ("1 29", 129), ("4.5", 4.5), ("2 thousand 500", 2500), ("one for two", 142),
    ("fifty hundred zero", REFUSED), ("twenty hundred", REFUSED), ("hundred", REFUSED),
    ("hundred twenty", REFUSED), ("one hundred and", REFUSED), ("twelve five", REFUSED),
    ("six twelve five", REFUSED), ("forty twenty six one", REFUSED), ("one point", REFUSED),
    ("point five", REFUSED), ("four point five point two", REFUSED), ("and five", REFUSED),
    ("nine hundred nine thousand", REFUSED), ("one sixteen forty eight", REFUSED),
    ("for two", REFUSED), ("half", REFUSED), ("", REFUSED), ("psi", REFUSED),
    ("four point five hundred", REFUSED), ("twenty zero", REFUSED),
]


@pytest.mark.parametrize(("said", "want"), CASES)
def test_spoken_number(said, want):
    """Each form is its number, and what only looks like one is refused."""
    assert parse_number(said) == want


@given(st.integers(min_value=0, max_value=9999))
def test_what_the_tool_says_it_also_understands(n):
    """Digits and words of a number, as the tool speaks them, parse to that number."""
    assert parse_number(digits(n)) == n
    assert parse_number(words(n)) == n


@given(st.integers(min_value=0, max_value=99), st.integers(min_value=1, max_value=9))
def test_decimals_come_back(whole, tenth):
    """One decimal place survives speaking and hearing."""
    value = whole + tenth / 10
    assert parse_number(digits(value)) == pytest.approx(value)
    assert parse_number(words(value)) == pytest.approx(value)


@given(st.lists(st.sampled_from(sorted(
    [*vocabulary().digits, *vocabulary().tens, *vocabulary().teens, "hundred", "thousand",
     "point", "and", "a"])), max_size=7))
def test_any_run_of_number_words_is_a_number_or_refused(tokens):
    """No run of number words raises, and none gives a negative number."""
    value = parse_number(" ".join(tokens))
    assert value is None or value >= 0
