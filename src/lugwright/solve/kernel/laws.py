"""The laws of tubes, one tube at a time: the very functions of `lugwright.circuit.tubes`, compiled as they stand.

A law that is added or changed there needs nothing here but its line at the end.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from inspect import getclosurevars, isfunction, signature
from types import CodeType, FunctionType
from typing import Any, cast

from numba import config
from numba.np.unsafe.ndarray import to_fixed_tuple

from lugwright.circuit.tubes.drive import grid_current_a
from lugwright.circuit.tubes.pentode import pentode_currents_a
from lugwright.circuit.tubes.triode import triode_plate_current_a
from lugwright.solve.kernel.compiled import compiled

Law = Callable[..., Any]


def _row(row: Sequence[float], count: int) -> tuple[float, ...]:
    """Return so many figures of a row, to be handed to a law one by one."""
    return tuple(row[k] for k in range(count))


figures_of = _row if cast(Any, config).DISABLE_JIT else cast(Law, to_fixed_tuple)


def figures(law: Law) -> tuple[str, ...]:
    """Return the names of what a law takes besides volts, in its order."""
    return tuple(name for name, each in signature(law).parameters.items() if each.kind is each.KEYWORD_ONLY)


def _positional(code: CodeType) -> CodeType:
    """Return code that takes by place, too, what it takes by name only: the compiler knows no other arguments."""
    return code.replace(co_argcount=code.co_argcount + code.co_kwonlyargcount, co_kwonlyargcount=0)


def law_of(function: Law) -> Law:
    """Return a law as machine code, and with it all plain functions that it calls."""
    called = {name: law_of(each) for name, each in getclosurevars(function).globals.items() if isfunction(each)}
    known = {**function.__globals__, **called}
    defaults = tuple(each.default for each in signature(function).parameters.values() if each.default is not each.empty)
    return compiled(FunctionType(_positional(function.__code__), known, function.__name__, defaults))


TRIODE_FIGURES, PENTODE_FIGURES = figures(triode_plate_current_a), figures(pentode_currents_a)
triode, pentode, grid = law_of(triode_plate_current_a), law_of(pentode_currents_a), law_of(grid_current_a)
