"""What everything in tracing shares: the build on the bench, its plan, and each step of its first power-up solved."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from lugwright.bringup.bench_points import socket_points, tubes_of
from lugwright.bringup.fitting import COLD, ONE_TUBE, Stage, limiter, stages_of
from lugwright.bringup.ohms_chart import bench_circuit
from lugwright.bringup.step_bench import StepBench
from lugwright.bringup.trace.hypotheses import Hypothesis
from lugwright.bringup.trace.lamp_share import fitted_scale
from lugwright.bringup.trace.records import Probe
from lugwright.bringup.voltage_chart import STRAY_GRID_A
from lugwright.buildfile.build import Build
from lugwright.circuit.edits import Edit
from lugwright.circuit.elements import PentodeTube, Resistor, TriodeTube, VacuumDiode, VoltageSource
from lugwright.circuit.network import Circuit
from lugwright.circuit.points import input_jack, plugged
from lugwright.circuit.rewiring import Moved, Rewiring, ends_of
from lugwright.layout.results import Plan
from lugwright.solve.drawn_current import as_solved_a
from lugwright.solve.idle import solve_beside, solve_columns
from lugwright.solve.ohms import resistance_ohm
from lugwright.solve.readout import read_idle
from lugwright.solve.solved import Solved

OHMS, SIGNAL = "ohms", "signal"
FINAL = "all tubes"
GENERATOR, GENERATOR_OHM = "generator", 1000.0  # what drives the input in the signal step
SIGNAL_V, SIGNAL_HZ = 0.02, 1000.0
METER_OHM, METER_F = 10e6, 100e-12  # of an ordinary hand meter on volts, and of its leads, from memory
SIGNAL_METER_S = 1.0 / METER_OHM + 2j * np.pi * SIGNAL_HZ * METER_F  # what both take of a signal: 1.6 Mohm
TUBES = TriodeTube | PentodeTube | VacuumDiode


@dataclass(frozen=True)
class TraceStep:
    """A step in which something can be read; ``edit`` is what makes the build's circuit that step's."""

    key: str
    title: str
    fitted: tuple[str, ...]
    edit: Edit


_TITLES = {
    "heaters": "mains on, every socket empty, heaters looked at",
    "no tubes": "mains on, every socket empty",
    "rectifier": "mains on, only the rectifier fitted",
    "bias": "mains on, no output tube fitted, bias looked at",
    "small tubes": "mains on, small tubes fitted, no output tube",
    COLD: "mains on, every tube fitted, bias at its most negative",
    FINAL: "mains on, every tube fitted",
}


@dataclass(frozen=True, eq=False)
class TraceBench:
    """The build, its circuit and plan, and its circuit solved with everything fitted."""

    build: Build
    circuit: Circuit
    plan: Plan
    solved: Solved

    @cached_property
    def unplugged(self) -> Circuit:
        """Return the circuit that the ohmmeter sees: plug out, sockets empty."""
        return bench_circuit(self.build, self.circuit)

    @cached_property
    def steps(self) -> Mapping[str, TraceStep]:
        """Return the steps in the order they are taken, by key."""
        every = tuple(part.name for part in tubes_of(self.build))
        found = [TraceStep(OHMS, "plug out, capacitors discharged, every socket empty", (), Edit(""))]
        if "mains" in self.circuit.by_name:
            found += [TraceStep(s.key, _title(s), s.fitted, s.edit) for s in self._stages()]
        if (jack := input_jack(self.build)) is not None:
            plug = plugged(self.build, jack.terminal("tip").joint)
            found.append(TraceStep(SIGNAL, "every tube fitted, 1 kHz at the input", every, plug))
        return {step.key: step for step in found}

    def wired_alike(self, key: str) -> tuple[str, ...]:
        """Return the steps in which everything is as in one step: only what is looked at differs."""
        if key in (OHMS, SIGNAL):
            return (key,)
        fitted, edit = set(self.steps[key].fitted), self.steps[key].edit
        return tuple(k for k, s in self.steps.items() if (set(s.fitted), s.edit.changes) == (fitted, edit.changes))

    def solved_at(self, key: str) -> Solved:
        """Return a step with mains on, as the good build has it.

        Raises
        ------
        NoIdlePoint
            The step has none.
        """
        if key not in self._solved:
            edit = self.steps[key].edit
            if key == SIGNAL:
                self._solved[key] = solve_columns(self.circuit_at(key), [edit])[0]
            else:
                self._solved[key] = solve_beside(self.solved, [edit])[0] if edit.changes else self.solved
        return self._solved[key]

    @cached_property
    def plugged(self) -> Solved:
        """Return the build with every tube fitted and a plug in its input."""
        return solve_beside(self.solved, [self.steps[SIGNAL].edit])[0]

    def stray_v(self, probe: Probe) -> float:
        """Return how far contact and gas current of good tubes may lift what a probe reads.

        Parameters
        ----------
        probe : Probe
            Where.

        Returns
        -------
        float
            One standard deviation. [V]

        Source
        ------
        Ohm: a tenth of a microampere at the most, through the resistance of the grid's circuit.
        """
        step = self.steps[probe.step]
        joints = {self.joint_of(probe.red), self.joint_of(probe.black)}
        ohm = max((self._grid_ohm[t][j] for t in step.fitted for j in joints & set(self._grid_ohm[t])), default=0.0)
        return min(0.5 * STRAY_GRID_A * ohm, 0.5)

    @cached_property
    def floating(self) -> frozenset[str]:
        """Return the joints that nothing holds to ground with the plug out: the mains side."""
        joints = [joint for joint in self.unplugged.joints if joint != self.circuit.ground]
        ohm = resistance_ohm(self.unplugged, [(joint, self.circuit.ground) for joint in joints])[0]
        return frozenset(joint for joint, value in zip(joints, ohm, strict=True) if not np.isfinite(value))

    @cached_property
    def afloat(self) -> frozenset[str]:
        """Return the elements and coils that end on a floating joint."""
        return frozenset(name for name, _, joint in ends_of(self.unplugged.elements) if joint in self.floating)

    @cached_property
    def _grid_ohm(self) -> Mapping[str, Mapping[str, float]]:
        """Return the resistance from each tube's grids to ground with the plug out. [ohm]"""
        grids = [
            (part.name, p.joint)
            for part in tubes_of(self.build)
            for p in socket_points(part)
            if p.electrode == "grid" and p.joint in self.circuit.joints and p.joint != self.circuit.ground
        ]
        found = resistance_ohm(self.unplugged, [(joint, self.circuit.ground) for _, joint in grids])[0] if grids else ()
        table: dict[str, dict[str, float]] = {part.name: {} for part in tubes_of(self.build)}
        for (tube, joint), ohm in zip(grids, found, strict=True):
            table[tube][joint] = float(ohm)
        return table

    @cached_property
    def driven(self) -> str:
        """Return the terminal that the test signal goes into, the tip of the first input; "" without an input."""
        jack = input_jack(self.build)
        return "" if jack is None else f"{jack.name}.tip"

    def circuit_at(self, key: str) -> Circuit:
        """Return the circuit of a step before its edit: without mains for ohms, with a generator for signals."""
        if key == OHMS:
            return self.unplugged
        if key == SIGNAL:
            generator = Resistor(GENERATOR, self.joint_of(self.driven), self.circuit.ground, GENERATOR_OHM)
            return self.circuit.with_elements([generator])
        return self.circuit

    def _present(self, key: str) -> tuple[frozenset[str], frozenset[str]]:
        """Return the tubes fitted in a step, "" with them, and the elements whose values count for nothing there."""
        if key not in self._told_present:
            out = {change.element for change in self.steps[key].edit.changes}
            if key == OHMS:
                out |= {e.name for e in self.circuit.elements if isinstance(e, TUBES | VoltageSource)}
            self._told_present[key] = frozenset({"", *self.steps[key].fitted}), frozenset(out)
        return self._told_present[key]

    @cached_property
    def _told_present(self) -> dict[str, tuple[frozenset[str], frozenset[str]]]:
        return {}

    def rewiring_at(self, key: str, hypothesis: Hypothesis) -> Rewiring:
        """Return what is wired otherwise in one step: nothing of a tube that is not in, the generator on its jack."""
        fitted, out = self._present(key)
        rewiring, faults = hypothesis.rewiring, hypothesis.faults
        if faults and fitted.isdisjoint([fault.fitted for fault in faults]):
            return Rewiring(rewiring.name)
        moves_tip = key == SIGNAL and self.driven in hypothesis.stands
        if not moves_tip and out.isdisjoint([change.element for change in rewiring.changes]):
            return rewiring  # as most are in every step
        changes, moved = tuple(c for c in rewiring.changes if c.element not in out), rewiring.moved
        if moves_tip:
            moved = (*moved, Moved(GENERATOR, "a", hypothesis.stands[self.driven]))
        return replace(rewiring, changes=changes, moved=moved)

    @cached_property
    def _solved(self) -> dict[str, Solved]:
        return {}

    @cached_property
    def _step_bench(self) -> StepBench:
        return StepBench(self.build, self.solved, read_idle(self.solved))

    @cached_property
    def limiter(self) -> tuple[float, Edit]:
        """Return the limiter lamp's rated power and the edit that puts it in. [W]"""
        return limiter(self.build, mains_w=self._step_bench.normal.mains_w)

    def lamp_scale(self, key: str) -> float:
        """Return by what a step's load differs behind the limiter lamp: its current is not in proportion to its volts.

        Raises
        ------
        NoIdlePoint
            The step has no certified answer with the lamp.
        """
        if key not in self._lamp_scales:
            (watts, lamp), mains_v = self.limiter, self.build.mains_v
            lit_v = self._step_bench.idle_at(self.steps[key].edit + lamp).lamp_rms_v or 0.0
            alone = as_solved_a(self.solved_at(key), "mains") / mains_v
            self._lamp_scales[key] = fitted_scale(alone, lit_v / mains_v, watts=watts, mains_v=mains_v)
        return self._lamp_scales[key]

    @cached_property
    def _lamp_scales(self) -> dict[str, float]:
        return {}

    def _stages(self) -> tuple[Stage, ...]:
        steps = self._step_bench
        return stages_of(self.build, self.circuit, fixed_bias=steps.fixed_bias, cold_bias=steps.cold_bias)

    def joint_of(self, key: str, stands: Mapping[str, str] | None = None) -> str:
        """Return the joint that a terminal of the plan, or a joint by its own name, stands on."""
        if stands and key in stands:
            return stands[key]
        terminal = self.plan.terminals.get(key)
        return terminal.joint if terminal is not None else key


def _title(stage: Stage) -> str:
    if stage.key.startswith(ONE_TUBE):
        return f"mains on, of the output tubes only {stage.key.removeprefix(ONE_TUBE)} fitted"
    return _TITLES.get(stage.key, stage.key)
