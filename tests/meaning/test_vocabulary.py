"""The vocabulary file: consistent in itself, and a broken one says where."""

import pytest

from assistant.errors import HosesideError
from assistant.meaning.vocabulary import FILE, load_vocabulary, vocabulary
from assistant.units import same_kind


def test_every_unit_word_belongs_to_some_quantity_or_is_electrical():
    """No unit may be said that no quantity could take, but volts and amps."""
    v = vocabulary()
    for unit in set(v.units.values()) - {"V", "A", "min"}:
        assert any(same_kind(unit, q.unit) for q in v.quantities.values()), unit


def test_broken_file_names_file_and_line(tmp_path):
    """A range the wrong way round is named with its line."""
    text = FILE.read_text().replace("range: [0, 6000]", "range: [6000, 0]")
    path = tmp_path / "vocabulary.yaml"
    path.write_text(text)
    line = next(i for i, x in enumerate(text.splitlines(), 1) if "6000, 0" in x)
    with pytest.raises(HosesideError, match=rf"vocabulary.yaml, line {line}: .*pump pressure"):
        load_vocabulary(path)


def test_a_phrase_with_two_meanings_is_refused(tmp_path):
    """One phrase, one meaning."""
    path = tmp_path / "v.yaml"
    path.write_text(FILE.read_text().replace("help: [help]", "help: [help, affirm]"))
    with pytest.raises(HosesideError, match="'affirm' means both"):
        load_vocabulary(path)
