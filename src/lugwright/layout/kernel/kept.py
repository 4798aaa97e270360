"""Where the compiled search is kept, and whether it is there yet. Knows nothing of the compiler."""

from __future__ import annotations

from pathlib import Path

from lugwright.machine_code.kept import folder_of, is_filled, made

HERE = Path(__file__).parent
SOURCES = (*sorted(HERE.glob("*.py")), HERE.parent / "objective.py")  # what is compiled is built from all of these


def prepared() -> bool:
    """Return whether the search has been compiled for this machine already."""
    return is_filled(folder_of(HERE, SOURCES))


def made_folder() -> str:
    """Return the folder for what is compiled of these very sources, "" when it cannot be made."""
    return made(folder_of(HERE, SOURCES))
