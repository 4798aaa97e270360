"""Where compiled functions are kept, and whether they are there yet. Knows nothing of the compiler."""

from __future__ import annotations

import hashlib
import shutil
from collections.abc import Sequence
from pathlib import Path


def folder_of(here: Path, sources: Sequence[Path]) -> Path:
    """Return the folder, beside the sources, for what is compiled of these very sources.

    The compiler itself looks at one file only, and a function is built from several.
    """
    digest = hashlib.sha256(b"".join(path.read_bytes() for path in sources)).hexdigest()[:16]
    return here / "__pycache__" / f"compiled-{digest}"


def is_filled(folder: Path) -> bool:
    """Return whether something compiled lies there already."""
    return any(folder.glob("*/*.nbi"))


def made(folder: Path) -> str:
    """Return a folder that is there, those of older sources cleared away; "" when it cannot be made."""
    try:
        for old in folder.parent.glob("compiled-*"):
            if old != folder:
                shutil.rmtree(old, ignore_errors=True)
        folder.mkdir(parents=True, exist_ok=True)
    except OSError:
        return ""
    return str(folder)
