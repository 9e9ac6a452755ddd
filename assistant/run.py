"""Puts a job together from what was chosen on the command line, and runs it."""

from __future__ import annotations

import hashlib
from pathlib import Path

from assistant.conversation import Conversation
from assistant.errors import HosesideError
from assistant.hearing.ears import Ears, KeyboardEars, Said, SoundEars
from assistant.hearing.operator import RecordedOperator, load_script
from assistant.hearing.recogniser import PCM
from assistant.hearing.sources import Microphone, Recording, SoundSource, flac_of
from assistant.job.events import Event
from assistant.job.plan import make_plan
from assistant.joblog.store import SqliteLog
from assistant.models import make_recogniser
from assistant.screen.terminal import Terminal
from assistant.speaking.mouth import Mouth
from assistant.speaking.voice import EspeakVoice, Muted, TextVoice, Voice, system_voice


def make_voice(mute: str | None, listen: str) -> Voice:
    """The voice for `--mute`: none given plays, a file takes PCM, bare takes the time only.

    Bare with the keyboard takes no time at all: a typist reads.
    """
    if mute is None:
        voice: Voice = system_voice()
        return voice
    if not mute and listen == "keyboard":
        return TextVoice()
    return EspeakVoice(Muted(Path(mute) if mute else None))


def run_job(
    *, file: Path, title: str, profile: Path, listen: str, engine: str, model: Path | None,
    device: str | None, mute: str | None, resume: bool, screen: Terminal | None = None,
    keep_audio: bool = False,
) -> int:
    """Run or resume a job; 0 when it came to its end, 3 when the input ended before it."""
    script = load_script(Path(listen)) if listen.endswith((".yaml", ".yml")) else None
    screen = screen or Terminal()
    operator: RecordedOperator | None = None
    ears: Ears
    if listen == "keyboard":
        ears = KeyboardEars()
    else:
        recogniser = make_recogniser(engine, model)
        source: SoundSource
        if script is not None:
            source = operator = RecordedOperator(script)
            title = script.title
        elif listen == "microphone":
            source = Microphone(device)
        else:
            source = Recording(Path(listen))
        ears = SoundEars(source, recogniser)
    voice = make_voice(mute, listen)
    log = SqliteLog(file, create=not resume)
    try:
        if resume:
            from assistant.cli import plan_of

            plan = plan_of(file, list(log.entries()))
        else:
            plan = make_plan(profile)
        mouth = Mouth(voice, screen.said)

        def told(event: Event) -> None:
            if operator is not None:
                operator.told(event)

        def heard(said: Said) -> None:
            screen.heard(said.understood)

        def keep(pcm: PCM) -> str:
            flac = flac_of(pcm)
            digest = hashlib.sha256(flac).hexdigest()
            log.keep_clip(digest, flac)
            return digest

        conversation = Conversation(plan, ears, mouth, log, heard, told,
                                    keep if keep_audio else None)
        if conversation.state.over:
            raise HosesideError(f"{file}: this job is finished; write its record with "
                                "'hoseside report'.")
        state = conversation.run(title)
        screen.ended(file, state.over)
    finally:
        ears.close()
        voice.close()
        log.close()
    return 0 if state.over else 3
