"""How the signal at every joint of the good build follows each part, tube and the mains."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from lugwright.bringup.trace.bench import GENERATOR_OHM, SIGNAL_HZ, SIGNAL_METER_S, TraceBench
from lugwright.bringup.trace.records import Array
from lugwright.circuit.edits import ScaleValue
from lugwright.circuit.rewiring import Rewiring
from lugwright.solve.rewired import solve_rewired
from lugwright.solve.rewired_alternating import signal_heard

STEP = 0.05  # of a value's logarithm
LEAST = 1e-9  # of the generator's volt: less is no signal


def signal_moves(bench: TraceBench, values: Sequence[tuple[str, str]]) -> Array:
    """Return how the logarithm of the signal follows the logarithm of each value.

    Parameters
    ----------
    bench : TraceBench
        The build.
    values : sequence of (str, str)
        Element (or coil) and field.

    Returns
    -------
    array
        (joint of the circuit and ground, value) [-]

    Valid
    -----
    First order, of the good build; what a fault makes of it is taken to be about the same.

    Source
    ------
    Each value moved a little, the circuit solved anew: the tubes move with it.
    """
    moved = (Rewiring(f"{e}.{f}", (ScaleValue(e, f, float(np.exp(STEP))),)) for e, f in values)
    many = solve_rewired(bench.solved, [Rewiring(""), *moved])
    columns = many.columns
    every = np.tile(np.arange(columns.ground + 1), (columns.count, 1))
    source = np.full((columns.count, 1), columns.row_of(0, bench.joint_of(bench.driven)), dtype=np.intp)
    at = columns.values(bench.plugged.values)
    tips = every, columns.ground, source
    heard = signal_heard(bench.plugged, columns, at, many.answer, tips, SIGNAL_HZ, GENERATOR_OHM)
    size = np.log(np.maximum(np.abs(heard.shown(SIGNAL_METER_S)), LEAST))
    found = ((size[1:] - size[0]) / STEP).T
    return np.asarray(np.where(np.isfinite(found), found, 0.0))
