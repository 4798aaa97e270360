"""The machine code of a moving slider: loaded where it has been compiled before, else compiled by a process beside."""

from __future__ import annotations

import gc
import logging
import os
import subprocess
import sys

from lugwright.solve import by_machine
from lugwright.solve.kernel.kept import prepared

_LOGGER = logging.getLogger(__name__)
_MAKE = "from lugwright.workflow.machine_code import make; make()"
_PLAIN = "NUMBA_DISABLE_JIT"  # somebody wants the same functions as plain Python, for which they are too slow here
_MAKERS: list[subprocess.Popen[bytes]] = []
_REFUSALS: list[str] = []


def prepare_sliders() -> None:
    """Load the machine code; where it has never been compiled begin with that, and load it at a later call.

    Nothing waits for the compiling, and where it fails everything goes on without.
    """
    if by_machine.loaded() or _REFUSALS or os.environ.get(_PLAIN, "0") != "0":
        return
    if _MAKERS[0].poll() == 0 if _MAKERS else prepared():
        _load()
    elif not _MAKERS:
        _MAKERS.append(subprocess.Popen([sys.executable, "-c", _MAKE], stdin=subprocess.DEVNULL))


def _load() -> None:
    try:
        by_machine.load()
    except Exception as error:  # noqa: BLE001 whatever ails a compiler: sliders are as quick as without it
        _LOGGER.warning("no machine code for sliders: %s: %s", type(error).__name__, error)
        _REFUSALS.append(str(error))
        return
    gc.collect()
    gc.freeze()  # the compiler stays: looking through it for garbage would hold up a step now and then by 70 ms


def make() -> None:
    """Compile the machine code, out of everybody's way: the whole life of that process.

    Where it cannot be kept that was for nothing: whoever loads it would wait for all of it again.
    """
    if hasattr(os, "nice"):
        os.nice(15)
    by_machine.load()
    if not by_machine.is_kept():
        raise SystemExit(1)
