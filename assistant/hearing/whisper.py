"""The default recogniser: OpenAI Whisper through CTranslate2, hinted with what may be said."""

from __future__ import annotations

import math
import os
import time
from pathlib import Path
from typing import Any

import numpy as np

from assistant.errors import HosesideError
from assistant.hearing.recogniser import PCM, RATE, Heard, Hypothesis, as_float
from assistant.meaning.results import CALLS, MaySay
from assistant.meaning.vocabulary import vocabulary

WINDOW = 10
"""Seconds of sound the encoder sees. 30 s is a little better and three times slower; below 6 s
the model repeats itself (measured, see DEVELOPERS.md)."""
HYPOTHESES = 5


def hint(may: MaySay) -> str:
    """The prompt: the words that may be said, and no example number (they come back as answers).

    >>> hint(MaySay(states=("open",), requests=frozenset({"confirm"})))
    'Open, affirm, affirmative, yes.'
    """
    v = vocabulary()
    words: list[str] = []
    if may.quantity:
        words.append(may.quantity)
    words += [q for q in v.quantities if q in may.readings]
    if may.readings or may.quantity or may.number:
        words += ["PSI", "degrees", "feet", "inches", "seconds", "decibels",
                  "parts per million", "gallons per minute"]
        words += [p for name in v.request_names_in_order
                  if name in may.requests and name in CALLS for p in v.phrases(name)[:1]]
    words += may.states
    if not may.readings and not may.number:
        words += [p for name in v.request_names_in_order if name in may.requests
                  for p in v.phrases(name)]
    text = ", ".join(words)
    return f"{text[0].upper()}{text[1:]}." if text else ""


class Whisper:
    """Whisper weights in a folder (model.bin, config.json, tokenizer.json, vocabulary)."""

    name = "whisper"

    def __init__(self, folder: Path, threads: int | None = None) -> None:
        for needed in ("model.bin", "config.json", "tokenizer.json"):
            if not (folder / needed).exists():
                raise HosesideError(
                    f"{folder}: lacks {needed}, so it is not a Whisper model folder; "
                    "run 'hoseside models --fetch' or name another with --model.")
        from faster_whisper import WhisperModel

        try:
            self._model: Any = WhisperModel(
                str(folder), device="cpu", compute_type="int8", local_files_only=True,
                cpu_threads=threads or min(4, os.cpu_count() or 1))
        except Exception as error:  # a torn file shows itself in many ways
            raise HosesideError(
                f"{folder}: the Whisper model cannot be loaded ({error}); delete the folder and "
                "run 'hoseside models --fetch'.") from None
        self._tokens: Any = self._model.hf_tokenizer
        multilingual = self._model.model.is_multilingual
        # An English-only model takes the start token alone; with a language it errs.
        start = ["<|startoftranscript|>"]
        start += ["<|en|>", "<|transcribe|>"] if multilingual else []
        self._start = [self._tokens.token_to_id(t) for t in [*start, "<|notimestamps|>"]]
        self._previous = self._tokens.token_to_id("<|startofprev|>")

    def transcribe(self, pcm: PCM, may: MaySay) -> Heard:
        """Up to five texts of one utterance, best first."""
        import ctranslate2

        began = time.perf_counter()
        samples = as_float(pcm)[: WINDOW * RATE]
        padded = np.pad(samples, (0, WINDOW * RATE - len(samples)))
        features = self._model.feature_extractor(padded, padding=0)[np.newaxis, :, : WINDOW * 100]
        encoded = self._model.model.encode(
            ctranslate2.StorageView.from_array(np.ascontiguousarray(features)))
        result = self._model.model.generate(
            encoded, [self._prompt(may)], beam_size=HYPOTHESES, num_hypotheses=HYPOTHESES,
            return_scores=True, max_length=len(self._prompt(may)) + 40)[0]
        found = []
        for ids, mean in zip(result.sequences_ids, result.scores, strict=True):
            found.append(Hypothesis(self._tokens.decode(ids).strip(), mean * (len(ids) + 1)))
        best = found[0] if found else Hypothesis("", -math.inf)
        score = math.exp(result.scores[0]) if found else 0.0
        return Heard(best.text, tuple(found), score, time.perf_counter() - began)

    def _prompt(self, may: MaySay) -> list[int]:
        text = hint(may)
        if not text:
            return list(self._start)
        words = self._tokens.encode(" " + text, add_special_tokens=False).ids
        return [self._previous, *words, *self._start]
