"""What an ohm reading that was worked out by itself hangs on: each resistance made a little greater."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from lugwright.bringup.trace.records import Array
from lugwright.circuit.edits import Edit, ScaleValue
from lugwright.circuit.network import Circuit
from lugwright.solve.ohms import ohm_readings

NUDGE = 1e-3  # by which a resistance is made greater
MOST_SHARE = 1.01  # what a reading follows one resistance at the most; more is what two huge numbers leave
LEAST_SHARE = 1e-4  # less is arithmetic


def ohms_followed(
    circuit: Circuit, pairs: Sequence[tuple[str, str]], edit: Edit, values: Sequence[tuple[str, str]]
) -> Array:
    """Return how the logarithm of each reading follows the logarithm of each resistance.

    Parameters
    ----------
    circuit : Circuit
        The circuit on the bench, wired as it is.
    pairs : sequence of (str, str)
        Red lead, black lead.
    edit : Edit
        What is otherwise in it.
    values : sequence of (str, str)
        Element (or coil) and field of the resistances.

    Returns
    -------
    array
        Share (pair, resistance); 0 of a reading that is over range or through a junction. [-]

    Source
    ------
    Difference of two readings, a thousandth of the resistance apart.
    """
    steps = [edit + Edit("", (ScaleValue(name, field, 1.0 + NUDGE),)) for name, field in values]
    found = ohm_readings(circuit, pairs, [edit, *steps])
    with np.errstate(divide="ignore", invalid="ignore"):
        share = np.log(found.ohm[1:] / found.ohm[0]).T / np.log1p(NUDGE)
    held = np.isfinite(share) & (np.abs(share) <= MOST_SHARE) & (np.abs(share) >= LEAST_SHARE)
    return np.where(held & ~found.through_junction[:, None], share, 0.0)
