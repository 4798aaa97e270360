"""The example builds, opened and planned once for all tests of one run."""

from __future__ import annotations

import functools
from pathlib import Path

from lugwright.workflow import open_build
from lugwright.workflow.opened import Opened

FOLDER = Path(__file__).parents[1] / "examples"
NAMES = tuple(sorted(path.stem for path in FOLDER.glob("*.toml")))


@functools.cache
def example(name: str) -> Opened:
    """Return an example; what is worked out of it stays worked out."""
    return open_build(FOLDER / f"{name}.toml")
