"""Voices: thin adapters that make a sentence audible, and can be cut off.

`Voice.begin` starts one sentence; `busy` says whether it still sounds; `stop` cuts it within one
block. On Linux espeak-ng makes PCM that is played in short blocks; pyttsx3's Linux driver cannot
be interrupted, so pyttsx3 serves Windows and macOS, in a child process.
"""

from __future__ import annotations

import io
import math
import shutil
import subprocess
import sys
import threading
import wave
from contextlib import suppress
from functools import lru_cache
from pathlib import Path
from typing import Any, Protocol

import numpy as np

from assistant.errors import HosesideError
from assistant.hearing.recogniser import PCM, RATE, as_pcm

PACE = 150
"""Words a minute for prompts; numbers and warnings get SLOW."""
SLOW = 120
LATENCY = 0.1
"""Seconds of sound in the device's own buffer: less and a sound server underruns."""
BLOCK = RATE // 50
"""20 ms: the longest that our own buffer goes on after a cut; the device's comes on top."""


class Voice(Protocol):
    """Says one sentence at a time."""

    @property
    def alive(self) -> bool:
        """Whether it can still be heard."""
        ...

    def begin(self, text: str, now: float, tone: bool = False, slow: bool = False) -> None:
        """Start a sentence; `tone` puts the warning sound before it."""
        ...

    def busy(self, now: float) -> bool:
        """Whether the sentence still sounds at time `now` [s]."""
        ...

    def stop(self) -> None:
        """Cut it off."""
        ...

    def close(self) -> None:
        """Let the device go."""
        ...


def warning_tone(seconds: float = 0.4) -> PCM:
    """The sound before a high warning: two quick steps of a chord from 700 to 2,800 Hz.

    Four harmonics between 500 and 3,000 Hz (MIL-STD-1472E asks for that band), shorter than
    0.5 s because a long tone delays the answer (Simpson and Williams 1980).
    """
    t = np.arange(int(RATE * seconds)) / RATE
    low = sum(np.sin(2 * math.pi * 700 * k * t) / k for k in (1, 2, 3, 4))
    high = sum(np.sin(2 * math.pi * 933 * k * t) / k for k in (1, 2, 3))
    step = (t * 10).astype(int) % 2 == 0
    sound = np.where(step, low, high)
    edge = np.minimum(1.0, np.minimum(t, t[::-1]) / 0.005)
    return as_pcm(0.6 * sound * edge / np.max(np.abs(sound)))


class Espeak:
    """Sentences to 16 kHz PCM by the espeak-ng program, each kept once made."""

    def __init__(self) -> None:
        found = shutil.which("espeak-ng")
        if found is None:
            raise HosesideError("The program espeak-ng, which speaks, is not installed; "
                                "install it (Debian: espeak-ng) or use --mute.")
        self._program = found
        self.pcm = lru_cache(maxsize=512)(self._pcm)

    def _pcm(self, text: str, pace: int) -> PCM:
        run = subprocess.run(
            [self._program, "--stdout", "-v", "en-us", "-s", str(pace), "--", text],
            capture_output=True, timeout=30)
        if run.returncode != 0 or len(run.stdout) < 44:
            raise HosesideError(f"espeak-ng could not speak: {run.stderr.decode().strip()}")
        with wave.open(io.BytesIO(_mended(run.stdout))) as sound:
            rate = sound.getframerate()
            samples = np.frombuffer(sound.readframes(sound.getnframes()), dtype=np.int16)
        return resampled(samples, rate)


def _mended(wav: bytes) -> bytes:
    """espeak-ng writes its length before it knows it; put the true one in."""
    data = bytearray(wav)
    data[4:8] = (len(wav) - 8).to_bytes(4, "little")
    data[40:44] = (len(wav) - 44).to_bytes(4, "little")
    return bytes(data)


def resampled(samples: PCM, rate: int) -> PCM:
    """PCM at 16 kHz, straight between samples: good enough for a synthetic voice."""
    if rate == RATE:
        return samples
    wanted = np.arange(int(len(samples) * RATE / rate)) * rate / RATE
    values = np.interp(wanted, np.arange(len(samples)), samples.astype(np.float64))
    return np.round(values).astype(np.int16)


class SoundCard:
    """Plays PCM through the sound library in 20 ms blocks, so that a warning can cut in."""

    def __init__(self, name: str | None = None) -> None:
        try:
            import sounddevice
        except OSError as error:
            raise HosesideError(
                f"The sound library PortAudio cannot be loaded ({error}); "
                "install it (Debian: libportaudio2) or use --mute.") from None
        self._left: PCM = np.zeros(0, dtype=np.int16)
        self._lock = threading.Lock()
        self._sounddevice: Any = sounddevice
        self._name = name
        self._open()

    def _open(self) -> None:
        def callback(outdata: Any, frames: int, _time: Any, _status: Any) -> None:
            with self._lock:
                block, self._left = self._left[:frames], self._left[frames:]
            padded = np.pad(block, (0, frames - len(block)))
            outdata[:] = padded.astype(np.int16).tobytes()

        try:
            self._stream: Any = self._sounddevice.RawOutputStream(
                samplerate=RATE, blocksize=BLOCK, channels=1, dtype="int16", device=self._name,
                latency=LATENCY, callback=callback)
            self._stream.start()
        except Exception as error:  # PortAudio, ValueError for an unknown name
            raise HosesideError(f"The speaker cannot be opened: {error}; plug one in, or use "
                                "--mute and read the screen.") from None

    @property
    def alive(self) -> bool:
        """Whether the device still takes sound; opened again first where a re-scan of the devices
        has ended its stream."""
        try:
            return bool(self._stream.active)
        except self._sounddevice.PortAudioError:
            try:
                self._open()
            except HosesideError:
                return False
            return True

    def play(self, pcm: PCM, _now: float) -> None:
        """Start PCM at once, in place of whatever was playing."""
        with self._lock:
            self._left = pcm

    def playing(self, _now: float) -> bool:
        """Whether something is left to play."""
        with self._lock:
            return len(self._left) > 0

    def stop(self) -> None:
        """Silence within one block."""
        with self._lock:
            self._left = np.zeros(0, dtype=np.int16)

    def close(self) -> None:
        """Stop the stream."""
        with suppress(self._sounddevice.PortAudioError):
            self._stream.abort()
            self._stream.close()


class Muted:
    """Plays nothing: takes as long as the sound would, on the job's own clock, and can keep the
    PCM with its times to write it as a WAV file."""

    def __init__(self, file: Path | None = None) -> None:
        self._file = file
        self._until = -1.0
        self._now = 0.0
        self._kept: list[tuple[float, PCM]] = []
        self.alive = True

    def play(self, pcm: PCM, now: float) -> None:
        """Take the time of the sound."""
        self._until = now + len(pcm) / RATE
        if self._file is not None:
            self._kept.append((now, pcm))

    def playing(self, now: float) -> bool:
        """Whether the sound would still be heard at `now` [s]."""
        self._now = now
        return now < self._until

    def stop(self) -> None:
        """Cut off: what was kept is shortened to what would have been heard."""
        if self._kept and self._until > self._now:
            began, pcm = self._kept[-1]
            self._kept[-1] = (began, pcm[: max(0, int((self._now - began) * RATE))])
        self._until = -1.0

    def close(self) -> None:
        """Write the WAV file, if one was asked for."""
        if self._file is None or not self._kept:
            return
        end = max(int(at * RATE) + len(pcm) for at, pcm in self._kept)
        whole = np.zeros(end, dtype=np.int16)
        for at, pcm in self._kept:
            start = int(at * RATE)
            whole[start:start + len(pcm)] = pcm
        try:
            with wave.open(str(self._file), "wb") as out:
                out.setnchannels(1)
                out.setsampwidth(2)
                out.setframerate(RATE)
                out.writeframes(whole.tobytes())
        except OSError as error:
            raise HosesideError(f"{self._file}: the speech cannot be written ({error}).") from None


class EspeakVoice:
    """espeak-ng through an output: a sound card, or muted."""

    def __init__(self, output: SoundCard | Muted, espeak: Espeak | None = None) -> None:
        self._output = output
        self._espeak = espeak or Espeak()
        self._tone = warning_tone()

    @property
    def alive(self) -> bool:
        """Whether it can still be heard."""
        return self._output.alive

    def begin(self, text: str, now: float, tone: bool = False, slow: bool = False) -> None:
        """Speak a sentence; numbers and warnings slower."""
        pcm = self._espeak.pcm(text, SLOW if slow else PACE)
        if tone:
            pcm = np.concatenate([self._tone, np.zeros(RATE // 10, dtype=np.int16), pcm])
        self._output.play(pcm, now)

    def busy(self, now: float) -> bool:
        """Whether it still sounds."""
        return self._output.playing(now)

    def stop(self) -> None:
        """Cut it off."""
        self._output.stop()

    def close(self) -> None:
        """Let the output go."""
        self._output.close()


class SystemVoice:
    """pyttsx3, for Windows and macOS: one child process a sentence, so that it can be cut off."""

    alive = True

    def __init__(self) -> None:
        self._child: subprocess.Popen[bytes] | None = None

    def begin(self, text: str, now: float, tone: bool = False, slow: bool = False) -> None:
        """Speak a sentence in a child process."""
        self.stop()
        code = ("import sys, pyttsx3; e = pyttsx3.init(); "
                "e.setProperty('rate', int(sys.argv[1])); e.say(sys.argv[2]); e.runAndWait()")
        bell = "\a" if tone else ""
        print(bell, end="", flush=True)
        self._child = subprocess.Popen(
            [sys.executable, "-c", code, str(SLOW if slow else PACE), text])

    def busy(self, now: float) -> bool:
        """Whether the child still speaks."""
        return self._child is not None and self._child.poll() is None

    def stop(self) -> None:
        """End the child."""
        if self._child is not None and self._child.poll() is None:
            self._child.terminate()
            self._child.wait(timeout=5)
        self._child = None

    def close(self) -> None:
        """End the child."""
        self.stop()


class TextVoice:
    """Says nothing and takes no time: the words are on the screen only."""

    alive = True

    def begin(self, text: str, now: float, tone: bool = False, slow: bool = False) -> None:
        """Nothing to hear."""

    def busy(self, now: float) -> bool:
        """Never."""
        return False

    def stop(self) -> None:
        """Nothing to stop."""

    def close(self) -> None:
        """Nothing to close."""


def system_voice(device: str | None = None) -> Any:
    """The voice of this system: espeak-ng on Linux, pyttsx3 elsewhere."""
    if sys.platform.startswith("linux"):
        return EspeakVoice(SoundCard(device))
    return SystemVoice()
