"""DC: every joint's level with capacitors settled, for a batch of edited circuits.

Newton's method with exact slopes; what it leaves unsolved goes through source stepping and then
pseudo-transient steps. A column counts as solved only when the currents at every joint cancel to
within rounding.
"""

from __future__ import annotations

from copy import copy
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from lugwright.errors import NoIdlePoint
from lugwright.solve.by_machine import OneColumn, numbers_of, ports_of, tables_of
from lugwright.solve.device_laws import TubeState, tube_currents_into_joints, tube_matrix_entries, tube_state
from lugwright.solve.port_laws import Columns, PortLaw
from lugwright.solve.sparse_lu import factor, solve_factored
from lugwright.solve.system import TIE_S, Array, System

if TYPE_CHECKING:
    from lugwright.solve.kernel.column import Numbers

RELATIVE = 1e-9  # of the currents that meet at a joint
ABSOLUTE_A = 1e-13
EPS = float(np.finfo(float).eps)
KNEE_V = 0.5  # a plate above this lands here at the lowest in one step
MAX_STEPS = 60
NEAR_V = 1.0  # a step smaller than this makes it worth asking whether the currents cancel
JUDGED_FROM = 8  # from this step on they are asked every time


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


class FoldedMatrix:
    """The matrix of one column with its linear joints folded into those that tubes and diodes touch.

    Only the slopes of tubes and diodes change from one Newton step to the next, so the rest is
    eliminated once (a Schur complement) and each step solves for the few joints they touch.
    """

    def __init__(self, system: System, linear: Array) -> None:
        dense = np.zeros((system.size, system.size))
        dense[system.dense_index] = linear[:-1, 0]
        self._scatter, self._outer = system.device_dense_scatter, system.device_joints
        self._inner = np.setdiff1d(np.arange(system.size), self._outer)
        o, i = self._outer, self._inner
        self._inverse = np.linalg.inv(dense[np.ix_(i, i)])
        self._from_outer = self._inverse @ dense[np.ix_(i, o)]
        self._to_outer = dense[np.ix_(o, i)]
        self._outer_matrix = dense[np.ix_(o, o)] - self._to_outer @ self._from_outer

    def step(self, slopes: Array, left: Array) -> Array:
        """Return x with A x = left for these slopes of tubes and diodes; not a number where A is singular."""
        count = len(self._outer)
        matrix = self._outer_matrix + self._scatter(slopes)[:-1, 0].reshape(count, count)
        inner = self._inverse @ left[self._inner]
        x = np.empty_like(left)
        try:
            x[self._outer] = np.linalg.solve(matrix, left[self._outer] - self._to_outer @ inner)
        except np.linalg.LinAlgError:
            return np.full_like(left, np.nan)
        x[self._inner] = inner - self._from_outer @ x[self._outer]
        return x


@dataclass(frozen=True)
class _Linear:
    """What of a problem has nothing to do with the law of its diodes; worked out when it is first asked for."""

    system: System
    values: Array
    admittances: Array
    push_v: Array | None

    @cached_property
    def matrix(self) -> Array:
        """Return the matrix without tubes and diodes (slot, batch). [S]"""
        return self.system.matrix(self.admittances)

    @cached_property
    def folded(self) -> FoldedMatrix:
        """Return the matrix of the one column, folded."""
        return FoldedMatrix(self.system, self.matrix)

    @cached_property
    def numbers(self) -> Numbers:
        """Return the numbers of the one column, for the machine code."""
        return numbers_of(self.system, self.values, self.admittances, self.push_v)


@dataclass(frozen=True)
class _Flows:
    """Every current at one set of voltages: what is left over at each joint (joint, batch), and the parts of it."""

    left: Array
    parts: Array  # in the order of the current scatter
    tubes: TubeState
    port_slopes: Array


class DcProblem:
    """One system with one batch of values, its diodes as ports.

    ``columns`` are the columns of a larger batch that this problem holds, for the port law to tell them apart.
    With ``rate`` it is one implicit step in time: the derivative of a state is ``rate`` times its change from a
    base, and ``push_v`` (branch, batch) is what those bases put in series with each branch, see `companion`.
    """

    def __init__(
        self,
        system: System,
        values: Array,
        ports: PortLaw,
        columns: Columns | None = None,
        *,
        rate: float = 0.0,
        push_v: Array | None = None,
    ) -> None:
        self.system, self.values, self.ports = system, values, ports
        self.rate, self.push_v = rate, push_v
        self.columns = np.arange(values.shape[1]) if columns is None else columns
        self.admittances = np.real(system.admittances(values, rate))
        self._tables = tables_of(system) if values.shape[1] == 1 else None
        self._shared = _Linear(system, values, self.admittances, push_v)
        first = len(system.resistors) + len(system.capacitors)
        self._sources = slice(first, first + len(system.sources))

    @property
    def linear(self) -> Array:
        """Return the matrix without tubes and diodes (slot, batch). [S]"""
        return self._shared.matrix

    def only(self, columns: Columns) -> DcProblem:
        """Return the problem restricted to some columns of the batch, to be solved without machine code."""
        push_v = None if self.push_v is None else self.push_v[:, columns]
        other = DcProblem(
            self.system, self.values[:, columns], self.ports, self.columns[columns], rate=self.rate, push_v=push_v
        )
        other._tables = None
        return other

    def with_ports(self, ports: PortLaw) -> DcProblem:
        """Return the same problem with another law of its diodes; what is linear is worked out only once."""
        other = copy(self)
        other.ports = ports
        other.__dict__.pop("by_machine", None)
        return other

    def left_over_a(self, v: Array) -> Array:
        """Return the current left over at every joint.

        Parameters
        ----------
        v : array
            Voltages (joint + ground, batch). [V]

        Returns
        -------
        array
            What does not cancel (joint, batch); zero at a solution. [A]

        Source
        ------
        Kirchhoff's current law.
        """
        return self._flows(v, 1.0).left

    def linearized(self, v: Array) -> tuple[Array, Array]:
        """Return the current left over at every joint and the matrix of slopes (slot, batch). [A], [S]"""
        if self.by_machine is not None:
            return self.by_machine.linearized(v)
        flows = self._flows(v, 1.0)
        return flows.left, self._matrix(flows, 1.0)

    def _flows(self, v: Array, source: float) -> _Flows:
        system = self.system
        across = v[system.branch_a] - v[system.branch_b]
        across[self._sources] -= source * self.values[system.source_dc]
        if self.push_v is not None:
            across += self.push_v
        branch = system.branch_currents(self.admittances, across)
        state = tube_state(system, self.values, v)
        ports, slopes = self.ports(v[system.port_a] - v[system.port_b], self.columns)
        ports = source * ports
        amps = np.broadcast_to(source * self.values[system.current_amps], (len(system.current_amps), v.shape[1]))
        tubes = tube_currents_into_joints(system, state)
        parts = np.concatenate([branch, -branch, tubes, ports, -ports, amps, -amps])
        total = system.current_scatter(parts)
        if len(system.tied):
            total[system.tied] += TIE_S * v[system.tied]
        return _Flows(total[:-1], parts, state, slopes)

    def _allowed_a(self, v: Array, flows: _Flows) -> Array:
        """Return what may be left over: a share of the currents that meet, and what rounding leaves."""
        system = self.system
        size = system.current_scatter(np.abs(flows.parts))
        level = np.maximum(np.abs(v[system.branch_a]), np.abs(v[system.branch_b]))
        if self.push_v is not None:
            level = level + np.abs(self.push_v)
        rounded = system.coupled_branches(np.abs(self.admittances) * level[system.couple_j])
        floor = 4 * EPS * system.branch_scatter(np.concatenate([rounded, rounded]))
        return np.asarray(RELATIVE * size[:-1] + ABSOLUTE_A + floor[:-1])

    def _slopes(self, flows: _Flows, source: float) -> Array:
        """Return the slopes of tubes and diodes in the order of the device scatters."""
        k = len(self.system.diodes)
        flat = source * flows.port_slopes.reshape(k * k, *flows.port_slopes.shape[2:])
        return np.concatenate([tube_matrix_entries(flows.tubes), flat, -flat, -flat, flat])

    def _matrix(self, flows: _Flows, source: float) -> Array:
        return np.asarray(self.linear + self.system.device_matrix_scatter(self._slopes(flows, source)))

    @property
    def _folded(self) -> FoldedMatrix:
        return self._shared.folded

    @cached_property
    def by_machine(self) -> OneColumn | None:
        """Return the problem as machine code; None without any, and for a batch."""
        if self._tables is None:
            return None
        return OneColumn(self._tables, self._shared.numbers, ports_of(self.ports, self.columns))

    def newton(self, start: Array, *, source: float = 1.0, hold_s: float = 0.0, steps: int = MAX_STEPS) -> DcPoint:
        """Return where Newton's method arrives; ``hold_s`` ties each joint to its starting level."""
        if self.by_machine is None:
            return self._newton(start, source, hold_s, steps)
        way = source, hold_s, steps, JUDGED_FROM, NEAR_V, KNEE_V, RELATIVE, ABSOLUTE_A
        return DcPoint(*self.by_machine.newton(start, way), "Newton")

    def _newton(self, start: Array, source: float, hold_s: float, steps: int) -> DcPoint:
        v = start.copy()
        solved = np.zeros(v.shape[1], dtype=bool)
        with np.errstate(all="ignore"):
            for count in range(1, steps + 1):
                flows = self._flows(v, source)
                left = flows.left + hold_s * (v[:-1] - start[:-1]) if hold_s else flows.left
                move = self._step(flows, left, source, hold_s)
                last = count == steps
                if last or count > JUDGED_FROM or float(np.abs(move).max(axis=0, initial=0.0).min()) < NEAR_V:
                    allowed = self._allowed_a(v, flows)
                    solved = np.all(np.abs(left) <= allowed, axis=0)
                    if solved.all():
                        if steps > 1:  # one more step costs nothing now and settles joints that hardly conduct
                            v[:-1] -= np.where(np.isfinite(move), move, 0.0)
                        break
                if not last:
                    before = v.copy()
                    v[:-1] -= np.where(solved, 0.0, _finite(move))
                    self._respect_knees(v, before)
            return DcPoint(v, solved, left, allowed, move, count, "Newton")

    def _step(self, flows: _Flows, left: Array, source: float, hold_s: float) -> Array:
        if left.shape[1] == 1 and not hold_s:
            return self._folded.step(self._slopes(flows, source), left)
        pattern = self.system.pattern
        matrix = self._matrix(flows, source)
        if hold_s:
            matrix[self.system.diagonal_slots] += hold_s
        return np.asarray(solve_factored(pattern, factor(pattern, matrix), left))

    def _respect_knees(self, v: Array, before: Array) -> None:
        """Keep one Newton step from carrying a plate past its knee: from the corner it converges."""
        plate, cathode = self.system.knees
        was, level = before[plate] - before[cathode], v[cathode]
        over = (was > KNEE_V) & (v[plate] - level < KNEE_V)
        if over.any():
            v[plate] = np.where(over, level + KNEE_V, v[plate])


def solve_dc(problem: DcProblem, start: Array) -> DcPoint:
    """Return the DC point of every column: Newton, then source stepping, then pseudo-transient steps."""
    point = problem.newton(start)
    if problem.by_machine is not None and not point.solved.all():
        problem = problem.only(np.arange(1))
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


def _finite(move: Array) -> Array:
    if np.isfinite(move).all():
        return move
    return np.asarray(np.nan_to_num(move, nan=0.0, posinf=1e4, neginf=-1e4))


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


def refuse_unsolved(system: System, point: DcPoint) -> None:
    """Raise NoIdlePoint when a column is not solved; the message names the worst joint."""
    if point.solved.all():
        return
    column = int(np.flatnonzero(~point.solved)[0])
    excess = np.abs(point.left_over_a[:, column]) / point.allowed_a[:, column]
    row = int(np.argmax(np.nan_to_num(excess, nan=np.inf)))
    raise NoIdlePoint(
        what="no idle point found",
        found=f"{system.joints[row]}: {abs(point.left_over_a[row, column]):.2g} A left over after {point.steps} steps "
        f"({point.how} tried last)",
        wanted=f"less than {point.allowed_a[row, column]:.2g} A left over at every joint",
        do=f"look for an open or shorted path at {system.joints[row]}",
    )
