"""Idle: mains on, no signal. DC of everything and one closed mains cycle, solved together.

The mean current through each rectifier is a function of the mean voltages across them, found exactly
(with its slopes) by closing the mains cycle; DC takes that function as the rectifiers' law. The two
are repeated until the currents at every joint cancel with the cycle closed at the final voltages.
Ripple enters through the tubes' slopes at idle; what its square adds to a tube's mean is left out.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from lugwright.circuit.edits import Edit
from lugwright.circuit.network import Circuit
from lugwright.circuit.operating import Idle
from lugwright.errors import NoIdlePoint
from lugwright.solve.dc import DcPoint, DcProblem, refuse_unsolved, solve_dc
from lugwright.solve.device_laws import tube_state
from lugwright.solve.kept_factors import KeptFactors
from lugwright.solve.leap import Leaps
from lugwright.solve.load_line import LoadLine
from lugwright.solve.mains_cycle import CyclePoint, MainsCycle
from lugwright.solve.mains_harmonics import INSTANTS
from lugwright.solve.port_laws import OwnLaws, Plane
from lugwright.solve.readout import nothing_holds, read_idle
from lugwright.solve.solved import Solved
from lugwright.solve.swinging import SwingingChokes
from lugwright.solve.system import Array, System

_COARSE = 63  # instants while still far away
_COARSE_ROUNDS = 20
MOST_ROUNDS = 60
_CLOSE_V = 0.5  # from here on the full number of instants
_LAMP_POWER = 0.55  # filament: amps = rated amps * (volts / rated volts) ** 0.55, from memory
_LAMP_COLD = 12.0  # hot over cold resistance, from memory (10 to 15)
_LAMP_CLOSE = 1e-4  # relative change of a lamp's resistance from one round to the next
SETTLED = 1e-6  # likewise, where it counts as that of the volts found
_LAMP_START = 0.3  # of its rated volts, to begin with
_LAMP_STEEP = 0.7  # a lamp's wish follows its resistance at most this closely, between two rounds


def solve_idle(circuit: Circuit, edits: Sequence[Edit] = (), *, instants: int = INSTANTS) -> list[Idle]:
    """Return the idle of the circuit under each edit (without edits: of the circuit itself).

    Parameters
    ----------
    circuit : Circuit
        The circuit with every element that an edit touches.
    edits : sequence of Edit
        Each is solved on its own, starting from its neighbor's answer.
    instants : int
        Points in one mains cycle; odd.

    Returns
    -------
    list of Idle
        One for each edit, each with a passing certificate.

    Raises
    ------
    NoIdlePoint
        No certified point; the message names the worst joint.
    """
    return [read_idle(solved) for solved in solve_columns(circuit, edits, instants=instants)]


def solve_columns(circuit: Circuit, edits: Sequence[Edit] = (), *, instants: int = INSTANTS) -> list[Solved]:
    """Return the circuit solved under each edit, as `solve_idle` does, before anything is read out of it.

    Raises
    ------
    NoIdlePoint
        No point found; what was found is certified only by `read_idle`.
    """
    system = System(circuit)
    return _one_after_the_other(system, system.values(edits), None, instants)


def solve_beside(near: Solved, edits: Sequence[Edit]) -> list[Solved]:
    """Return the circuit of a solved column under each edit, each started from its neighbor; see `solve_columns`."""
    return _one_after_the_other(near.system, near.system.values(edits), near, INSTANTS)


def _one_after_the_other(system: System, values: Array, near: Solved | None, instants: int) -> list[Solved]:
    found: list[Solved] = []
    for column in range(values.shape[1]):
        near = solve_column(system, values[:, [column]], near, instants=instants)
        found.append(near)
    return found


def solve_column(system: System, values: Array, near: Solved | None = None, *, instants: int = INSTANTS) -> Solved:
    """Return one solved column, started from a neighbor where there is one; see `solve_idle`."""
    has_mains = bool(np.any(values[system.source_rms] != 0.0)) and bool(system.diodes)
    start = near.dc.volts if near is not None else np.zeros((system.size + 1, 1))
    if not has_mains:
        return _without_mains(system, values, start)
    return Rounds(system, values.copy(), instants).run(start, near)


def _without_mains(system: System, values: Array, start: Array) -> Solved:
    point = solve_dc(DcProblem(system, values, static_law(system, values)), start)
    refuse_unsolved(system, point)
    cycle = None
    surroundings = None
    if np.any(values[system.source_rms] != 0.0):
        surroundings = MainsCycle(system, values, tube_state(system, values, point.volts))
        cycle = surroundings.close(LoadLine(np.zeros(0), np.zeros((0, 0))))
    return Solved(system, values, point, surroundings, cycle, 1)


class Rounds:
    """DC and mains cycle in turns, for one column of values."""

    def __init__(self, system: System, values: Array, instants: int, kept: KeptFactors | None = None) -> None:
        self.system, self.values, self.instants, self._kept = system, values, instants, kept
        lamps = [i for i, r in enumerate(system.resistors) if values[system.value_row[r.name, "lamp_w"], 0] > 0]
        self.lamps = [system.resistors[i] for i in lamps]
        self._lit = system.supply_with(self.lamps)
        self._swinging = SwingingChokes(system, values)
        self._lamp_before: dict[str, tuple[float, float]] = {}
        for lamp in self.lamps:
            self._light(lamp.name, _LAMP_START)
        self._problem: DcProblem | None = None

    def run(self, v: Array, near: Solved | None) -> Solved:
        points = min(_COARSE, self.instants)
        port_v = None if near is None or near.cycle is None else _resampled(near.cycle.port_v, points)
        move, lamp_moved, leaps = np.inf, 0.0, Leaps()
        for count in range(1, MOST_ROUNDS + 1):
            surroundings = self.surroundings(v, points)
            cycle = surroundings.close(self.load_line(v), port_v)
            port_v = cycle.port_v
            if points == self.instants and abs(lamp_moved) < SETTLED:
                certified = self.certified(v, cycle)
                if certified.solved.all():
                    return Solved(self.system, self.values, certified, surroundings, cycle, count)
            point = solve_dc(self.dc().with_ports(tangent_law(cycle)), v)
            refuse_unsolved(self.system, point)
            move = float(np.abs(point.volts - v).max())
            lamp_moved = self.follow_lamps_and_chokes(surroundings, cycle, point.volts)
            if lamp_moved:
                leaps.forget()
            v = leaps.onward(v, point.volts)
            near_enough = move < _CLOSE_V and abs(lamp_moved) < _LAMP_CLOSE
            if (near_enough or count >= _COARSE_ROUNDS) and points != self.instants:
                points, port_v = self.instants, _resampled(port_v, self.instants)
                leaps.forget()
                lamp_moved = np.inf if self.lamps else 0.0  # what a lamp asks for is to be seen at these instants
        raise self.unsettled(point, move)

    def unsettled(self, point: DcPoint, move_v: float) -> NoIdlePoint:
        """Return the refusal of a supply whose rounds do not come to an end."""
        worst = self.system.joints[int(np.argmax(np.abs(point.left_over_a[:, 0])))]
        return NoIdlePoint(
            what="the supply does not settle",
            found=f"{worst} still moves by {move_v:.2g} V after {MOST_ROUNDS} rounds",
            wanted="currents at every joint that cancel to 1 part in a billion",
            do=f"look at what feeds {worst}: a rectifier, its first capacitor and its load",
        )

    def dc(self) -> DcProblem:
        """Return direct current at the values as they are, its diodes carrying nothing."""
        if self._problem is None:
            self._problem = DcProblem(self.system, self.values, Plane.nothing(len(self.system.diodes)))
        return self._problem

    def surroundings(self, v: Array, instants: int = INSTANTS) -> MainsCycle:
        """Return what the diodes see, tubes by their slopes at these voltages."""
        tubes = tube_state(self.system, self.values, v)
        return MainsCycle(self.system, self.values, tubes, instants=instants, kept=self._kept)

    def load_line(self, v: Array) -> LoadLine:
        """Return the DC circuit at these voltages as its diodes see it, tubes by their slopes."""
        system, k = self.system, len(self.system.diodes)
        answer = self._answers(v)
        across = answer[system.port_a] - answer[system.port_b]
        open_v = (v[system.port_a] - v[system.port_b])[:, 0] - across[:, k]
        return LoadLine(open_v, across[:, :k])

    def _answers(self, v: Array) -> Array:
        """Return what joints do for a unit of current out of each diode, and for what is left over (joint, side)."""
        system, k = self.system, len(self.system.diodes)
        one = self.dc().by_machine
        if one is not None:
            found = one.answers(v)
            if np.isfinite(found).all():
                return found
        left, matrix = self.dc().linearized(v)
        drive = np.zeros((system.size + 1, k + 1))
        ports = np.arange(k)
        np.add.at(drive, (system.port_a, ports), 1.0)
        np.add.at(drive, (system.port_b, ports), -1.0)
        drive[:-1, k] = left[:, 0]
        dense = np.zeros((system.size, system.size))
        dense[system.dense_index] = matrix[:-1, 0]
        try:
            return np.vstack([np.linalg.solve(dense, drive[:-1]), np.zeros((1, k + 1))])
        except np.linalg.LinAlgError as error:
            joint = system.joints[int(np.argmin(np.abs(dense).sum(axis=1)))]
            raise nothing_holds(joint) from error

    def certified(self, v: Array, cycle: CyclePoint) -> DcPoint:
        """Return how well the currents at every joint cancel with the cycle closed at these voltages."""
        held = replace(tangent_law(cycle), follow=np.zeros_like(cycle.slope_s))
        point = self.dc().with_ports(held).newton(v, steps=1)
        # What the cycle itself leaves over in volts is that many amperes of doubt at the joints of its rectifiers.
        doubt = np.sum(np.abs(cycle.slope_s), axis=1) * cycle.left_over_v
        allowed = point.allowed_a + self.system.port_scatter(np.concatenate([doubt, doubt])[:, None])[:-1]
        return replace(point, allowed_a=allowed, solved=np.all(np.abs(point.left_over_a) <= allowed, axis=0))

    def _light(self, name: str, share_of_rated_v: float) -> None:
        row = self.system.value_row
        watts, rated_v = self.values[row[name, "lamp_w"], 0], self.values[row[name, "lamp_v"], 0]
        self.values[row[name, "ohm"], 0] = rated_v**2 / watts * share_of_rated_v ** (1.0 - _LAMP_POWER)

    def _set_lamp(self, name: str, rms_v: float) -> float:
        """Move a filament lamp to the resistance it has at this voltage; return the relative change asked for.

        The change is taken as the secant of the last two rounds says, in logarithms.
        """
        row = self.system.value_row
        watts, rated_v = self.values[row[name, "lamp_w"], 0], self.values[row[name, "lamp_v"], 0]
        rated = rated_v * rated_v / watts
        wanted = max(float(rated * (rms_v / rated_v) ** (1.0 - _LAMP_POWER)), float(rated / _LAMP_COLD))
        now = float(self.values[row[name, "ohm"], 0])
        ask = float(np.log(wanted / now))
        stretch = 1.0
        if name in self._lamp_before:
            at, asked = self._lamp_before[name]
            moved = float(np.log(now)) - at
            follows = (ask - asked) / moved + 1.0 if abs(moved) > SETTLED else 0.0
            stretch = 1.0 / (1.0 - min(max(follows, -_LAMP_STEEP), _LAMP_STEEP))
        self._lamp_before[name] = (float(np.log(now)), ask)
        self.values[row[name, "ohm"], 0] = now * float(np.exp(stretch * ask))
        return wanted / now - 1.0

    def follow_chokes(self, v: Array) -> None:
        """Give swinging chokes the inductance they have at these volts."""
        self._swinging.follow(self.values, v)

    def follow_lamps_and_chokes(self, surroundings: MainsCycle, cycle: CyclePoint, v: Array) -> float:
        """Give lamps and swinging chokes what they have at these volts; return the largest relative change."""
        lamps, chokes = self._follow_lamps(surroundings, cycle, v), self._swinging.follow(self.values, v)
        if lamps:
            self._problem = None
        return max(lamps, chokes, key=abs)

    def _follow_lamps(self, surroundings: MainsCycle, cycle: CyclePoint, v: Array) -> float:
        if not self.lamps:
            return 0.0
        ripple = surroundings.ripple_v(cycle.port_a, self._lit)
        asked = []
        for lamp in self.lamps:
            a, b = (self.system.row[joint] for joint in lamp.joints)
            wave = v[a] - v[b] + ripple[self._lit.where[a]] - ripple[self._lit.where[b]]
            asked.append(self._set_lamp(lamp.name, float(np.sqrt(np.mean(wave**2)))))
        return max(asked, key=abs)


def tangent_law(cycle: CyclePoint, scale: Array | float = 1.0) -> Plane:
    """Return the rectifiers' law near a closed cycle; ``scale`` is the mains against that cycle's, per column."""
    scales = np.atleast_1d(np.asarray(scale, dtype=float))
    return Plane(cycle.mean_a, cycle.mean_v, cycle.slope_s, cycle.slope_s, scales)


def _resampled(port_v: Array, instants: int) -> Array:
    old = np.arange(port_v.shape[1] + 1) / port_v.shape[1]
    new = np.arange(instants) / instants
    return np.stack([np.interp(new, old, np.append(row, row[0])) for row in port_v])


def static_law(system: System, values: Array) -> OwnLaws:
    """Return the diodes' own law, for circuits without mains."""
    return OwnLaws(system, values)
