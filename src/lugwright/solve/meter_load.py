"""What a voltmeter takes from the point it is put on."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from lugwright.circuit.edits import OPEN_OHM
from lugwright.circuit.elements import Resistor
from lugwright.circuit.network import Circuit
from lugwright.solve.dc import DcProblem, refuse_unsolved, solve_dc
from lugwright.solve.idle import static_law, tangent_law
from lugwright.solve.port_laws import PortLaw
from lugwright.solve.solved import Solved
from lugwright.solve.system import System

METER_OHM = 10e6  # an ordinary digital meter on its DC volts ranges, from memory
MUCH = 0.01  # a share taken from which on the loaded point is found by Newton's method, not by slopes
NOTHING_V = 0.1  # below this a share has no meaning but its slope


@dataclass(frozen=True)
class Voltmeter:
    """A meter that may be put from any joint of a circuit to ground."""

    circuit: Circuit
    ohm: float = METER_OHM

    def shown_shares(self, solved: Solved) -> Mapping[str, float]:
        """Return which share of the volts at each joint the meter shows.

        Parameters
        ----------
        solved : Solved
            One solved column of the circuit.

        Returns
        -------
        mapping
            Joint to share, 1 where the meter takes nothing. [-]

        Raises
        ------
        NoIdlePoint
            A joint under the meter has no certified point.

        Valid
        -----
        The rectifiers keep their law: no meter moves a supply. A joint that nothing holds shows nothing.

        Source
        ------
        Thevenin: the meter divides with the resistance the joint has to ground; where it takes more than a
        hundredth, Kirchhoff's laws with the meter in the circuit.
        """
        system = solved.system
        _, slopes = DcProblem(system, solved.values, _law(solved)).linearized(solved.dc.volts)
        dense = np.zeros((system.size, system.size))
        dense[system.dense_index] = slopes[:-1, 0]
        behind_ohm = np.abs(np.diag(np.linalg.inv(dense)))
        shares = {joint: self.ohm / (self.ohm + float(behind_ohm[system.row[joint]])) for joint in system.joints}
        level = {joint: abs(float(solved.dc.volts[system.row[joint], 0])) for joint in system.joints}
        much = [j for j, share in shares.items() if share < 1.0 - MUCH and level[j] > NOTHING_V]
        return {**shares, **self._found(solved, much)}

    @cached_property
    def _with_meters(self) -> System:
        meters = [Resistor(f"meter.{joint}", joint, self.circuit.ground, OPEN_OHM, "meter") for joint in self._row]
        return System(self.circuit.with_elements(meters))

    @cached_property
    def _row(self) -> Mapping[str, int]:
        return {joint: row for row, joint in enumerate(j for j in self.circuit.joints if j != self.circuit.ground)}

    def _found(self, solved: Solved, joints: Sequence[str]) -> Mapping[str, float]:
        """Return the share shown at each of some joints, each with the meter on it alone."""
        if not joints:
            return {}
        system, count = self._with_meters, len(joints)
        own = np.repeat(solved.values, count, axis=1)  # the meters' values follow those of the circuit
        values = np.concatenate([own, np.repeat(system.base_values[len(own) :], count, axis=1)])
        for column, joint in enumerate(joints):
            values[system.value_row[f"meter.{joint}", "ohm"], column] = self.ohm
        start = np.repeat(solved.dc.volts, count, axis=1)
        point = solve_dc(DcProblem(system, values, _law(solved)), start)
        refuse_unsolved(system, point)
        rows = [system.row[joint] for joint in joints]
        shown = point.volts[rows, np.arange(count)] / solved.dc.volts[rows, 0]
        return {joint: float(share) for joint, share in zip(joints, shown, strict=True)}


def _law(solved: Solved) -> PortLaw:
    return static_law(solved.system, solved.values) if solved.cycle is None else tangent_law(solved.cycle)
