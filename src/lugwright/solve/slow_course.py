"""Minutes of supply and tubes, averaged over each mains cycle: second-order implicit steps of chosen length.

What a rectifier passes in the mean is a function of the mean volts across it: the closed mains cycle at those volts
(`mains_cycle`), closed anew when the volts have moved, with its exact slopes in between. With mains off the diodes
follow their own law. Ripple is left out, as is what a cycle differs from the steady one while levels drift.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from lugwright.errors import NoIdlePoint
from lugwright.solve.companion import Companion, StepRule
from lugwright.solve.dc import DcPoint, DcProblem
from lugwright.solve.device_laws import tube_state
from lugwright.solve.idle import static_law, tangent_law
from lugwright.solve.load_line import LoadLine
from lugwright.solve.mains_cycle import CyclePoint, MainsCycle
from lugwright.solve.port_laws import PortLaw
from lugwright.solve.swinging import SwingingChokes
from lugwright.solve.system import Array, System

Put = Callable[[Array, float], None]  # writes the values of a moment into a value array (value, 1)

INSTANTS = 63
_MOVED_V = 4.0  # mean volts across a rectifier from which its cycle is closed anew
_CHANGED = 0.12  # relative change of a resistance, or change of an emission, from which the surroundings are
_NEAR = 0.004  # relative change of a rectifier's emission from which its cycle is closed anew
_TOLERANCE_V, _TOLERANCE = (
    0.2,
    0.002,
)  # of a capacitor's volts within one step of _SHORT_S or more; less within shorter ones
_SHORT_S = 0.08
_ERROR_SHARE = 0.18  # error of the second-order rule against its difference from a quadratic guess
_SETTLE_S, _SHORTEST_S, _FIRST_S, _LONGEST_S = 1e-7, 1e-9, 2e-3, 4.0
_WATCHED_F = 5e-7  # capacitors that set the step; smaller ones follow at once or ring for nothing
_RENEWALS = 5
_QUIET_A = 1e-9


@dataclass(frozen=True)
class Course:
    """Cycle means over time, starting with the moment it began from."""

    seconds: Array  # (time)
    volts: Array  # (joint + ground, time)
    port_a: Array  # (diode, time)
    states: Array  # (state, time)

    def joined(self, later: Course) -> Course:
        """Return both courses as one; the later one starts where this ends."""
        return Course(
            np.concatenate([self.seconds, later.seconds]),
            np.concatenate([self.volts, later.volts], axis=1),
            np.concatenate([self.port_a, later.port_a], axis=1),
            np.concatenate([self.states, later.states], axis=1),
        )


class Rectifying:
    """The law of the rectifiers with mains on, followed through closed cycles."""

    def __init__(self, system: System) -> None:
        self.system = system
        self.cycles_closed = 0
        self._surroundings: MainsCycle | None = None
        self._point: CyclePoint | None = None
        self._values = np.zeros((0, 1))
        self._on = np.zeros(0)
        self._swinging = SwingingChokes(system, system.base_values)
        self._watched = np.concatenate([system.ohm_of, system.triode_on, system.pentode_on, self._swinging.rows])

    def renewed(self, values: Array, volts: Array) -> bool:
        """Close the cycle at these levels where they have moved away from it; return whether that was needed."""
        system = self.system
        mean_v = (volts[system.port_a] - volts[system.port_b])[:, 0]
        on = values[system.diode_rows.on, 0]
        surroundings, point = self._surroundings, self._point
        around = values.copy()
        self._swinging.follow(around, volts)  # a choke shows the rectifiers the inductance it has at this current
        if surroundings is None or self._changed(around):
            surroundings = MainsCycle(system, around, tube_state(system, around, volts), instants=INSTANTS)
            self._surroundings, self._values = surroundings, around
        elif point is not None and not self._moved(point, mean_v, on):
            return False
        surroundings.change_diodes(values)
        start = None if point is None else point.port_v + (mean_v - point.mean_v)[:, None]
        self._point = surroundings.close(LoadLine(mean_v, np.zeros((len(mean_v), len(mean_v)))), start)
        self._on = on
        self.cycles_closed += 1
        return True

    def _moved(self, point: CyclePoint, mean_v: Array, on: Array) -> bool:
        """Return whether a rectifier that carries current, or may begin to, has left its closed cycle."""
        rise = mean_v - point.mean_v
        away = np.where((point.mean_a > _QUIET_A) | (rise > 0.0), np.abs(rise), np.abs(rise) / 10.0)
        return bool(np.any(away > _MOVED_V)) or bool(np.any(np.abs(on - self._on) > _NEAR))

    def _changed(self, values: Array) -> bool:
        now, before = values[self._watched, 0], self._values[self._watched, 0]
        return bool(np.any(np.abs(now - before) > _CHANGED * np.maximum(np.abs(before), 1e-9)))

    def law(self, values: Array) -> PortLaw:
        """Return mean currents and slopes as the last closed cycle has them."""
        point = self._point
        if point is None:
            raise NoIdlePoint(
                what="the rectifiers have no law yet", found="no mains cycle closed", wanted="one", do="renew it first"
            )
        return tangent_law(point)


class Blocking:
    """The law of the diodes with mains off: their own."""

    def __init__(self, system: System) -> None:
        self.system = system

    def renewed(self, values: Array, volts: Array) -> bool:
        """Return that nothing was needed."""
        return False

    def law(self, values: Array) -> PortLaw:
        """Return currents and slopes of each diode alone."""
        return static_law(self.system, values)


@dataclass(frozen=True)
class _Taken:
    volts: Array
    states: Array
    port_a: Array


class SlowCourse:
    """Steps one system; ``put`` changes its values (value, 1) over time; ``slack`` widens what a step may err."""

    def __init__(
        self, system: System, values: Array, put: Put, diodes: Rectifying | Blocking, slack: float = 1.0
    ) -> None:
        self._slack = slack
        self.system, self.values, self.put, self.diodes = system, values.copy(), put, diodes
        self.companion = Companion(system, values)
        self.steps = 0
        self._watched = np.flatnonzero(values[system.farad_of, 0] >= _WATCHED_F)

    def run(self, start_s: float, end_s: float, states: Array, volts: Array, longest_s: float = _LONGEST_S) -> Course:
        """Return the course from states (state, 1) and a first guess of the joint volts (joint + ground, 1)."""
        times, taken = [start_s], [self._settled(start_s, states, volts)]
        step = _FIRST_S
        while times[-1] < end_s - 1e-9:
            step = min(step, end_s - times[-1], longest_s)
            new = self._step(times, taken, step)
            error = np.inf if new is None else self._error(times, taken, new, step)
            if new is None or error > 2.0:
                step *= 0.25 if new is None else max(0.25, 0.8 * error ** (-1 / 3))
                self._refuse_stuck(step, times[-1])
                continue
            times.append(times[-1] + step)
            taken.append(new)
            step *= float(np.clip(0.9 * max(error, 1e-6) ** (-1 / 3), 0.3, 2.0))
        return Course(
            np.array(times),
            np.concatenate([t.volts for t in taken], axis=1),
            np.concatenate([t.port_a for t in taken], axis=1),
            np.concatenate([t.states for t in taken], axis=1),
        )

    def _settled(self, seconds: float, states: Array, volts: Array) -> _Taken:
        """Return levels that go with the states: one very short step."""
        new = self._solve(StepRule.first(_SETTLE_S), seconds, states, states, volts)
        if new is None:
            raise self._refusal(seconds)
        return _Taken(new.volts, states, new.port_a)

    def _step(self, times: list[float], taken: list[_Taken], step: float) -> _Taken | None:
        now = taken[-1]
        if len(taken) == 1:
            return self._solve(StepRule.first(step), times[-1] + step, now.states, now.states, now.volts)
        before, before_s = taken[-2], times[-1] - times[-2]
        guess = now.volts + (now.volts - before.volts) * (step / before_s)
        return self._solve(StepRule.second(step, before_s), times[-1] + step, now.states, before.states, guess)

    def _solve(self, rule: StepRule, seconds: float, now: Array, before: Array, guess: Array) -> _Taken | None:
        system = self.system
        self.steps += 1
        self.put(self.values, seconds)
        push = self.companion.push_v(rule.rate, rule.now * now + rule.before * before)
        self.diodes.renewed(self.values, guess)
        for _ in range(_RENEWALS):
            problem = DcProblem(system, self.values, self.diodes.law(self.values), rate=rule.rate, push_v=push)
            point = problem.newton(guess, steps=25)
            if not point.solved.all():
                return None
            guess = point.volts
            if not self.diodes.renewed(self.values, guess):
                break
        return self._taken(problem, point, push)

    def _taken(self, problem: DcProblem, point: DcPoint, push: Array) -> _Taken:
        system, v = self.system, point.volts
        branch_v = v[system.branch_a] - v[system.branch_b]
        port_a = problem.ports(v[system.port_a] - v[system.port_b], problem.columns)[0]
        return _Taken(v, self.companion.states(problem.admittances, branch_v, push), port_a)

    def _error(self, times: list[float], taken: list[_Taken], new: _Taken, step: float) -> float:
        """Return the error of the filter capacitors' volts against what is allowed."""
        found = new.states[self._watched, 0]
        known = min(3, len(taken))
        at = np.array(times[-known:])
        guess = _extrapolated(at, np.array([t.states[self._watched, 0] for t in taken[-known:]]), times[-1] + step)
        share = min(1.0, max(0.1, step / _SHORT_S))
        allowed = self._slack * share * (_TOLERANCE_V + _TOLERANCE * np.abs(found))
        return float(np.max(_ERROR_SHARE * np.abs(found - guess) / allowed, initial=0.0))

    def _refuse_stuck(self, step: float, seconds: float) -> None:
        if step < _SHORTEST_S:
            raise self._refusal(seconds)

    def _refusal(self, seconds: float) -> NoIdlePoint:
        return NoIdlePoint(
            what="the start cannot be followed",
            found=f"no step of {_SHORTEST_S:g} s or more goes on from {seconds:.3g} s",
            wanted="currents that cancel at every joint at each moment",
            do="look at the idle first: lugwright idle",
        )


def _extrapolated(times: Array, rows: Array, at: float) -> Array:
    """Return the polynomial through the rows (time, column), continued."""
    total = np.zeros(rows.shape[1])
    for i, row in enumerate(rows):
        others = np.delete(times, i)
        total += row * np.prod((at - others) / (times[i] - others))
    return total
