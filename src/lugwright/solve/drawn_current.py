"""What many wirings draw from the mains: complex amperes at its frequency."""

from __future__ import annotations

import numpy as np

from lugwright.circuit.rewiring import Rewiring
from lugwright.solve.rewired_alternating import mains_volts
from lugwright.solve.rewired_columns import RewiredColumns, compiled
from lugwright.solve.solved import Solved
from lugwright.solve.sparse_lu import Numbers
from lugwright.solve.system import Array


def drawn_a(columns: RewiredColumns, values: Array, volts: Numbers, source: str) -> Numbers:
    """Return the current that each wiring draws from one source.

    Parameters
    ----------
    columns : RewiredColumns
        The wirings.
    values : array
        Their values (value, column).
    volts : array
        Complex RMS volts of every joint at the source's frequency (joint, column), as `mains_volts`. [V]
    source : str
        The source.

    Returns
    -------
    array
        Complex RMS current out of its plus (column); its own volts are real. [A]

    Valid
    -----
    The fundamental: what charging pulses have above it is not in it.

    Source
    ------
    Ohm's law at the source's own resistance.
    """
    system = columns.system
    k = next(i for i, each in enumerate(system.sources) if each.name == source)
    row = len(system.resistors) + len(system.capacitors) + k
    each = np.arange(columns.count)
    plus, minus = columns.ends[row], columns.ends[row + len(system.branch_a)]
    across = volts[plus, each] - volts[minus, each]
    return np.asarray((values[system.source_rms[k]] - across) / values[system.source_ohm[k]])


def as_solved_a(base: Solved, source: str) -> complex:
    """Return the current that a solved circuit draws from one source.

    Parameters
    ----------
    base : Solved
        The circuit.
    source : str
        The source.

    Returns
    -------
    complex
        As `drawn_a`. [A]

    Source
    ------
    `drawn_a` of no wiring but its own.
    """
    columns = compiled(base.system, (Rewiring(""),))
    values = columns.values(base.values)
    return complex(drawn_a(columns, values, mains_volts(base, columns, values), source)[0])
