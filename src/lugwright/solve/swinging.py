"""Swinging chokes follow the direct current through them."""

from __future__ import annotations

import numpy as np

from lugwright.circuit.elements import Windings
from lugwright.circuit.swinging_choke import choke_inductance_h
from lugwright.solve.system import Array, System


class SwingingChokes:
    """The chokes of a system that swing, with their inductance at rated current."""

    def __init__(self, system: System, values: Array) -> None:
        chokes = [e for e in system.circuit.elements if isinstance(e, Windings) and e.light_h > 0.0]
        coils = np.array([system.branch_row[e.coils[0].name] for e in chokes], dtype=np.intp)
        self.rows = np.array([system.value_row[e.name, "magnetizing_h"] for e in chokes], dtype=np.intp)
        self._a, self._b = system.branch_a[coils], system.branch_b[coils]
        ohms = np.array([system.value_row[e.coils[0].name, "ohm"] for e in chokes], dtype=np.intp)
        self._ohm, self._rated_h = values[ohms, 0], values[self.rows, 0]
        self._light_h, self._rated_a = (
            np.array([getattr(e, field) for e in chokes], dtype=float) for field in ("light_h", "rated_a")
        )

    def follow(self, values: Array, volts: Array) -> float:
        """Give each choke the inductance it has at these levels; return the largest relative change."""
        if not len(self.rows):
            return 0.0
        amps = (volts[self._a, 0] - volts[self._b, 0]) / self._ohm
        henry = choke_inductance_h(light_h=self._light_h, rated_h=self._rated_h, rated_a=self._rated_a, amps=amps)
        change = henry / values[self.rows, 0] - 1.0
        values[self.rows, 0] = henry
        return float(np.abs(change).max())
