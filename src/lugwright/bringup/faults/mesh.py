"""A mesh of resistors and sources that are all in phase: enough for what a fault does to heaters and to a primary."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from lugwright.circuit.edits import ScaleValue, SetValue
from lugwright.circuit.rewiring import Rewiring

LEAST_OHM, MOST_OHM = 1e-3, 2000.0  # what is larger is open
_SIDE = {"anode": "a", "cathode": "b"}
TIE_S = 1e-7  # keeps what hangs free at a level


@dataclass(frozen=True)
class Branch:
    """A resistance with a source in it, from b to a."""

    name: str
    a: str
    b: str
    ohm: float
    volts: float = 0.0


@dataclass(frozen=True, eq=False)
class Mesh:
    """Branches by the names of their elements."""

    branches: tuple[Branch, ...]
    most_ohm: float = MOST_OHM
    tie_s: float = TIE_S

    @cached_property
    def names(self) -> frozenset[str]:
        """Return the names of the branches."""
        return frozenset(branch.name for branch in self.branches)

    @cached_property
    def joints(self) -> frozenset[str]:
        """Return the joints of the branches."""
        return frozenset(joint for branch in self.branches for joint in (branch.a, branch.b))

    def touched(self, rewiring: Rewiring) -> Rewiring | None:
        """Return what of a rewiring concerns the mesh; None for nothing."""
        moved = tuple(m for m in rewiring.moved if m.element in self.names)
        bridges = tuple(
            b for b in rewiring.bridges if b.a in self.joints and b.b in self.joints and b.ohm < self.most_ohm
        )
        changes = tuple(c for c in rewiring.changes if c.element in self.names)
        return Rewiring("", changes, moved, bridges) if moved or bridges or changes else None

    def volts(self, rewiring: Rewiring) -> dict[str, float]:
        """Return the volts across every branch, nothing where it is open itself. [V]"""
        branches, level = self._solved(rewiring)
        return {one.name: abs(level[one.a] - level[one.b]) if one.ohm < self.most_ohm else 0.0 for one in branches}

    def levels(self, rewiring: Rewiring) -> dict[str, float]:
        """Return the level of every joint against one that nothing holds, or against all: differences count. [V]"""
        return self._solved(rewiring)[1]

    def _solved(self, rewiring: Rewiring) -> tuple[list[Branch], dict[str, float]]:
        branches = [*_otherwise(self.branches, rewiring), *(Branch("", b.a, b.b, b.ohm) for b in rewiring.bridges)]
        row = {joint: k for k, joint in enumerate(dict.fromkeys(j for b in branches for j in (b.a, b.b)))}
        a, b = (np.array([row[getattr(one, end)] for one in branches]) for end in ("a", "b"))
        siemens = 1.0 / np.maximum([one.ohm for one in branches], LEAST_OHM)
        drive = siemens * np.array([one.volts for one in branches])
        matrix, into = self.tie_s * np.eye(len(row)), np.zeros(len(row))
        for at, to, sign in ((a, a, 1.0), (b, b, 1.0), (a, b, -1.0), (b, a, -1.0)):
            np.add.at(matrix, (at, to), sign * siemens)
        np.add.at(into, a, drive)
        np.add.at(into, b, -drive)
        return branches, dict(zip(row, np.linalg.solve(matrix, into).tolist(), strict=True))


def _otherwise(branches: Sequence[Branch], rewiring: Rewiring) -> list[Branch]:
    moved = {(m.element, _SIDE.get(m.end, m.end)): m.to for m in rewiring.moved}
    changes = {(c.element, c.field): c for c in rewiring.changes}
    return [
        Branch(
            one.name, moved.get((one.name, "a"), one.a), moved.get((one.name, "b"), one.b),
            _changed(changes.get((one.name, "ohm")), one.ohm), one.volts,
        )
        for one in branches
    ]  # fmt: skip


def _changed(change: ScaleValue | SetValue | None, value: float) -> float:
    if change is None:
        return value
    return value * change.factor if isinstance(change, ScaleValue) else change.value
