"""One wiring solved whole, from the base's answer: the way for what the batch does not answer."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache

import numpy as np

from lugwright.circuit.edits import SetValue
from lugwright.circuit.rewiring import Rewiring, rewired
from lugwright.solve.dc import DcPoint
from lugwright.solve.idle import solve_column
from lugwright.solve.rewired_columns import RewiredColumns
from lugwright.solve.solved import Solved
from lugwright.solve.system import Array, System

COARSE = 63  # instants of the mains cycle


def solve_whole(base: Solved, columns: RewiredColumns, column: int, *, instants: int = COARSE) -> Solved:
    """Return one wiring solved by itself, DC and mains cycle, started from the base.

    Raises
    ------
    NoIdlePoint
        It has no certified point.
    """
    rewiring = columns.rewirings[column]
    whole = replace(rewiring, bridges=rewiring.bridges + columns.leaks(column))
    system = _wired_otherwise(base.system, whole)
    values = system.base_values.copy()
    for key, row in system.value_row.items():
        if key in base.system.value_row:
            values[row] = base.values[base.system.value_row[key]]
    for change in rewiring.changes:
        row = system.value_row[change.element, change.field]
        values[row] = change.value if isinstance(change, SetValue) else values[row] * change.factor
    return solve_column(system, values, _near(base, system, rewiring), instants=instants)


@lru_cache(maxsize=8)
def _wired_otherwise(system: System, rewiring: Rewiring) -> System:
    """Return a system wired otherwise; the steps of one power-up ask for the same."""
    return System(rewired(system.circuit, rewiring))


def _near(base: Solved, system: System, rewiring: Rewiring) -> Solved:
    """Return the base as a neighbor on the joints of another wiring: where to start."""
    volts = np.zeros((system.size + 1, 1))
    for joint, row in system.row.items():
        if joint in base.system.row:
            volts[row] = base.dc.volts[base.system.row[joint]]
    nothing = np.zeros((system.size, 1))
    point = DcPoint(volts, np.ones(1, dtype=bool), nothing, nothing, nothing, 0, "start")
    return Solved(system, base.values, point, None, base.cycle if _same_diodes(base, rewiring) else None, 0)


def _same_diodes(base: Solved, rewiring: Rewiring) -> bool:
    names = {d.name for d in base.system.diodes}
    return not any(m.element in names for m in rewiring.moved)


def joint_volts(solved: Solved, names: dict[str, int], size: int, system: System) -> Array:
    """Return the DC volts of a wiring solved whole on the rows of the base and of its own new joints."""
    volts = np.zeros(size)
    for joint, row in solved.system.row.items():
        if joint in names:
            volts[names[joint]] = solved.dc.volts[row, 0]
        elif joint in system.row and row < solved.system.size:
            volts[system.row[joint]] = solved.dc.volts[row, 0]
    return volts
