"""The live path for real: a PulseAudio null sink, its monitor as the microphone."""

import os
import shutil
import subprocess
import sys
import time
import wave

import numpy as np
import pytest

from assistant import paths
from assistant.errors import HosesideError
from assistant.hearing.operator import load_script
from assistant.hearing.recogniser import RATE
from assistant.job import events as e
from assistant.joblog.store import reading

pytestmark = pytest.mark.skipif(
    shutil.which("pulseaudio") is None, reason="needs pulseaudio (make test installs it)")


@pytest.fixture
def pulse(tmp_path):
    """A private PulseAudio with a null sink; its environment."""
    home = tmp_path / "pulse"
    home.mkdir(mode=0o700)
    env = {**os.environ, "XDG_RUNTIME_DIR": str(home), "HOME": str(home),
           "PULSE_RUNTIME_PATH": str(home), "PULSE_LATENCY_MSEC": "60",
           "PULSE_SERVER": f"unix:{home}/native"}
    (home / ".asoundrc").write_text("pcm.!default pulse\nctl.!default pulse\n")
    server = subprocess.Popen(
        ["pulseaudio", "-n", "--daemonize=no", "--exit-idle-time=-1", "--disallow-exit",
         "-L", f"module-native-protocol-unix socket={home}/native auth-anonymous=1",
         "-L", "module-null-sink sink_name=ear", "-L", "module-always-sink"],
        env={k: v for k, v in env.items() if k != "PULSE_SERVER"},
        stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    try:
        for _ in range(50):
            time.sleep(0.1)
            ready = subprocess.run(["pactl", "set-default-source", "ear.monitor"], env=env,
                                   capture_output=True)
            if ready.returncode == 0:
                break
        else:
            pytest.fail("PulseAudio did not start")
        yield env
    finally:
        server.terminate()
        server.wait(timeout=10)


def write_wav(path, pcm):
    """16 kHz mono WAV."""
    with wave.open(str(path), "wb") as out:
        out.setnchannels(1)
        out.setsampwidth(2)
        out.setframerate(RATE)
        out.writeframes(pcm.tobytes())


def spoken(*texts):
    """Lines of the demo's operator with two seconds between them."""
    script = load_script(paths.ROOT / "demo" / "job.yaml")
    gap = np.zeros(2 * RATE, dtype=np.int16)
    return np.concatenate([part for t in texts for part in
                           (next(x.pcm for x in script.lines if x.say == t), gap)])


LISTENER = """
import sys, time
from assistant.hearing.ears import Said, SoundEars
from assistant.hearing.sources import Microphone
from assistant.job.decide import describe
from assistant.meaning.results import MaySay
from assistant.models import make_recogniser
recogniser = make_recogniser("whisper")
ears = SoundEars(Microphone(), recogniser)
print("listening", flush=True)
may = MaySay(frozenset({"confirm", "deny", "stand_by"}), readings=frozenset({"hose out"}))
end = time.monotonic() + float(sys.argv[1])
while time.monotonic() < end:
    found = ears.poll(may, None)
    if isinstance(found, Said):
        print(describe(found.understood.meaning), flush=True)
ears.close()
"""


def test_what_is_played_into_the_microphone_is_understood(pulse, tmp_path):
    """Sound through the operating system's audio, the callback, the queue, and the recogniser."""
    sound = tmp_path / "operator.wav"
    write_wav(sound, spoken("affirmative", "hose out thirty feet"))
    listener = subprocess.Popen([sys.executable, "-c", LISTENER, "14"], env=pulse,
                                stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
    assert listener.stdout.readline() == "listening\n", listener.stderr.read()
    subprocess.run(["paplay", "--device=ear", str(sound)], env=pulse, check=True, timeout=30)
    out, err = listener.communicate(timeout=60)
    assert out.splitlines() == ["confirm", "hose out 30 ft"], err


def test_a_whole_conversation_with_the_tools_voice_fed_back(pulse, tmp_path):
    """The loudspeaker plays into the same microphone at the same level. The operator's words are
    taken, the tool's own tick nothing, and the emergency is heard."""
    job = tmp_path / "live.job"
    out = (tmp_path / "out.txt").open("w")
    talk = subprocess.Popen([sys.executable, "-u", "-m", "assistant.cli", "job", str(job)],
                            env=pulse, stdout=out, stderr=subprocess.DEVNULL)
    try:
        for said, after in (("four inches", "Line diameter?"), ("affirmative", "four inches?"),
                            ("emergency", "Line length?")):
            sound = tmp_path / "line.wav"
            write_wav(sound, spoken(said)[:-RATE])
            wait_for(tmp_path / "out.txt", after)
            time.sleep(5.0)  # the tool's sentence and its echo are over
            subprocess.run(["paplay", "--device=ear", str(sound)], env=pulse, check=True)
        wait_for(tmp_path / "out.txt", "Machine?")
        time.sleep(6)  # its own "Machine?" and what follows tick nothing
    finally:
        talk.terminate()
        talk.wait(timeout=10)
        out.close()
    with reading(job) as log:
        events = [x.event for x in log.entries()]
    assert [(x.quantity, x.value) for x in events if isinstance(x, e.ValueConfirmed)] == [
        ("line diameter", 4)]
    assert [x.item for x in events if isinstance(x, e.ItemConfirmed)] == [
        "set-up/line/line-diameter"]
    assert sum(isinstance(x, e.EmergencyCalled) for x in events) == 1


def wait_for(file, text, seconds=40):
    """Until a text has been printed."""
    deadline = time.monotonic() + seconds
    while text not in file.read_text():
        assert time.monotonic() < deadline, file.read_text()
        time.sleep(0.1)


def test_a_missing_microphone_is_one_sentence(tmp_path):
    """No device: what to do about it, and no traceback."""
    env = {**os.environ, "PULSE_SERVER": "unix:/nonexistent", "HOME": str(tmp_path)}
    run = subprocess.run(
        [sys.executable, "-m", "assistant.cli", "job", str(tmp_path / "j.job"), "--device",
         "no such microphone", "--mute"], env=env, capture_output=True, text=True, timeout=120)
    assert run.returncode == 1
    lines = [x for x in run.stderr.splitlines() if x.startswith("hoseside:")]
    assert len(lines) == 1 and "--listen keyboard" in lines[0]
    assert "Traceback" not in run.stderr


def test_a_device_that_falls_silent_is_lost_and_comes_back(monkeypatch):
    """No callback for a second, or exact zeros for two: lost; reopening brings it back."""
    from assistant.hearing.sources import Fault, Microphone

    opened = []

    def open_nothing(self):
        opened.append(1)
        if len(opened) == 2:
            raise HosesideError("still away")

    monkeypatch.setattr(Microphone, "_open", open_nothing)
    monkeypatch.setattr(Microphone, "QUIET_LIMIT", 0.05)
    monkeypatch.setattr(Microphone, "START_LIMIT", 0.05)
    microphone = Microphone()
    first = microphone.read()
    assert isinstance(first, Fault) and first.what == "lost"
    microphone._wait, microphone._retry_at = 0.01, 0.0
    seen = []
    for _ in range(80):
        got = microphone.read()
        microphone._retry_at = min(microphone._retry_at, microphone.now())
        if isinstance(got, Fault):
            seen.append(got.what)
            break
    assert seen == ["back"] and len(opened) == 3
