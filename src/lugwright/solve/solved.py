"""One solved circuit, as the solver leaves it and the readout takes it."""

from __future__ import annotations

from dataclasses import dataclass

from lugwright.solve.dc import DcPoint
from lugwright.solve.mains_cycle import CyclePoint, MainsCycle
from lugwright.solve.system import Array, System


@dataclass(frozen=True, eq=False)
class Solved:
    """One solved column: DC, and the cycle where the circuit has mains and diodes."""

    system: System
    values: Array  # (value, 1)
    dc: DcPoint
    surroundings: MainsCycle | None
    cycle: CyclePoint | None
    rounds: int
