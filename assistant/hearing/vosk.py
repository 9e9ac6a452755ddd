"""Vosk: a small streaming recogniser held to a grammar of what may be said now."""

from __future__ import annotations

import json
import time
from pathlib import Path
from typing import Any

from assistant.errors import HosesideError
from assistant.hearing.recogniser import PCM, RATE, Heard, Hypothesis
from assistant.meaning.results import MaySay
from assistant.meaning.vocabulary import Vocabulary, vocabulary

UNKNOWN = "[unk]"
BLOCK = RATE // 10
"""Its end-of-speech rule is tested once a call, so it is fed 100 ms at a time."""

# Words that sound like commands and must have somewhere else to go than a command.
DECOYS = ("the", "a", "and then", "we", "you", "it", "that", "what", "there", "so", "but")


def grammar(may: MaySay, v: Vocabulary | None = None) -> tuple[str, ...]:
    """The phrases Vosk may recognise, from what may be said now.

    The engine trains a bigram model on them, so words recombine across phrases: the strict
    parser decides afterwards.
    """
    v = v or vocabulary()
    phrases = ["emergency", *may.states]
    phrases += [p for name in sorted(may.requests) for p in v.phrases(name)]
    phrases += sorted(may.readings | ({may.quantity} if may.quantity else set()))
    if may.readings or may.quantity or may.number:
        for table in (v.digits, v.teens, v.tens):
            phrases += table
        phrases += [w for words in (v.hundred, v.thousand, v.point, v.and_) for w in sorted(words)]
        phrases += [" ".join(words) for words in v.units]
        phrases += sorted(w for w in v.degrees if w.isalpha())
    return tuple(dict.fromkeys(phrases))


class Vosk:
    """A Vosk model folder with a dynamic graph (HCLr.fst and Gr.fst).

    `phrases` replaces the grammar made from the vocabulary, for a model of another language.
    """

    name = "vosk"

    def __init__(self, folder: Path, phrases: tuple[str, ...] | None = None,
                 must_know: tuple[str, ...] = ("affirm", "negative", "emergency")) -> None:
        # An explicit folder only: given a language the library would download.
        if not (folder / "am" / "final.mdl").exists():
            raise HosesideError(
                f"{folder}: lacks am/final.mdl, so it is not a Vosk model folder; unpack an "
                "English one into models/ or name it with --model.")
        if not (folder / "graph" / "HCLr.fst").exists():
            raise HosesideError(
                f"{folder}: has no graph/HCLr.fst, so it ignores grammars; take a small model.")
        import vosk

        vosk.SetLogLevel(-1)
        self._vosk: Any = vosk
        try:
            self._model: Any = vosk.Model(str(folder))
        except Exception as error:  # the library raises bare Exception
            raise HosesideError(f"{folder}: the Vosk model cannot be loaded ({error}).") from None
        self._folder = folder
        self._phrases = phrases
        self._recognisers: dict[tuple[str, ...], Any] = {}
        self._now: Any = None
        self._began = 0.0
        self._done: list[dict[str, Any]] = []
        self.can_refuse = self.knows(UNKNOWN)
        """Whether side talk has a word to go to; without it every sound becomes a phrase."""
        self.require(must_know if phrases is None else phrases)

    def knows(self, word: str) -> bool:
        """Whether the model can recognise a word at all."""
        return int(self._model.vosk_model_find_word(word)) >= 0

    def require(self, phrases: tuple[str, ...]) -> None:
        """Refuse by name the first word the model lacks; the engine itself would drop it."""
        for phrase in phrases:
            for word in phrase.split():
                if word != UNKNOWN and not self.knows(word):
                    raise HosesideError(
                        f"{self._folder}: the Vosk model does not know the word '{word}'; "
                        "take another model, or give that word an everyday twin in "
                        "vocabulary.yaml.")

    def begin(self, may: MaySay) -> None:
        """Start an utterance. One recogniser a grammar: switching one leaks the old grammar."""
        phrases = self._phrases if self._phrases is not None else tuple(
            p for p in (*grammar(may), *DECOYS) if all(self.knows(w) for w in p.split()))
        if phrases not in self._recognisers:
            recogniser = self._vosk.KaldiRecognizer(
                self._model, RATE, json.dumps([*phrases, UNKNOWN], ensure_ascii=False))
            recogniser.SetWords(True)
            self._recognisers[phrases] = recogniser
        self._now = self._recognisers[phrases]
        self._now.Reset()
        self._done = []
        self._began = time.perf_counter()

    def accept(self, block: PCM) -> str:
        """Feed sound; the text so far, which may still change."""
        if self._now.AcceptWaveform(block.tobytes()):
            self._done.append(json.loads(self._now.Result()))
        return str(json.loads(self._now.PartialResult()).get("partial", ""))

    def finish(self) -> Heard:
        """End the utterance. The score is the lowest word confidence: one bad word spoils it."""
        results = [*self._done, json.loads(self._now.FinalResult())]
        text = " ".join(r.get("text", "") for r in results).strip()
        confidences = [w["conf"] for r in results for w in r.get("result", [])]
        score = float(min(confidences, default=0.0))
        return Heard(text, (Hypothesis(text, 0.0),), score, time.perf_counter() - self._began)

    def transcribe(self, pcm: PCM, may: MaySay) -> Heard:
        """One utterance, fed in 100 ms blocks."""
        self.begin(may)
        for start in range(0, len(pcm), BLOCK):
            self.accept(pcm[start:start + BLOCK])
        return self.finish()
