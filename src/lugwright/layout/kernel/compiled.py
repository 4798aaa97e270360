"""Compile functions over tables once for this machine, and keep the result beside the source or in the user's cache."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, TypeVar, cast

import numba

from lugwright.layout.kernel.kept import made_folder

Function = TypeVar("Function", bound=Callable[..., object])


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


KEPT = made_folder()
