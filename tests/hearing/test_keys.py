"""Keys beside the ears: what each means now, and that they work when hearing does not."""

import os
import pty
import subprocess
import sys
import time

import pytest

from assistant.conversation import Conversation
from assistant.hearing.ears import KeyboardEars
from assistant.hearing.keys import KeyedEars, meaning_of
from assistant.hearing.sources import Fault
from assistant.job import events as e
from assistant.job.decide import may_say
from assistant.job.plan import make_plan
from assistant.joblog.store import MemoryLog
from assistant.meaning.results import MaySay, Request, StateSaid
from assistant.speaking.mouth import Mouth
from assistant.speaking.voice import TextVoice
from assistant.testing import SET_UP, rehearse, shipped_profile

PLAN = make_plan(shipped_profile())


def test_confirm_is_affirm_or_the_items_own_state():
    """To a read-back affirm; to a challenge its state; to a choice nothing."""
    job = rehearse(SET_UP[:1])
    assert meaning_of("confirm", may_say(job.plan, job.state)) == Request("confirm")
    job = rehearse(SET_UP)
    assert meaning_of("confirm", may_say(job.plan, job.state)) == StateSaid("worn")
    job = rehearse(SET_UP[:6])  # "what blocks it?" is a choice
    assert meaning_of("confirm", may_say(job.plan, job.state)) is None


def test_stand_by_toggles_and_emergency_is_always_taken():
    """The same key pauses and goes on."""
    job = rehearse(SET_UP)
    assert meaning_of("stand_by", may_say(job.plan, job.state)) == Request("stand_by")
    job.say("stand by")
    assert meaning_of("stand_by", may_say(job.plan, job.state)) == Request("go_ahead")
    assert meaning_of("emergency", MaySay()) == Request("emergency")


class Deaf(KeyboardEars):
    """Ears whose recogniser fails at the first word and hears nothing after."""

    def __init__(self):
        super().__init__([])
        self._failed = False
        self.polls = 0

    def poll(self, may, own_words):
        self._clock += 0.1
        self.polls += 1
        if not self._failed:
            self._failed = True
            return Fault("failed", self._clock)
        if self.polls > 40:
            from assistant.hearing.ears import EndOfInput

            return EndOfInput()
        return None


def test_emergency_by_key_with_the_recogniser_down():
    """The fault is announced; the key still calls the emergency."""
    ears = KeyedEars(Deaf(), PLAN.equipment.keys)
    said, log = [], MemoryLog()
    talk = Conversation(PLAN, ears, Mouth(TextVoice(), said.append), log,
                        told=lambda x: ears.press("e") if isinstance(x, e.FaultNoticed) else None)
    talk.run("Test")
    kinds = [type(x.event).__name__ for x in log.entries()]
    assert "FaultNoticed" in kinds and "EmergencyCalled" in kinds
    assert any(s.text.startswith("Emergency. Jet off.") for s in said)


def test_a_key_that_means_nothing_now_is_ignored():
    """No event, no harm."""
    ears = KeyedEars(KeyboardEars([]), PLAN.equipment.keys)
    ears.press("x")
    ears.press(" ")
    assert type(ears.poll(MaySay(), None)).__name__ == "EndOfInput"


def test_keys_of_a_terminal_are_read_singly_and_the_terminal_given_back():
    """Without Enter, through a real pseudo-terminal."""
    code = ("import sys, time, termios\n"
            "from assistant.hearing.keys import listen_to_terminal\n"
            "before = termios.tcgetattr(0)\n"
            "pressed = []\n"
            "give_back = listen_to_terminal(pressed.append)\n"
            "print('ready', flush=True)\n"
            "end = time.monotonic() + 10\n"
            "while len(pressed) < 3 and time.monotonic() < end: time.sleep(0.05)\n"
            "give_back()\n"
            "print(pressed, termios.tcgetattr(0) == before, flush=True)\n")
    leader, follower = pty.openpty()
    child = subprocess.Popen([sys.executable, "-c", code], stdin=follower,
                             stdout=subprocess.PIPE, text=True)
    assert child.stdout.readline() == "ready\n"
    for data in (b" ", b"e", b"\x1b[6~"):
        os.write(leader, data)
        time.sleep(0.3)
    out, _ = child.communicate(timeout=30)
    os.close(leader)
    os.close(follower)
    assert out.strip() == "[' ', 'e', '\\x1b[6~'] True"


@pytest.mark.parametrize(("keys", "message"), [
    ("{confirm: space, stand_by: space}", "one key two meanings"),
    ("{dance: d}", "names 'dance'"), ("{confirm: 5}", "the key for confirm is 5")])
def test_broken_keys_are_one_sentence(tmp_path, keys, message):
    """With file and line."""
    from assistant.equipment import load_equipment
    from assistant.errors import HosesideError

    text = shipped_profile().read_text()
    line = next(x for x in text.splitlines() if x.startswith("keys:"))
    path = tmp_path / "p.yaml"
    path.write_text(text.replace(line, f"keys: {keys}"))
    with pytest.raises(HosesideError, match=message):
        load_equipment(path)


