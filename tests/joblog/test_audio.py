"""The sound of confirmed values, kept only by choice and said aloud."""

import hashlib
import io

import av
import numpy as np

from assistant.conversation import Conversation
from assistant.hearing.ears import KeyboardEars, Said
from assistant.hearing.recogniser import RATE
from assistant.hearing.sources import flac_of
from assistant.job import events as e
from assistant.job.plan import make_plan
from assistant.joblog.store import SqliteLog, reading, verify
from assistant.speaking.mouth import Mouth
from assistant.speaking.voice import TextVoice
from assistant.testing import shipped_profile

TONE = (8000 * np.sin(2 * np.pi * 440 * np.arange(RATE) / RATE)).astype(np.int16)


class Sounding(KeyboardEars):
    """Typed lines that come with a sound."""

    def poll(self, may, own_words):
        """The line with a tone."""
        found = super().poll(may, own_words)
        if isinstance(found, Said):
            return Said(found.understood, found.speech_ended, found.known_at, found.timing, TONE)
        return found


def test_flac_keeps_every_sample():
    """Decoded again it is the same PCM."""
    with av.open(io.BytesIO(flac_of(TONE))) as container:
        back = np.concatenate([f.to_ndarray().ravel() for f in container.decode(audio=0)])
    assert np.array_equal(back, TONE)


def run(tmp_path, keep):
    """Two values and one that is dropped; the sentences said, the file."""
    path = tmp_path / "audio.job"
    log = SqliteLog(path, create=True)
    said = []

    def keep_clip(pcm):
        flac = flac_of(pcm)
        digest = hashlib.sha256(flac).hexdigest()
        log.keep_clip(digest, flac)
        return digest

    ears = Sounding(["four inches", "affirm", "ninety feet", "disregard", "eighty feet", "affirm"])
    Conversation(make_plan(shipped_profile()), ears, Mouth(TextVoice(), said.append), log,
                 keep=keep_clip if keep else None).run("Test")
    log.close()
    return [s.text for s in said], path


def test_kept_for_logged_values_only_and_announced(tmp_path):
    """One clip event a logged value, none for the dropped one; the file stays whole."""
    said, path = run(tmp_path, keep=True)
    assert "The sound of each logged value is kept." in said
    with reading(path) as log:
        assert verify(log).problem == ""
        kept = [x.event for x in log.entries() if isinstance(x.event, e.AudioKept)]
        assert [x.quantity for x in kept] == ["line diameter", "line length"]
        assert set(log.clips()) == {x.sha256 for x in kept}


def test_off_by_default(tmp_path):
    """Nothing kept, nothing said."""
    said, path = run(tmp_path, keep=False)
    assert not any("sound" in text.lower() for text in said)
    with reading(path) as log:
        assert log.clips() == {}


def test_an_altered_sound_is_seen(tmp_path):
    """Verify names it."""
    import sqlite3

    _, path = run(tmp_path, keep=True)
    db = sqlite3.connect(path)
    db.execute("UPDATE clips SET flac = x'00'")
    db.commit()
    db.close()
    with reading(path) as log:
        assert "was altered" in verify(log).problem
