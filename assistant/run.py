"""Puts a job together from what was chosen on the command line, and runs it."""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from pathlib import Path

from assistant.conversation import Conversation
from assistant.errors import HosesideError
from assistant.hearing.ears import Ears, KeyboardEars, Said, SoundEars
from assistant.hearing.keys import KeyedEars, listen_to_terminal
from assistant.hearing.operator import RecordedOperator, load_script
from assistant.hearing.recogniser import PCM
from assistant.hearing.sources import Microphone, Recording, SoundSource, flac_of
from assistant.job.decide import describe
from assistant.job.events import Event
from assistant.job.plan import Plan, make_plan
from assistant.job.state import State
from assistant.joblog.store import SqliteLog
from assistant.models import make_recogniser
from assistant.screen.glance import Glance
from assistant.screen.terminal import Quiet, Terminal
from assistant.screen.view import view
from assistant.screen.web import GlanceServer
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


def serve_page(address: str) -> GlanceServer:
    """The page at "host:port", "host", ":port" or, for "", on loopback at a free port."""
    host, _, port = address.rpartition(":") if ":" in address else (address, "", "")
    if port and not port.isdigit():
        raise HosesideError(f"--page: '{address}' is not an address; write host:port, such as "
                            "127.0.0.1:8080.")
    return GlanceServer(host or "127.0.0.1", int(port or 0))


def run_job(
    *, file: Path, title: str, profile: Path, listen: str, engine: str, model: Path | None,
    device: str | None, mute: str | None, resume: bool, screen: Terminal | None = None,
    keep_audio: bool = False, page: str | None = None, glance: bool = False,
) -> int:
    """Run or resume a job; 0 when it came to its end, 3 when the input ended before it."""
    script = load_script(Path(listen)) if listen.endswith((".yaml", ".yml")) else None
    screen = screen or (Quiet() if glance else Terminal())
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
    server: GlanceServer | None = None

    give_back: Callable[[], None] | None = None
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

        def keep(pcm: PCM) -> str:
            flac = flac_of(pcm)
            digest = hashlib.sha256(flac).hexdigest()
            log.keep_clip(digest, flac)
            return digest

        if listen == "microphone":
            keyed = KeyedEars(ears, plan.equipment.keys)
            give_back = listen_to_terminal(keyed.press)
            ears = keyed
        if page is not None:
            server = serve_page(page)
            screen.note(f"Page: {server.url}")
        last = {"heard": "", "meaning": ""}
        footer = f"Page: {server.url}" if server is not None else ""
        drawing = Glance(footer=footer) if glance else None

        def heard(said: Said) -> None:
            screen.heard(said.understood)
            last.update(heard=said.understood.text, meaning=describe(said.understood.meaning))

        def changed(plan: Plan, state: State) -> None:
            if server is None and drawing is None:
                return
            now = view(plan, state, **last)
            if server is not None:
                server.show(now)
            if drawing is not None:
                drawing.show(now)

        conversation = Conversation(plan, ears, mouth, log, heard, told,
                                    keep if keep_audio else None, changed)
        if conversation.state.over:
            raise HosesideError(f"{file}: this job is finished; write its record with "
                                "'hoseside report'.")
        state = conversation.run(title)
        screen.ended(file, state.over)
    finally:
        if give_back is not None:
            give_back()
        if server is not None:
            server.close()
        ears.close()
        voice.close()
        log.close()
    return 0 if state.over else 3
