"""Speech detection: rules on a known probability, and the real network in engine noise."""

from pathlib import Path

import numpy as np
import pytest

from assistant import paths
from assistant.hearing.detector import FRAME, FRAME_SECONDS, Rules, SpeechDetector
from assistant.hearing.operator import at_snr, load_script
from assistant.hearing.recogniser import RATE, as_float, as_pcm
from assistant.hearing.sources import frames_of
from assistant.meaning.results import MaySay, Misheard
from assistant.meaning.vocabulary import vocabulary
from assistant.meaning.weigh import understand

FRAMES = np.zeros(FRAME, dtype=np.int16)


def run(probabilities, rules=None):
    """Utterances from a list of speech probabilities, one a frame."""
    values = iter(probabilities)
    detector = SpeechDetector(rules or Rules(), probability=lambda _frame: next(values))
    return [u for _ in probabilities if (u := detector.push(FRAMES))]


def frames(seconds):
    """How many frames that is."""
    return round(seconds / FRAME_SECONDS)


def test_an_utterance_ends_after_the_pause():
    """One second of speech, then silence: one utterance, with lead-in, known after the pause."""
    found = run([0.0] * frames(1) + [0.9] * frames(1) + [0.0] * frames(2))
    assert len(found) == 1
    assert found[0].ended - found[0].speech_ended == pytest.approx(0.7, abs=0.05)
    assert found[0].speech_began == pytest.approx(1.0, abs=0.05)
    assert found[0].began < found[0].speech_began


def test_a_breath_between_digits_does_not_end_it():
    """Half a second of pause keeps the utterance together."""
    found = run([0.9] * frames(0.5) + [0.0] * frames(0.5) + [0.9] * frames(0.5)
                + [0.0] * frames(1))
    assert len(found) == 1


def test_a_knock_is_no_utterance():
    """Two frames of something are not a word."""
    assert run([0.0] * 20 + [0.9] * 2 + [0.0] * frames(1)) == []


def test_the_cap_cuts_what_never_ends():
    """Eight seconds, whatever the detector says."""
    found = run([0.9] * frames(9))
    assert len(found) == 1 and found[0].cut
    assert len(found[0].pcm) / RATE == pytest.approx(8.0, abs=0.05)


def test_dropping_forgets_the_utterance():
    """After a lost block the words so far count for nothing."""
    values = iter([0.9] * 30 + [0.0] * 40)
    detector = SpeechDetector(probability=lambda _frame: next(values))
    for _ in range(30):
        detector.push(FRAMES)
    detector.drop()
    assert not detector.open
    assert not any(detector.push(FRAMES) for _ in range(40))


@pytest.fixture(scope="module")
def script():
    """The demo's recorded operator and engine."""
    return load_script(paths.ROOT / "demo" / "job.yaml")


@pytest.mark.parametrize("snr", [20, 10])
def test_an_utterance_ends_in_engine_noise(script, snr):
    """The real network finds a phrase in running engine noise, and its end, at 20 and 10 dB."""
    speech = next(x.pcm for x in script.lines if x.say == "hose out thirty feet")
    bed = np.resize(as_float(script.bed), RATE * 6) * at_snr(speech, script.bed, snr)
    mixed = bed.copy()
    mixed[2 * RATE:2 * RATE + len(speech)] += as_float(speech)
    detector = SpeechDetector()
    found = [u for f in frames_of(as_pcm(mixed)) if (u := detector.push(f))]
    assert len(found) == 1 and not found[0].cut
    assert abs(found[0].speech_began - 2.0) < 0.3
    assert abs(found[0].speech_ended - (2.0 + len(speech) / RATE)) < 0.5


def test_engine_noise_alone_is_never_understood(script, whisper):
    """A minute of the engine, revving included: what the detector lets through is refused."""
    v = vocabulary()
    may = MaySay(frozenset(v.request_names_in_order), readings=frozenset(v.quantities))
    detector = SpeechDetector()
    bed = as_pcm(np.resize(as_float(script.bed), RATE * 60))
    let_through = [u for f in frames_of(bed) if (u := detector.push(f))]
    assert sum(len(u.pcm) for u in let_through) < 0.5 * len(bed)
    for utterance in let_through:
        found = understand(whisper.transcribe(utterance.pcm, may), may)
        assert isinstance(found.meaning, Misheard), found


def test_detector_uses_the_network_that_the_recogniser_ships():
    """No second copy of weights to keep in step."""
    import faster_whisper

    assets = Path(faster_whisper.__file__).parent / "assets"
    assert list(assets.glob("silero*.onnx"))
