"""Voices: PCM from espeak-ng, the warning tone measured, muted output on the job's clock."""

import itertools
import wave

import numpy as np
import pytest

from assistant.hearing.recogniser import RATE
from assistant.speaking.voice import (
    BLOCK,
    LATENCY,
    PACE,
    SLOW,
    Espeak,
    EspeakVoice,
    Muted,
    SystemVoice,
    TextVoice,
    warning_tone,
)


def test_a_sentence_becomes_sound_once_and_is_kept():
    """16 kHz PCM; the same sentence is the same array."""
    espeak = Espeak()
    pcm = espeak.pcm("Inlet pressure?", PACE)
    assert 0.5 < len(pcm) / RATE < 3 and np.abs(pcm).max() > 1000
    assert espeak.pcm("Inlet pressure?", PACE) is pcm


def test_numbers_are_spoken_slower():
    """120 words a minute against 150 makes the sentence at least a tenth longer."""
    espeak = Espeak()
    text = "Inlet pressure, one one five, one hundred fifteen p s i?"
    assert len(espeak.pcm(text, SLOW)) > 1.1 * len(espeak.pcm(text, PACE))


def test_warning_tone_is_short_and_in_the_band():
    """MIL-STD-1472E: 500 to 3,000 Hz; under 0.5 s (Simpson and Williams 1980); two steps."""
    tone = warning_tone().astype(float)
    assert 0.2 < len(tone) / RATE < 0.5
    power = np.abs(np.fft.rfft(tone)) ** 2
    hertz = np.fft.rfftfreq(len(tone), 1 / RATE)
    inside = power[(hertz > 500) & (hertz < 3000)].sum() / power.sum()
    assert inside > 0.95
    assert np.abs(tone).max() > 0.5 * 32767


def test_muted_takes_the_time_and_keeps_the_sound(tmp_path):
    """Busy for as long as it would sound; the WAV has it at its time."""
    file = tmp_path / "speech.wav"
    voice = EspeakVoice(Muted(file))
    voice.begin("Hose out?", now=1.0)
    length = len(Espeak().pcm("Hose out?", PACE)) / RATE
    assert voice.busy(1.0 + length - 0.01) and not voice.busy(1.0 + length + 0.01)
    voice.close()
    with wave.open(str(file)) as sound:
        assert sound.getframerate() == RATE
        pcm = np.frombuffer(sound.readframes(sound.getnframes()), dtype=np.int16)
    assert not pcm[:RATE].any() and pcm[RATE:].any()


def test_cutting_off_shortens_what_is_heard(tmp_path):
    """After stop, the rest of the sentence is not in the sound."""
    file = tmp_path / "speech.wav"
    voice = EspeakVoice(Muted(file))
    voice.begin("This sentence would go on for quite some time if nobody cut it off", now=0.0)
    assert voice.busy(0.5)
    voice.stop()
    assert not voice.busy(0.5)
    voice.close()
    with wave.open(str(file)) as sound:
        assert sound.getnframes() <= 0.55 * RATE


def test_blocks_are_short_enough_to_cut_in():
    """Our block, the device's own buffer, and one turn of the loop (32 ms, cut before the tone
    begins): silence within 150 ms."""
    assert BLOCK / RATE + LATENCY + 0.032 < 0.155


def test_text_voice_takes_no_time():
    """For a typist."""
    voice = TextVoice()
    voice.begin("Hose out?", now=0.0)
    assert not voice.busy(0.0)


def test_system_voice_runs_in_a_child_that_can_be_ended(monkeypatch):
    """The adapter for other systems: begin starts a process, stop ends it."""
    import subprocess
    import sys

    real = subprocess.Popen
    monkeypatch.setattr(subprocess, "Popen", lambda args, **k: real(
        [sys.executable, "-c", "import time; time.sleep(30)"]))
    voice = SystemVoice()
    voice.begin("Hose out?", now=0.0)
    assert voice.busy(0.0)
    voice.stop()
    assert not voice.busy(0.0)


@pytest.mark.parametrize("seconds", [0.4])
def test_tone_has_two_steps(seconds):
    """The pitch changes at least twice: it is told apart from an engine's steady note."""
    tone = warning_tone(seconds).astype(float)
    size = RATE // 10
    peaks = [int(np.argmax(np.abs(np.fft.rfft(tone[i:i + size]))))
             for i in range(0, len(tone) - size + 1, size)]
    assert sum(a != b for a, b in itertools.pairwise(peaks)) >= 2
