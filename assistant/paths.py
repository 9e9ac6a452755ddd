"""Where the shipped data lies. The package runs from its checkout; nothing is copied elsewhere."""

import os
from pathlib import Path

ROOT = Path(os.environ.get("HOSESIDE_ROOT", Path(__file__).resolve().parent.parent))
CHECKLISTS = ROOT / "checklists"
MODELS = ROOT / "models"
