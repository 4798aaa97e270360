"""A solved circuit followed under an edit: what a slider moves, closed and certified like any other idle.

Each round costs as little as it can. The mean currents of the rectifiers lead the direct current by the slopes of the
neighbor, which miss only by how far these bend; the slopes of the circuit itself are worked out once, at the end. And
once a round moves no joint by more than `_STAYS_V`, the next one keeps the surroundings of the rectifiers: all that
would be new in them is how tubes answer ripple, a share of that of their bias.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from lugwright.circuit.edits import Edit
from lugwright.solve.dc import DcPoint, refuse_unsolved, solve_dc
from lugwright.solve.idle import MOST_ROUNDS, SETTLED, Rounds, solve_column, tangent_law
from lugwright.solve.mains_cycle import INSTANTS, CyclePoint, MainsCycle
from lugwright.solve.solved import Solved
from lugwright.solve.system import Array

_STAYS_V = 1e-5


@dataclass(frozen=True)
class _Round:
    """Volts, the cycle closed there, and how well the currents cancel."""

    v: Array
    surroundings: MainsCycle
    cycle: CyclePoint
    weighed: DcPoint


class Following:
    """The circuit of a solved column under an edit of the whole circuit, followed from where that one stands."""

    def __init__(self, near: Solved, edit: Edit) -> None:
        self._near = near
        self._system, self._values = near.system, near.system.values([near.system.known(edit)])
        self._rounds = Rounds(self._system, self._values.copy(), INSTANTS)

    @property
    def stands(self) -> bool:
        """Return whether the neighbor's own cycle fits as it is: the first round was the last."""
        return self._first is not None and self._ends(self._first, np.inf if self._rounds.lamps else 0.0)

    def solved(self) -> Solved:
        """Return the circuit under the edit; whether it is certified `read_levels` and `read_idle` say.

        Raises
        ------
        NoIdlePoint
            No point found.
        """
        if self._first is None:
            return solve_column(self._system, self._values, self._near)
        found, count = (self._first, 1) if self.stands else self._onward(self._first)
        try:
            own = replace(found.cycle, slope_s=found.surroundings.slopes(found.cycle.port_v))
        except np.linalg.LinAlgError:  # diodes that nothing tells apart
            return solve_column(self._system, self._values, self._near)
        weighed = self._rounds.certified(found.v, own)
        return Solved(self._system, self._rounds.values, weighed, found.surroundings, own, count)

    @cached_property
    def _first(self) -> _Round | None:
        """Return the first round; None where there is no cycle to follow, or no way to it."""
        near, rounds = self._near, self._rounds
        if near.cycle is None:
            return None
        point = solve_dc(rounds.dc().with_ports(tangent_law(near.cycle)), near.dc.volts)
        if not point.solved.all():
            return None
        rounds.follow_chokes(point.volts)
        return self._round(point.volts, rounds.surroundings(point.volts), near.cycle)

    def _round(self, v: Array, surroundings: MainsCycle, near: CyclePoint) -> _Round:
        cycle = surroundings.follow(self._rounds.load_line(v), near)
        return _Round(v, surroundings, cycle, self._rounds.certified(v, cycle))

    @staticmethod
    def _ends(found: _Round, changed: float) -> bool:
        """Return whether a round may be the last; ``changed`` is the share by which lamps and chokes asked for more."""
        return abs(changed) < SETTLED and bool(found.weighed.solved.all())

    def _onward(self, found: _Round) -> tuple[_Round, int]:
        """Return the last round, and its number."""
        rounds = self._rounds
        for count in range(2, MOST_ROUNDS + 1):
            point = solve_dc(rounds.dc().with_ports(tangent_law(found.cycle)), found.v)
            refuse_unsolved(self._system, point)
            move = float(np.abs(point.volts - found.v).max())
            changed = rounds.follow_lamps_and_chokes(found.surroundings, found.cycle, point.volts)
            stays = move <= _STAYS_V and not changed
            surroundings = found.surroundings if stays else rounds.surroundings(point.volts)
            found = self._round(point.volts, surroundings, found.cycle)
            if self._ends(found, changed):
                return found, count
        raise rounds.unsettled(point, move)
