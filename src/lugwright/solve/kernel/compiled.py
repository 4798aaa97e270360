"""The functions of this package as machine code."""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeVar

from lugwright.machine_code.compiler import machine_code
from lugwright.solve.kernel.kept import made_folder

Function = TypeVar("Function", bound=Callable[..., object])

KEPT = made_folder()


def compiled(function: Function) -> Function:
    """Return a function as machine code that only other such functions may call."""
    return machine_code(function, KEPT, called_from_python=False)


def entry(function: Function) -> Function:
    """Return a function as machine code that Python may call."""
    return machine_code(function, KEPT, called_from_python=True)
