"""The machine code of a moving slider: loaded where it has been compiled before, else compiled by a process beside."""

from __future__ import annotations

import gc
import os
import subprocess
import sys

from lugwright.solve import by_machine
from lugwright.solve.kernel.kept import prepared

_MAKE = "from lugwright.workflow.machine_code import make; make()"
_MAKERS: list[subprocess.Popen[bytes]] = []


def prepare_sliders() -> None:
    """Load the machine code; where it has never been compiled begin with that, and load it at a later call.

    Nothing waits for the compiling, and where it fails everything goes on without.
    """
    if by_machine.loaded():
        return
    if prepared() or (_MAKERS and _MAKERS[0].poll() == 0):
        by_machine.load()
        gc.collect()
        gc.freeze()  # the compiler stays: looking through it for garbage would hold up a step now and then by 70 ms
    elif not _MAKERS:
        _MAKERS.append(subprocess.Popen([sys.executable, "-c", _MAKE], stdin=subprocess.DEVNULL))


def make() -> None:
    """Compile the machine code, out of everybody's way: the whole life of that process."""
    if hasattr(os, "nice"):
        os.nice(15)
    by_machine.load()
