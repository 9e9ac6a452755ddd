"""The vocabulary file, loaded once into plain tables."""

from dataclasses import dataclass
from functools import cache
from pathlib import Path

from assistant.units import unit
from assistant.yamldata import Mapping, load_yaml

FILE = Path(__file__).with_name("vocabulary.yaml")

Words = tuple[str, ...]


@dataclass(frozen=True)
class QuantityWords:
    """A quantity that may be called out."""

    name: str
    unit: str
    """The unit meant when none is said."""
    low: float
    high: float
    """Plausible range in that unit; a value outside is asked for again."""
    whole: bool
    """Fractions in that unit are not read off such a gauge."""


@dataclass(frozen=True)
class Vocabulary:
    """Everything that can be understood."""

    requests: dict[Words, str]
    """Phrase, word by word -> name of the request."""
    heard_for: dict[Words, Words]
    spelt_as: dict[Words, Words]
    quantities: dict[str, QuantityWords]
    units: dict[Words, str]
    """Spoken unit, word by word -> written unit."""
    degrees: frozenset[str]
    links: frozenset[str]
    fillers: frozenset[str]
    digits: dict[str, int]
    digits_inside: dict[str, int]
    """Sound-alikes that count as a digit only between two digits."""
    teens: dict[str, int]
    tens: dict[str, int]
    hundred: frozenset[str]
    thousand: frozenset[str]
    point: frozenset[str]
    and_: frozenset[str]

    @property
    def request_names_in_order(self) -> tuple[str, ...]:
        """Names of requests as the file lists them."""
        return tuple(dict.fromkeys(self.requests.values()))

    def phrases(self, request: str) -> tuple[str, ...]:
        """The phrases that mean a request, the first being the one the tool teaches."""
        return tuple(" ".join(words) for words, name in self.requests.items() if name == request)

    def spoken_unit(self, written: str) -> str:
        """How the tool says a written unit ('psi' -> 'p s i')."""
        for words, name in self.units.items():
            if name == written:
                return " ".join(words)
        return written


def _number_words(top: Mapping, key: str) -> dict[str, int]:
    table: Mapping = top.need(key, dict, "the vocabulary")
    return {word: int(value) for value, words in table.items() for word in words}


def load_vocabulary(path: Path = FILE) -> Vocabulary:
    """Read and check a vocabulary file; errors name the file and line."""
    top = load_yaml(path)
    quantities = {}
    for name, row in top.need("quantities", dict, "the vocabulary").items():
        what = f"quantity '{name}'"
        row.only({"unit", "range", "whole"}, what)
        low, high = row.need("range", list, what)
        if not low < high:
            row.fail(f"the range of {what} is empty; write [low, high].")
        unit(row.need("unit", str, what))
        quantities[name] = QuantityWords(
            name, row["unit"], float(low), float(high), row.need("whole", bool, what))
    requests: dict[Words, str] = {}
    for name, phrases in top.need("requests", dict, "the vocabulary").items():
        for phrase in phrases:
            words = tuple(str(phrase).split())
            if words in requests:
                top["requests"].fail(f"'{phrase}' means both {requests[words]} and {name}.")
            requests[words] = name
    units = {tuple(str(said).split()): name
             for name, sayings in top.need("units", dict, "the vocabulary").items()
             for said in sayings}

    def variants_of(key: str) -> dict[Words, Words]:
        return {tuple(variant.split()): tuple(phrase.split())
                for phrase, variants in top.maybe(key, dict, "the vocabulary", {}).items()
                for variant in variants}

    def words_of(key: str) -> frozenset[str]:
        return frozenset(top.need(key, list, "the vocabulary"))

    return Vocabulary(
        requests,
        variants_of("heard_for"), variants_of("spelt_as"), quantities, units,
        words_of("degrees"), words_of("links"), words_of("fillers"),
        _number_words(top, "digits"), _number_words(top, "digits_inside"),
        _number_words(top, "teens"), _number_words(top, "tens"),
        words_of("hundred"), words_of("thousand"), words_of("point"), words_of("and"))


@cache
def vocabulary() -> Vocabulary:
    """The shipped vocabulary."""
    return load_vocabulary()
