"""Compile functions over tables once for this machine, and keep the result beside the source or in the user's cache."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, TypeVar, cast

import numba

Function = TypeVar("Function", bound=Callable[..., object])


def machine_code(function: Function, kept: str, *, called_from_python: bool) -> Function:
    """Return a function as machine code, kept in a folder; "" is the user's cache.

    What is not called from Python only other such functions may call.
    """
    options = {"no_cfunc_wrapper": True, "no_cpython_wrapper": not called_from_python}
    njit, config = cast(Any, numba.njit), cast(Any, numba.config)
    usual = config.CACHE_DIR
    try:
        config.CACHE_DIR = usual or kept
        return cast(Function, njit(cache=True, **options)(function))
    except RuntimeError:  # no folder to keep it in: compiled at each start
        return cast(Function, njit(**options)(function))
    finally:
        config.CACHE_DIR = usual
