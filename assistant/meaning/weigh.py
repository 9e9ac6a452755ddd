"""From several heard texts to one meaning: texts that mean the same are weighed together."""

from __future__ import annotations

import math
from dataclasses import replace

from assistant.hearing.recogniser import Heard
from assistant.meaning.parse import parse
from assistant.meaning.results import (
    Alternative,
    MaySay,
    Meaning,
    Misheard,
    OutOfRange,
    Reading,
    Refused,
    Understood,
    WrongUnit,
)

SHARE_AMONG_ADMISSIBLE = 0.6
"""The winner must hold this part of the belief in texts that parse; torn means refused."""
SHARE_OF_ALL = 0.1
"""And this part of all belief, texts that do not parse included."""
# Both were set on the phrases and people in shared/recordings at quiet, 10 and 5 dB; the figures
# are in DEVELOPERS.md. They are not fitted further: reject beats guess.


def understand(heard: Heard, may: MaySay) -> Understood:
    """The meaning of what was heard: the heaviest admissible one if it is heavy enough, else a
    refusal that says as much as is known. `score` is that meaning's share of all belief."""
    top = max((h.log_probability for h in heard.alternatives), default=0.0)
    mass: dict[Meaning, float] = {}
    text_of: dict[Meaning, str] = {}
    refused: list[Refused] = []
    total = 0.0
    for hypothesis in heard.alternatives:
        weight = math.exp(hypothesis.log_probability - top)
        total += weight
        meaning = parse(hypothesis.text, may)
        if isinstance(meaning, Misheard | OutOfRange | WrongUnit):
            refused.append(meaning)
            continue
        key = _same(meaning, mass)
        mass[key] = mass.get(key, 0.0) + weight
        text_of.setdefault(key, hypothesis.text)
    admissible = sum(mass.values())
    alternatives = tuple(
        Alternative(m, text_of[m], round(w / admissible, 4))
        for m, w in sorted(mass.items(), key=lambda item: -item[1]))
    if alternatives:
        best = alternatives[0]
        share = mass[best.meaning] / total
        if best.probability >= SHARE_AMONG_ADMISSIBLE and share >= SHARE_OF_ALL:
            score = heard.score if len(heard.alternatives) == 1 else share
            return Understood(best.meaning, best.text, round(score, 4), alternatives)
    return Understood(_refusal(heard.text, refused), heard.text, 0.0, alternatives)


def _same(meaning: Meaning, known: dict[Meaning, float]) -> Meaning:
    """Readings that differ only in how they were said are one."""
    if not isinstance(meaning, Reading):
        return meaning
    for other in known:
        if isinstance(other, Reading) and replace(other, digits=meaning.digits) == meaning:
            return other
    return meaning


def _refusal(text: str, refused: list[Refused]) -> Refused:
    """The most telling refusal: a plain misheard only if nothing better is known."""
    for kind in (OutOfRange, WrongUnit):
        if refused and isinstance(refused[0], kind):
            return refused[0]
    near = next((r.near for r in refused if isinstance(r, Misheard) and r.near), None)
    return Misheard(text, near)
