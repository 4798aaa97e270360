"""Readings of a circuit wired otherwise, each computed whole: the slow way that everything fast is held against."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np

from lugwright.bringup.trace.bench import (
    GENERATOR,
    GENERATOR_OHM,
    METER_OHM,
    OHMS,
    SIGNAL,
    SIGNAL_HZ,
    SIGNAL_METER_S,
    SIGNAL_V,
    TraceBench,
)
from lugwright.bringup.trace.even_scale import TOP_OHM
from lugwright.bringup.trace.hypotheses import Hypothesis
from lugwright.bringup.trace.records import Probe
from lugwright.circuit.edits import Edit
from lugwright.circuit.elements import Resistor
from lugwright.circuit.network import Circuit
from lugwright.circuit.rewiring import Rewiring, ends_of, rewired
from lugwright.solve.dc import DcProblem, refuse_unsolved, solve_dc
from lugwright.solve.idle import solve_column, static_law, tangent_law
from lugwright.solve.ohms import ohm_readings
from lugwright.solve.readout import solved_waves
from lugwright.solve.small_signal import Network, linearized
from lugwright.solve.solved import Solved
from lugwright.solve.system import System

LEAK_OHM = 1e12  # of a terminal strip on a dry day


@dataclass(frozen=True, eq=False)
class ExactReadings:
    """What a meter shows on one build: as planned but for a rewiring, its values as an edit says."""

    bench: TraceBench
    hypothesis: Hypothesis
    values: Edit = field(default_factory=lambda: Edit(""))  # applied last but for the step's own: tolerances, mains
    _solved: dict[str, Solved] = field(default_factory=dict)
    _signal: list[Network] = field(default_factory=list)

    def value(self, probe: Probe) -> float:
        """Return what the meter shows, before its own error and rounding; infinite for over range.

        Parameters
        ----------
        probe : Probe
            Where and what.

        Returns
        -------
        float
            In the unit of the probe. [ohm or V]

        Raises
        ------
        NoIdlePoint
            The circuit has no certified answer.

        Source
        ------
        `lugwright.solve`: ohms, mains cycle, small signal; the meter stands in the circuit, at 1 kHz with its leads.
        """
        red, black = (self.bench.joint_of(key, self.hypothesis.stands) for key in (probe.red, probe.black))
        if probe.quantity == "lamp":
            return self._lamp(probe.step)
        if red == black:
            return 0.0
        if probe.step == OHMS:
            return self._ohm(red, black)
        solved = self.solved_at(probe.step)
        known = {*solved.system.joints, self.bench.circuit.ground}
        if not {red, black} <= known:
            return 0.0  # the tip stands on a lug that nothing is joined to
        if probe.quantity == "V dc":
            return self._dc_v(solved, red, black)
        if probe.quantity == "signal V ac":
            return self._signal_v(solved, red, black)
        waves, _ = solved_waves(solved)
        wave = waves[solved.system.row[red]] - waves[solved.system.row[black]]
        return float(wave.std())

    def solved_at(self, key: str) -> Solved:
        """Return a step of this build, solved; see `solve_column`."""
        if key not in self._solved:
            rewiring = self.bench.rewiring_at(key, self.hypothesis)
            system = System(wired_so(self.bench.circuit_at(key), rewiring))
            edit = rewiring.edit + self.values + self.bench.steps[key].edit
            self._solved[key] = solve_column(system, system.values([edit]))
        return self._solved[key]

    def _lamp(self, key: str) -> float:
        """Return the share of the mains on the limiter lamp."""
        rewiring = self.bench.rewiring_at(key, self.hypothesis)
        system = System(wired_so(self.bench.circuit_at(key), rewiring))
        edit = rewiring.edit + self.values + self.bench.steps[key].edit + self.bench.limiter[1]
        waves, _ = solved_waves(solve_column(system, system.values([edit])))
        one, other = (system.row[joint] for joint in system.circuit.by_name["limiter"].joints)
        return float(np.sqrt(np.mean((waves[one] - waves[other]) ** 2))) / self.bench.build.mains_v

    def _ohm(self, red: str, black: str) -> float:
        rewiring = self.bench.rewiring_at(OHMS, self.hypothesis)
        circuit = wired_so(self.bench.circuit_at(OHMS), rewiring)
        if not {red, black} <= {*circuit.joints, circuit.ground}:
            return math.inf
        values = tuple(c for c in self.values.changes if c.field not in ("on", "rms_v"))
        found = float(ohm_readings(circuit, [(red, black)], [rewiring.edit + Edit("", values)]).ohm[0, 0])
        return math.inf if found > TOP_OHM else found

    def _dc_v(self, base: Solved, red: str, black: str) -> float:
        circuit = base.system.circuit.with_elements([Resistor("meter", red, black, METER_OHM, "meter")])
        system = System(circuit)
        values = system.base_values.copy()
        for key, row in base.system.value_row.items():
            values[system.value_row[key]] = base.values[row]
        if base.cycle is not None and {red, black} & {joint for diode in system.diodes for joint in diode.joints}:
            volts = solve_column(system, values).dc.volts[:, 0]  # what a rectifier leaks into the meter is no tangent
            return float(volts[system.row[red]] - volts[system.row[black]])
        start = np.zeros((system.size + 1, 1))
        for joint, row in base.system.row.items():
            start[system.row[joint]] = base.dc.volts[row]
        law = static_law(system, values) if base.cycle is None else tangent_law(base.cycle)
        point = solve_dc(DcProblem(system, values, law), start)
        refuse_unsolved(system, point)
        return float(point.volts[system.row[red], 0] - point.volts[system.row[black], 0])

    def _signal_v(self, solved: Solved, red: str, black: str) -> float:
        """Return the signal between two joints with the meter there: Thevenin's law, exact in a linear circuit."""
        circuit, row, ground = solved.system.circuit, solved.system.row, solved.system.size
        if not self._signal:
            changes = self.bench.rewiring_at(SIGNAL, self.hypothesis).edit + self.values + self.bench.steps[SIGNAL].edit
            self._signal.append(Network(linearized(circuit, solved, [changes]), np.array([SIGNAL_HZ])))
        source, tips = row[circuit.by_name[GENERATOR].joints[0]], (row.get(red, ground), row.get(black, ground))
        volts = self._signal[0].driven([(source, ground), tips])[:, :, 0, 0]
        heard, own = volts[tips[0]] - volts[tips[1]]
        return float(abs(heard / (1.0 + own * SIGNAL_METER_S)) * SIGNAL_V / GENERATOR_OHM)


def wired_so(circuit: Circuit, rewiring: Rewiring) -> Circuit:
    """Return the circuit wired otherwise, every joint whose leads changed with the leak of a dry strip to ground."""
    touched = {(moved.element, moved.end): moved.to for moved in rewiring.moved}
    left = {joint: None for element, end, joint in ends_of(circuit.elements) if (element, end) in touched}
    joints = dict.fromkeys((*left, *touched.values()))
    leaks = (
        Resistor(f"leak.{k}", joint, circuit.ground, LEAK_OHM, "leak")
        for k, joint in enumerate(joints)
        if joint != circuit.ground
    )
    return rewired(circuit, rewiring).with_elements(leaks)
