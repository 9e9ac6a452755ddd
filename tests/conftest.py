"""What tests share: a rehearsal, the recogniser (loaded once), and the recordings where present."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from assistant import paths
from assistant.models import make_recogniser
from assistant.testing import Rehearsal

RECORDINGS = paths.ROOT.parent / "shared" / "recordings"


@pytest.fixture
def job():
    """A job just begun."""
    return Rehearsal()


@pytest.fixture(scope="session")
def whisper():
    """The real default recogniser."""
    return make_recogniser("whisper")


@pytest.fixture(scope="session")
def recordings() -> Path:
    """The folder of recordings; the test is skipped, by name, where it is absent."""
    if not RECORDINGS.exists():
        pytest.skip(f"no recordings at {RECORDINGS}")
    return RECORDINGS


def manifest(folder: Path) -> list[dict]:
    """The lines of a recordings folder's manifest."""
    return [json.loads(x) for x in (folder / "manifest.jsonl").read_text().splitlines()]
