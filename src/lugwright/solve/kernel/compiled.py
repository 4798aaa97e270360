"""The functions of this package as machine code."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TypeVar

from lugwright.machine_code.compiler import machine_code
from lugwright.machine_code.kept import folder_of, made

Function = TypeVar("Function", bound=Callable[..., object])

HERE = Path(__file__).parent
KEPT = made(folder_of(HERE, sorted(HERE.glob("*.py"))))


def compiled(function: Function) -> Function:
    """Return a function as machine code that only other such functions may call."""
    return machine_code(function, KEPT, called_from_python=False)


def entry(function: Function) -> Function:
    """Return a function as machine code that Python may call."""
    return machine_code(function, KEPT, called_from_python=True)
