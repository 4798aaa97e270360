"""Causes of spread, each a value of the circuit, and where it acts: a branch's conductance, a tube, the mains."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from lugwright.errors import CircuitError
from lugwright.solve.system import Array, Index, System

Cause = tuple[str, str]  # element (or coil) and field
_SIGNS = {"ohm": 1.0, "leak_s": -1.0}  # how the resistance of its branch follows it, in logarithms


@dataclass(frozen=True)
class BranchCauses:
    """Causes that are the conductance of a branch at 0 Hz; all others have no part in it."""

    count: int
    where: Index  # of those that act, among all causes
    branches: Index
    pairs: Index  # of coupled branches: each with itself
    signs: Array

    def spread(self, acting: Array) -> Array:
        """Return an array over all causes (..., cause) from one over those that act."""
        every = np.zeros((*acting.shape[:-1], self.count))
        every[..., self.where] = acting
        return every


def branch_causes(system: System, causes: Sequence[Cause], unplugged: Sequence[str] = ()) -> BranchCauses:
    """Return which causes are branch conductances; those of unplugged elements act on nothing.

    Raises
    ------
    CircuitError
        A cause is no value of the circuit.
    """
    own = {int(i): k for k, (i, j) in enumerate(zip(system.couple_i, system.couple_j, strict=True)) if i == j}
    where, branches, signs = [], [], []
    for k, (element, field) in enumerate(causes):
        if element not in unplugged:
            refuse_unknown(system, (element, field))
        if field in _SIGNS and element in system.branch_row:
            where.append(k)
            branches.append(system.branch_row[element])
            signs.append(_SIGNS[field])
    rows = np.array(branches, dtype=np.intp)
    pairs = np.array([own[b] for b in branches], dtype=np.intp)
    return BranchCauses(len(causes), np.array(where, dtype=np.intp), rows, pairs, np.array(signs))


def refuse_unknown(system: System, cause: Cause) -> None:
    """Raise CircuitError when a cause is no value of the circuit."""
    if cause not in system.value_row:
        raise CircuitError(
            what="a cause of spread does not fit the circuit",
            found=f"{cause[0]}.{cause[1]}",
            wanted="an element of the circuit and one of its values",
            do="check the part's name",
        )
