"""The example builds: planned once for all processes of one run of the tests, opened once in each of them."""

from __future__ import annotations

import fcntl
import functools
import os
import shutil
from pathlib import Path

from lugwright.workflow import open_build, write_plan
from lugwright.workflow.opened import Opened

FOLDER = Path(__file__).parents[1] / "examples"
NAMES = tuple(sorted(path.stem for path in FOLDER.glob("*.toml")))
OF_THIS_RUN = "LUGWRIGHT_PLANNED_FOR_TESTS"  # the folder that all processes of one run share


def planned(path: Path) -> Path:
    """Return the copy of a build file that has its plan beside it: to read, or to copy."""
    copied = Path(os.environ[OF_THIS_RUN]) / path.name
    with copied.with_suffix(".lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        if not copied.with_suffix(".plan.json").exists():
            write_plan(open_build(shutil.copy(path, copied)))
    return copied


def copied_with_plan(path: Path, folder: Path) -> Path:
    """Return a copy of a build file in a folder of one's own, its plan beside it."""
    source = planned(path)
    shutil.copy(source.with_suffix(".plan.json"), folder)
    return Path(shutil.copy(source, folder))


@functools.cache
def example(name: str) -> Opened:
    """Return an example; what is worked out of it stays worked out."""
    return open_build(planned(FOLDER / f"{name}.toml"))
