"""DC: every joint's level with capacitors settled, for a batch of edited circuits.

Newton's method with exact slopes; what it leaves unsolved goes through source stepping and then
pseudo-transient steps. A column counts as solved only when the currents at every joint cancel to
within rounding.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from lugwright.solve.device_laws import tube_currents_into_joints, tube_matrix_entries, tube_state
from lugwright.solve.sparse_lu import factor, solve_factored
from lugwright.solve.system import TIE_S, Array, System

Columns = NDArray[np.intp]
# Voltages (diode, batch) and the batch columns they belong to -> currents (diode, batch), slopes (diode, diode, batch).
PortLaw = Callable[[Array, Columns], tuple[Array, Array]]

RELATIVE = 1e-9  # of the currents that meet at a joint
ABSOLUTE_A = 1e-13
EPS = float(np.finfo(float).eps)
KNEE_V = 0.5  # a plate above this lands here at the lowest in one step
MAX_STEPS = 60


@dataclass(frozen=True)
class DcPoint:
    """Joint voltages (joint + ground, batch) and how good they are."""

    volts: Array
    solved: NDArray[np.bool_]  # (batch)
    left_over_a: Array  # (joint, batch), signed
    allowed_a: Array  # (joint, batch)
    error_v: Array  # (joint, batch): one more Newton step
    steps: int
    how: str


class DcProblem:
    """One system with one batch of values, its diodes as ports.

    ``columns`` are the columns of a larger batch that this problem holds, for the port law to tell them apart.
    """

    def __init__(self, system: System, values: Array, ports: PortLaw, columns: Columns | None = None) -> None:
        self.system, self.values, self.ports = system, values, ports
        self.columns = np.arange(values.shape[1]) if columns is None else columns
        self.admittances = np.real(system.admittances(values, 0.0))
        self.linear = system.matrix(self.admittances)
        first = len(system.resistors) + len(system.capacitors)
        self._sources = slice(first, first + len(system.sources))
        self._diagonal = [system.pattern.slot[i, i] for i in range(system.size)]

    def only(self, columns: Columns) -> DcProblem:
        """Return the problem restricted to some columns of the batch."""
        return DcProblem(self.system, self.values[:, columns], self.ports, self.columns[columns])

    def currents(self, v: Array, source: float) -> tuple[Array, Array, Array, Array]:
        """Return left-over, sum of magnitudes, rounding floor (joint, batch), and the matrix (slot, batch)."""
        system = self.system
        across = v[system.branch_a] - v[system.branch_b]
        across[self._sources] -= source * self.values[system.source_dc]
        branch = system.branch_currents(self.admittances, across)
        state = tube_state(system, self.values, v)
        tubes = tube_currents_into_joints(system, state)
        ports, slopes = self.ports(v[system.port_a] - v[system.port_b], self.columns)
        ports = source * ports
        both = np.concatenate([branch, -branch])
        port_both = np.concatenate([ports, -ports])
        total = system.branch_scatter(both) + system.tube_scatter(tubes) + system.port_scatter(port_both)
        size = (
            system.branch_scatter(np.abs(both))
            + system.tube_scatter(np.abs(tubes))
            + system.port_scatter(np.abs(port_both))
        )
        self._add_current_sources(total, size, source)
        total[system.tied] += TIE_S * v[system.tied]
        weights = (
            np.abs(self.admittances)
            * np.maximum(np.abs(v[system.branch_a]), np.abs(v[system.branch_b]))[system.couple_j]
        )
        floor = 4 * EPS * system.branch_scatter(np.concatenate([system.coupled_branches(weights)] * 2))
        matrix = self.linear + system.tube_matrix_scatter(tube_matrix_entries(state))
        k = len(system.diodes)
        flat = source * slopes.reshape(k * k, *slopes.shape[2:])
        matrix += system.port_matrix_scatter(np.concatenate([flat, -flat, -flat, flat]))
        return total[:-1], size[:-1], floor[:-1], matrix

    def _add_current_sources(self, total: Array, size: Array, source: float) -> None:
        for row, a, b in zip(self.system.current_amps, self.system.current_a, self.system.current_b, strict=True):
            amps = source * self.values[row]
            total[a] += amps
            total[b] -= amps
            size[a] += np.abs(amps)
            size[b] += np.abs(amps)

    def newton(self, start: Array, *, source: float = 1.0, hold_s: float = 0.0, steps: int = MAX_STEPS) -> DcPoint:
        """Return where Newton's method arrives; ``hold_s`` ties each joint to its starting level."""
        v = start.copy()
        batch = v.shape[1]
        solved = np.zeros(batch, dtype=bool)
        with np.errstate(all="ignore"):
            for count in range(1, steps + 1):  # noqa: B007 - reported below
                left, size, floor, matrix = self.currents(v, source)
                if hold_s:
                    left = left + hold_s * (v[:-1] - start[:-1])
                    matrix[self._diagonal] += hold_s
                move = self._solve(matrix, left)
                allowed = RELATIVE * size + ABSOLUTE_A + floor
                solved = np.all(np.abs(left) <= allowed, axis=0) & np.all(np.isfinite(left), axis=0)
                if solved.all():
                    if steps > 1:  # one more step costs nothing now and settles joints that hardly conduct
                        v[:-1] -= np.where(np.isfinite(move), move, 0.0)
                    break
                before = v.copy()
                v[:-1] -= np.where(solved, 0.0, np.nan_to_num(move, nan=0.0, posinf=1e4, neginf=-1e4))
                self._respect_knees(v, before)
        return DcPoint(v, solved, left, allowed, move, count, "Newton")

    def _solve(self, matrix: Array, left: Array) -> Array:
        if left.shape[1] == 1:
            return self._solve_dense(matrix, left)
        pattern = self.system.pattern
        return np.asarray(solve_factored(pattern, factor(pattern, matrix), left))

    def _solve_dense(self, matrix: Array, left: Array) -> Array:
        dense = np.zeros((self.system.size, self.system.size))
        dense[self.system.dense_index] = matrix[:-1, 0]
        try:
            return np.asarray(np.linalg.solve(dense, left), dtype=float)
        except np.linalg.LinAlgError:
            return np.full_like(left, np.nan)

    def _respect_knees(self, v: Array, before: Array) -> None:
        """Keep one Newton step from carrying a plate past its knee: from the corner it converges."""
        for rows in (self.system.triode_rows, self.system.pentode_rows):
            for plate, cathode in zip(rows[0], rows[-1], strict=True):
                if plate == self.system.size:
                    continue
                was, now = before[plate] - before[cathode], v[plate] - v[cathode]
                v[plate] = np.where((was > KNEE_V) & (now < KNEE_V), v[cathode] + KNEE_V, v[plate])


def solve_dc(problem: DcProblem, start: Array) -> DcPoint:
    """Return the DC point of every column: Newton, then source stepping, then pseudo-transient steps."""
    point = problem.newton(start)
    for method in (_source_stepping, _pseudo_transient):
        if point.solved.all():
            return point
        missing = np.flatnonzero(~point.solved)
        point = _merged(point, missing, method(problem.only(missing)))
    return point


def _source_stepping(problem: DcProblem) -> DcPoint:
    v = np.zeros((problem.system.size + 1, problem.values.shape[1]))
    level, step, steps = 0.0, 0.1, 0
    while level < 1.0 and step > 1e-5:
        trial = min(1.0, level + step)
        point = problem.newton(v, source=trial, steps=25)
        steps += point.steps
        if point.solved.all():
            v, level, step = point.volts, trial, step * 2.0
        else:
            step *= 0.25
    last = problem.newton(v, steps=25)
    return DcPoint(last.volts, last.solved, last.left_over_a, last.allowed_a, last.error_v, steps, "source stepping")


def _pseudo_transient(problem: DcProblem) -> DcPoint:
    v = np.zeros((problem.system.size + 1, problem.values.shape[1]))
    hold, steps = 1.0, 0
    while hold > 1e-12 and steps < 600:
        point = problem.newton(v, hold_s=hold, steps=12)
        steps += point.steps
        v = np.where(np.isfinite(point.volts), point.volts, v)
        hold *= 0.3 if point.solved.all() else 2.0
    last = problem.newton(v)
    return DcPoint(last.volts, last.solved, last.left_over_a, last.allowed_a, last.error_v, steps, "pseudo-transient")


def _merged(whole: DcPoint, columns: Columns, part: DcPoint) -> DcPoint:
    def put(a: NDArray[Any], b: NDArray[Any]) -> NDArray[Any]:
        result = a.copy()
        result[..., columns] = b
        return result

    return DcPoint(
        put(whole.volts, part.volts),
        put(whole.solved, part.solved),
        put(whole.left_over_a, part.left_over_a),
        put(whole.allowed_a, part.allowed_a),
        put(whole.error_v, part.error_v),
        whole.steps + part.steps,
        part.how,
    )
