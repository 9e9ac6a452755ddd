"""Where sound comes from: a microphone, a file, or a recorded job whose operator waits his turn.

Every source yields 512-sample frames of 16 kHz mono PCM with the time of each on its own clock,
so that the rest of the tool runs alike on live sound and, faster than real time, on recordings.
"""

from __future__ import annotations

import io
import queue
import threading
import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Protocol

import numpy as np

from assistant.errors import HosesideError
from assistant.hearing.detector import FRAME, FRAME_SECONDS
from assistant.hearing.recogniser import PCM, RATE, as_pcm


@dataclass(frozen=True)
class Frame:
    """32 ms of sound."""

    pcm: PCM
    at: float
    """Time of its first sample on the source's clock [s]."""


@dataclass(frozen=True)
class Fault:
    """Something that makes what was just heard worthless."""

    what: str
    """"lost", "overflow" or "back"."""
    at: float


class SoundSource(Protocol):
    """A stream of frames."""

    live: bool
    """Whether its clock is the wall's, so that speech must really be waited for."""

    def read(self) -> Frame | Fault | None:
        """The next frame, a fault, or None when the source has ended."""
        ...

    def tool_speaks(self, speaking: bool) -> None:
        """Told each turn whether the tool is speaking, as a person at the machine would hear."""
        ...

    def close(self) -> None:
        """Let the device go."""
        ...


def read_sound(path: Path) -> PCM:
    """A sound file (WAV, FLAC...) as 16 kHz mono PCM. Raises HosesideError naming the file."""
    from faster_whisper import decode_audio

    if not path.exists():
        raise HosesideError(f"{path}: there is no such sound file; check the name.")
    try:
        samples: Any = decode_audio(str(path), sampling_rate=RATE)
    except Exception as error:  # the decoder raises its own many kinds
        raise HosesideError(
            f"{path}: not a sound file that can be read ({error}); use WAV or FLAC.") from None
    if len(samples) == 0:
        raise HosesideError(f"{path}: the sound file is empty.")
    return as_pcm(samples)


def flac_of(pcm: PCM) -> bytes:
    """PCM as a FLAC file."""
    import av

    out = io.BytesIO()
    with av.open(out, "w", format="flac") as container:
        stream: Any = container.add_stream("flac", rate=RATE, layout="mono")
        frame = av.AudioFrame.from_ndarray(pcm.reshape(1, -1), format="s16", layout="mono")
        frame.sample_rate = RATE
        for packet in [*stream.encode(frame), *stream.encode(None)]:
            container.mux(packet)
    return out.getvalue()


def frames_of(pcm: PCM) -> Iterator[PCM]:
    """Whole frames, the last one filled up with silence."""
    for start in range(0, len(pcm), FRAME):
        frame = pcm[start:start + FRAME]
        yield frame if len(frame) == FRAME else np.pad(frame, (0, FRAME - len(frame)))


class Recording:
    """A sound file from beginning to end, with a second of silence to end the last word."""

    live = False

    def __init__(self, path: Path) -> None:
        pcm = np.concatenate([read_sound(path), np.zeros(RATE * 5 // 4, dtype=np.int16)])
        self._frames = frames_of(pcm)
        self._at = 0.0

    def read(self) -> Frame | Fault | None:
        """The next frame, None at the end."""
        pcm = next(self._frames, None)
        if pcm is None:
            return None
        frame = Frame(pcm, self._at)
        self._at += FRAME_SECONDS
        return frame

    def tool_speaks(self, speaking: bool) -> None:
        """A plain file waits for nobody."""

    def close(self) -> None:
        """Nothing to let go."""


class Microphone:
    """The default (or a named) input device. The callback only copies into a bounded queue.

    A device that sends nothing for a second counts as lost, and so does one that had a noise floor
    and then sends exact zeros for two; it is reopened by name with growing waits. (A virtual or
    gated device is digitally silent between words, so zeros alone say nothing.)
    """

    live = True
    START_LIMIT = 4.0
    """Seconds a device may take to send its first block after it was opened."""
    QUIET_LIMIT = 1.0
    ZERO_LIMIT = 2.0
    NOISE_FLOOR_AFTER = 20.0
    """Seconds without one silent frame after which the device is known to have a noise floor."""

    def __init__(self, name: str | None = None, seconds_kept: float = 30.0) -> None:
        self._name = name
        self._blocks: queue.Queue[bytes] = queue.Queue(maxsize=int(seconds_kept / FRAME_SECONDS))
        self._overflow = threading.Event()
        self._stream: Any = None
        self._lost = False
        self._retry_at = 0.0
        self._wait = 1.0
        self._zeros = 0.0
        self._sounding = 0.0
        self._has_floor = False
        self._fresh = True
        self._began = time.monotonic()
        self._at = 0.0
        self._open()

    def _open(self) -> None:
        try:
            import sounddevice
        except OSError as error:
            raise HosesideError(
                f"The sound library PortAudio cannot be loaded ({error}); "
                "install it (Debian: libportaudio2).") from None

        def callback(indata: Any, _frames: int, _time: Any, status: Any) -> None:
            if status.input_overflow:
                self._overflow.set()
            try:
                self._blocks.put_nowait(bytes(indata))
            except queue.Full:
                self._overflow.set()

        try:
            self._stream = sounddevice.RawInputStream(
                samplerate=RATE, blocksize=FRAME, channels=1, dtype="int16",
                device=self._name, callback=callback)
            self._stream.start()
            self._fresh = True
        except Exception as error:  # PortAudio, ValueError for an unknown name
            which = f"'{self._name}'" if self._name else "the default one"
            raise HosesideError(
                f"The microphone ({which}) cannot be opened: {error}; plug one in, name another "
                "with --device, or use --listen keyboard.") from None

    def now(self) -> float:
        """Seconds since the microphone was opened."""
        return time.monotonic() - self._began

    def read(self) -> Frame | Fault | None:
        """The next frame or a fault; blocks up to a second for it."""
        if self._lost:
            return self._try_again()
        if self._overflow.is_set():
            self._overflow.clear()
            self._at = self.now()
            return Fault("overflow", self._at)
        try:
            block = self._blocks.get(timeout=self.START_LIMIT if self._fresh else self.QUIET_LIMIT)
            self._fresh = False
        except queue.Empty:
            return self._lose()
        pcm: PCM = np.frombuffer(block, dtype=np.int16)
        if pcm.any():
            self._zeros = 0.0
            self._sounding += FRAME_SECONDS
            self._has_floor = self._has_floor or self._sounding > self.NOISE_FLOOR_AFTER
        else:
            self._zeros += FRAME_SECONDS
            self._sounding = 0.0
        if self._has_floor and self._zeros > self.ZERO_LIMIT:
            return self._lose()
        return self._next(pcm)

    def _next(self, pcm: PCM) -> Frame:
        """A frame at the time it was captured: counted in samples, since frames queue up while
        an utterance is being recognised."""
        frame = Frame(pcm, self._at)
        self._at += FRAME_SECONDS
        return frame

    def _lose(self) -> Fault:
        self._lost = True
        self._zeros = 0.0
        self._wait = 1.0
        self._retry_at = self.now() + self._wait
        self.close()
        return Fault("lost", self.now())

    def _try_again(self) -> Frame | Fault:
        """While lost: silence goes on at the pace of time, so that the job's clock runs."""
        time.sleep(FRAME_SECONDS)
        if self.now() >= self._retry_at:
            try:
                while not self._blocks.empty():
                    self._blocks.get_nowait()
                self._reopen()
                self._lost = False
                self._at = self.now()
                return Fault("back", self._at)
            except HosesideError:
                self._wait = min(self._wait * 2, 10.0)
                self._retry_at = self.now() + self._wait
        return self._next(np.zeros(FRAME, dtype=np.int16))

    def _reopen(self) -> None:
        """Open again; where that fails, re-scan the devices, whose list is frozen otherwise. That
        ends every stream of the program: the loudspeaker's opens itself again."""
        try:
            self._open()
        except HosesideError:
            import sounddevice

            sounddevice._terminate()
            sounddevice._initialize()
            self._open()

    def tool_speaks(self, speaking: bool) -> None:
        """A microphone hears what it hears."""

    def close(self) -> None:
        """Stop and close the stream; safe to call twice."""
        stream, self._stream = self._stream, None
        if stream is not None:
            try:
                stream.abort()
                stream.close()
            except Exception:  # a device that has gone cannot be closed politely
                pass
