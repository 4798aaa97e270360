"""Where the compiled search is kept, and whether it is there yet. Knows nothing of the compiler."""

from __future__ import annotations

import hashlib
import shutil
from pathlib import Path

HERE = Path(__file__).parent
# What is compiled is built from all of these, and the compiler itself looks at one file only.
SOURCES = (*sorted(HERE.glob("*.py")), HERE.parent / "objective.py")


def prepared() -> bool:
    """Return whether the search has been compiled for this machine already."""
    return any(_folder().glob("*/*.nbi"))


def made_folder() -> str:
    """Return the folder for what is compiled of these very sources, "" when it cannot be made."""
    folder = _folder()
    try:
        for old in folder.parent.glob("compiled-*"):
            if old != folder:
                shutil.rmtree(old, ignore_errors=True)
        folder.mkdir(parents=True, exist_ok=True)
    except OSError:
        return ""
    return str(folder)


def _folder() -> Path:
    digest = hashlib.sha256(b"".join(path.read_bytes() for path in SOURCES)).hexdigest()[:16]
    return HERE / "__pycache__" / f"compiled-{digest}"
