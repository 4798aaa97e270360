"""Resistances between joints as direct current finds them: resistors, contacts and copper; capacitors open."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from lugwright.circuit.elements import Capacitor, Junction, Resistor, VacuumDiode, Windings
from lugwright.circuit.network import Circuit

Array = NDArray[np.float64]
CONDUCTING_OHM = 1.0  # a rectifier that conducts
LEAST_OHM = 1e-3


@dataclass(frozen=True)
class DcNetwork:
    """The resistive part of a circuit, plug out, tubes not conducting.

    ``closed`` names the rectifiers taken as conducting, ``opened`` the resistors and contacts taken out.
    ``leak_s`` joins every joint to ground, so that nothing floats.
    """

    circuit: Circuit
    closed: frozenset[str] = field(default_factory=frozenset)
    opened: frozenset[str] = field(default_factory=frozenset)
    leak_s: float = 1e-12

    def resistance_to_ground_ohm(self, joint: str) -> float:
        """Return the resistance from a joint to ground, everything else free.

        Parameters
        ----------
        joint : str
            A joint of the circuit.

        Returns
        -------
        float
            1 / ``leak_s`` when there is no path. [ohm]

        Source
        ------
        Ohm and Kirchhoff.
        """
        if joint == self.circuit.ground:
            return 0.0
        return float(self._inverse[self._row[joint], self._row[joint]])

    def port_resistances_ohm(self, capacitors: Sequence[Capacitor]) -> Array:
        """Return the resistance matrix seen from the terminals of some capacitors.

        Parameters
        ----------
        capacitors : sequence of Capacitor
            Each is a port, positive at its first joint.

        Returns
        -------
        array
            Volts at one port for current into another, (port, port). [ohm]

        Source
        ------
        Ohm and Kirchhoff.
        """
        ports = np.zeros((len(self._row), len(capacitors)))
        for column, capacitor in enumerate(capacitors):
            for joint, sign in ((capacitor.a, 1.0), (capacitor.b, -1.0)):
                if joint != self.circuit.ground:
                    ports[self._row[joint], column] += sign
        return np.asarray(ports.T @ self._inverse @ ports)

    @cached_property
    def _row(self) -> dict[str, int]:
        joints = [j for j in self.circuit.joints if j != self.circuit.ground]
        return {joint: row for row, joint in enumerate(joints)}

    @cached_property
    def _inverse(self) -> Array:
        matrix = np.diag(np.full(len(self._row), self.leak_s))
        for a, b, ohm in self._branches():
            rows = [(self._row[j], s) for j, s in ((a, 1.0), (b, -1.0)) if j != self.circuit.ground]
            for i, sign_i in rows:
                for j, sign_j in rows:
                    matrix[i, j] += sign_i * sign_j / max(ohm, LEAST_OHM)
        return np.asarray(np.linalg.inv(matrix))

    def _branches(self) -> Iterator[tuple[str, str, float]]:
        for element in self.circuit.elements:
            if isinstance(element, Resistor) and element.name not in self.opened:
                yield element.a, element.b, element.ohm
            elif isinstance(element, Windings):
                for coil in element.coils:
                    yield coil.a, coil.b, coil.ohm
            elif isinstance(element, Junction | VacuumDiode) and element.name in self.closed:
                yield element.anode, element.cathode, CONDUCTING_OHM
