"""The functions of the search as machine code."""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeVar

from lugwright.layout.kernel.kept import made_folder
from lugwright.machine_code.compiler import machine_code

Function = TypeVar("Function", bound=Callable[..., object])

KEPT = made_folder()


def compiled(function: Function) -> Function:
    """Return a function as machine code that only other such functions may call."""
    return machine_code(function, KEPT, called_from_python=False)


def entry(function: Function) -> Function:
    """Return a function as machine code that Python may call."""
    return machine_code(function, KEPT, called_from_python=True)
