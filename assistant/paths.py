"""Where the shipped data lies. The package runs from its checkout; nothing is copied elsewhere."""

import os
from pathlib import Path

ROOT = Path(os.environ.get("HOSESIDE_ROOT", Path(__file__).resolve().parent.parent))
CHECKLISTS = ROOT / "checklists"
MODELS = ROOT / "models"


def profile_path(name: str) -> Path:
    """An equipment profile's file from its shipped name or its own path."""
    shipped = CHECKLISTS / "equipment" / f"{name}.yaml"
    return shipped if shipped.exists() else Path(name)
