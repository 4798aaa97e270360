"""Compile functions over tables once for this machine, and keep the result beside the source or in the user's cache."""

from __future__ import annotations

import hashlib
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar, cast

import numba

Function = TypeVar("Function", bound=Callable[..., object])
HERE = Path(__file__).parent
# What is compiled is built from all of these, and the compiler itself looks at one file only.
SOURCES = (*sorted(HERE.glob("*.py")), HERE.parent / "objective.py")


def compiled(function: Function) -> Function:
    """Return a function as machine code that only other such functions may call."""
    return _compiled(function, called_from_python=False)


def entry(function: Function) -> Function:
    """Return a function as machine code that Python may call."""
    return _compiled(function, called_from_python=True)


def _compiled(function: Function, *, called_from_python: bool) -> Function:
    options = {"no_cfunc_wrapper": True, "no_cpython_wrapper": not called_from_python}
    njit, config = cast(Any, numba.njit), cast(Any, numba.config)
    usual = config.CACHE_DIR
    try:
        config.CACHE_DIR = usual or KEPT
        return cast(Function, njit(cache=True, **options)(function))
    except RuntimeError:  # no folder to keep it in: compiled at each start
        return cast(Function, njit(**options)(function))
    finally:
        config.CACHE_DIR = usual


def _folder() -> str:
    """Return the folder for what is compiled of these very sources, "" when it cannot be made."""
    digest = hashlib.sha256(b"".join(path.read_bytes() for path in SOURCES)).hexdigest()[:16]
    folder = HERE / "__pycache__" / f"compiled-{digest}"
    try:
        for old in folder.parent.glob("compiled-*"):
            if old != folder:
                shutil.rmtree(old, ignore_errors=True)
        folder.mkdir(parents=True, exist_ok=True)
    except OSError:
        return ""
    return str(folder)


KEPT = _folder()
