"""A solved circuit followed under an edit: what a slider moves, closed and certified like any other idle.

Each round costs as little as it can. The mean currents of the rectifiers lead the direct current by the slopes of the
neighbor, which miss only by how far these bend; the slopes of the circuit itself are worked out once, at the end. Once
a round moves no joint by more than `_STAYS_V`, the next one keeps the surroundings of the rectifiers: all that would be
new in them is how tubes answer ripple, a share of that of their bias. And where the means of the cycle are the volts
found to the last figure, the cycle stays, too.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from lugwright.circuit.edits import Edit
from lugwright.solve.dc import DcPoint, refuse_unsolved, solve_dc
from lugwright.solve.idle import MOST_ROUNDS, SETTLED, Rounds, solve_column, tangent_law
from lugwright.solve.kept_factors import KeptFactors
from lugwright.solve.mains_cycle import CyclePoint, MainsCycle
from lugwright.solve.mains_harmonics import INSTANTS
from lugwright.solve.solved import Solved
from lugwright.solve.system import Array

_STAYS_V = 1e-5
_STANDS_V = 1e-3  # a tenth of what a page tells
_NEAR_V = 1e-5  # from here one more step of Newton's method leaves less than rounding does


@dataclass(frozen=True)
class _Round:
    """Volts, and the cycle closed there."""

    v: Array
    surroundings: MainsCycle
    cycle: CyclePoint
    weighed: DcPoint  # how well the currents cancel


class Following:
    """The circuit of a solved column under an edit of the whole circuit, followed from where that one stands."""

    def __init__(self, near: Solved, edit: Edit, kept: KeptFactors | None = None) -> None:
        self._near = near
        self._system, self._values = near.system, near.system.values([near.system.known(edit)])
        self._rounds = Rounds(self._system, self._values.copy(), INSTANTS, kept)

    @property
    def rectifiers_stand(self) -> bool:
        """Return whether the neighbor's own cycle fits as it is: the first round was the last."""
        return self._first is not None and self._at_once(self._first)

    @property
    def joints_stand(self) -> bool:
        """Return whether no joint moves from where the neighbor has it, its rectifiers led by their means."""
        guess = self._guess
        return guess is not None and self._move_v(guess.volts, self._near.dc.volts) <= _STANDS_V

    def beside_rectifiers(self) -> Solved | None:
        """Return the circuit under an edit known to leave the rectifiers as they are; None if there is no way to it.

        That is direct current alone, certified by itself, and the neighbor's cycle.
        """
        if self._guess is None:
            return None
        return Solved(self._system, self._rounds.values, self._guess, None, self._near.cycle, 1)

    def solved(self) -> Solved:
        """Return the circuit under the edit; whether it is certified `read_levels` and `read_idle` say.

        Raises
        ------
        NoIdlePoint
            No point found.
        """
        if self._first is None:
            return solve_column(self._system, self._values, self._near)
        found, count = (self._first, 1) if self._at_once(self._first) else self._onward(self._first)
        try:
            own = replace(found.cycle, slope_s=found.surroundings.slopes(found.cycle.port_v))
        except np.linalg.LinAlgError:  # diodes that nothing tells apart
            return solve_column(self._system, self._values, self._near)
        return Solved(self._system, self._rounds.values, found.weighed, found.surroundings, own, count)

    @cached_property
    def _guess(self) -> DcPoint | None:
        """Return the direct current with the neighbor's rectifiers; None where there are none, or no way to it."""
        near = self._near
        if near.cycle is None:
            return None
        point = solve_dc(self._rounds.dc().with_ports(tangent_law(near.cycle)), near.dc.volts)
        return point if point.solved.all() else None

    @cached_property
    def _first(self) -> _Round | None:
        """Return the first round; None where there is no cycle to follow, or no way to it."""
        near, rounds = self._near, self._rounds
        point = self._guess
        if point is None or near.cycle is None:
            return None
        rounds.follow_chokes(point.volts)
        surroundings = rounds.surroundings(point.volts)
        cycle = surroundings.follow(rounds.load_line(point.volts), near.cycle, nearly=True)
        if cycle.left_over_v <= surroundings.exact_v:
            return _Round(point.volts, surroundings, cycle, rounds.certified(point.volts, cycle))
        return _Round(point.volts, surroundings, cycle, replace(point, solved=np.zeros_like(point.solved)))

    def _at_once(self, first: _Round) -> bool:
        """Return whether the first round is the last."""
        return self._last(first, np.inf if self._rounds.lamps else 0.0)

    @staticmethod
    def _move_v(v: Array, before: Array) -> float:
        return float(np.abs(v - before).max())

    @staticmethod
    def _last(found: _Round, changed: float) -> bool:
        """Return whether a round may be the last; ``changed`` is the share by which lamps and chokes asked for more."""
        return abs(changed) < SETTLED and bool(found.weighed.solved.all())

    def _onward(self, found: _Round) -> tuple[_Round, int]:
        """Return the last round, and its number."""
        rounds = self._rounds
        for count in range(2, MOST_ROUNDS + 1):
            v = self._led(found)
            changed = rounds.follow_lamps_and_chokes(found.surroundings, found.cycle, v)
            stays = self._move_v(v, found.v) <= _STAYS_V and not changed
            surroundings, cycle = found.surroundings, found.cycle
            if not stays:
                surroundings = rounds.surroundings(v)
            if not stays or not self._belongs(cycle, surroundings, v):
                cycle = surroundings.follow(rounds.load_line(v), cycle)
            before, found = found, _Round(v, surroundings, cycle, rounds.certified(v, cycle))
            if self._last(found, changed):
                return found, count
        raise rounds.unsettled(found.weighed, self._move_v(found.v, before.v))

    def _led(self, found: _Round) -> Array:
        """Return the volts that the direct current settles to with the rectifiers' means as a round has them."""
        problem = self._rounds.dc().with_ports(tangent_law(found.cycle))
        point = problem.newton(found.v, steps=2)
        if point.solved.all():  # then the last step is in its volts already
            return point.volts
        if float(np.abs(point.error_v).max(initial=0.0)) <= _NEAR_V:
            return np.asarray(point.volts - np.append(point.error_v, [[0.0]], axis=0))
        point = solve_dc(problem, point.volts)
        refuse_unsolved(self._system, point)
        return point.volts

    def _belongs(self, cycle: CyclePoint, surroundings: MainsCycle, v: Array) -> bool:
        """Return whether a cycle's means are these volts, as closely as a cycle is closed."""
        across = (v[self._system.port_a] - v[self._system.port_b])[:, 0]
        return float(np.abs(across - cycle.mean_v).max(initial=0.0)) <= surroundings.exact_v
