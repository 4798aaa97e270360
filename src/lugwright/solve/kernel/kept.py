"""Where the machine code of this package is kept, and whether that of single columns is there yet. No compiler here."""

from __future__ import annotations

from pathlib import Path

from lugwright.machine_code.kept import folder_of, made

HERE = Path(__file__).parent
LAWS = HERE.parents[1] / "circuit" / "tubes"  # these are compiled, too
SOURCES = (*sorted(HERE.glob("*.py")), *sorted(LAWS.glob("*.py")))
_SINGLE = ("column.newton", "column.solve", "frequencies.between", "waves.reflect", "waves.step", "waves.conducting")


def prepared() -> bool:
    """Return whether what solves single columns has been compiled for this machine already."""
    folder = folder_of(HERE, SOURCES)
    return all(any(folder.glob(f"*/{name}-*.nbc")) for name in _SINGLE)


def made_folder() -> str:
    """Return the folder for what is compiled of these very sources, "" when it cannot be made."""
    return made(folder_of(HERE, SOURCES))
