"""Good builds drawn afresh, run and heard: alternating volts, the signal along the way, and an hour later."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray
from tests.fresh_builds import FRESH_SEED, StepShown, set_as_told

from lugwright.bringup.good_builds import capacitor_factors, copper_draws, edits_of, running_factors
from lugwright.bringup.hot_step import COPPER_PER_K, TUBE_DRIFT
from lugwright.bringup.reading_points import ReadingPoints
from lugwright.bringup.results import Reading, Step
from lugwright.bringup.signal_step import AC_METER_SHARE, DRIVE_SHARE, HERTZ
from lugwright.bringup.step_bench import LAMP_SPREAD, METER_SHARE, StepBench
from lugwright.bringup.voltage_chart import runs_of
from lugwright.buildfile.build import Transformer
from lugwright.circuit.audio import audio_circuit
from lugwright.circuit.edits import Edit, ScaleValue, SetValue
from lugwright.circuit.elements import Windings
from lugwright.circuit.points import input_jack, plugged
from lugwright.solve.idle import solve_column
from lugwright.solve.meter_load import Voltmeter
from lugwright.solve.readout import solved_waves
from lugwright.solve.response import port_of
from lugwright.solve.small_signal import linearized
from lugwright.solve.solved import Solved
from lugwright.workflow.opened import Opened

WARMER_K = (30.0, 60.0)  # windings after an hour: what the chart says of it, from memory
NOTHING_V = 0.05  # a pair of points that stand on one joint has a window from what strays in


@dataclass(frozen=True)
class FreshRuns:
    """One example, and what differs in each drawn build."""

    opened: Opened
    count: int

    @cached_property
    def bench(self) -> StepBench:
        return StepBench(self.opened.written, self.opened.solved, self.opened.idle)

    @cached_property
    def steps(self) -> dict[str, Step]:
        return {step.key: step for step in self.opened.steps}

    @cached_property
    def drawn(self) -> list[Edit]:
        """Return parts, tubes and mains, copper, and capacitors within their tolerance."""
        bench, count = self.bench, self.count
        parts = edits_of(running_factors(bench.build, bench.circuit, count=count, seed=FRESH_SEED), count)
        copper = copper_draws(bench.build, bench.circuit, count=count, seed=FRESH_SEED)
        farads = edits_of(capacitor_factors(bench.build, bench.circuit, count=count, seed=FRESH_SEED), count)
        return [a + b + c for a, b, c in zip(parts, copper, farads, strict=True)]

    @cached_property
    def turns(self) -> list[Edit]:
        """Return the windings of mains transformers: half of what the chart allows is theirs, half is the meter's."""
        rng = np.random.default_rng(FRESH_SEED + 8)
        spreads = [
            (coil.name, 0.5 * winding.turns_spread)
            for part in self.bench.build.parts
            if isinstance(part.values, Transformer) and part.values.role == "power"
            for winding in part.values.windings[1:]
            for e in self.bench.circuit.elements
            if isinstance(e, Windings)
            for coil in e.coils
            if coil.name.startswith(f"{part.name}.{winding.name}.")
        ]
        return [
            Edit(
                "", tuple(ScaleValue(n, "turns", 1.0 + spread * float(rng.uniform(-1.0, 1.0))) for n, spread in spreads)
            )
            for _ in range(self.count)
        ]

    @cached_property
    def set_up(self) -> list[tuple[Solved, Edit]]:
        """Return every drawn build cold, its idle set as the step says."""
        return [set_as_told(self.bench, edit, self._solved(edit)) for edit in self.drawn]

    def _solved(self, edit: Edit, near: Solved | None = None) -> Solved:
        system = self.bench.solved.system
        return solve_column(system, system.values([edit]), near or self.bench.solved)

    # ---- signal --------------------------------------------------------------------------------

    def signal(self) -> Iterator[StepShown]:
        """Yield the steps of feedback and signal, the generator set as well as it is said to be."""
        jack = input_jack(self.bench.build)
        wanted = [self.steps[key] for key in ("feedback", "signal") if key in self.steps]
        if jack is None or not wanted:
            return
        source = jack.terminal("tip").joint
        drive_v = next(r.expected for r in self.steps["signal"].readings if r.joint == source)
        circuit, plug = audio_circuit(self.bench.build, resistive_speaker=True), plugged(self.bench.build, source)
        gains = []
        for solved, edit in self.set_up:
            signal = linearized(circuit, solved, [edit + plug])
            volts = signal.at(np.array([HERTZ])).driven([port_of(signal.system, source)])[:, 0, 0, 0]
            rows = signal.system.row
            gains.append({joint: abs(volts[row] / volts[rows[source]]) for joint, row in rows.items()})
        rng = np.random.default_rng(FRESH_SEED + 9)
        for step in wanted:
            readings = tuple(r for r in step.readings if r.joint != source)
            shown = drive_v * np.array([[gain[r.joint] for r in readings] for gain in gains])
            set_to = 1.0 + rng.uniform(-DRIVE_SHARE, DRIVE_SHARE, (self.count, 1))
            meter = 1.0 + rng.uniform(-AC_METER_SHARE, AC_METER_SHARE, shown.shape)
            yield StepShown(step.key, readings, shown * set_to * meter)

    # ---- an hour later -------------------------------------------------------------------------

    def hot(self) -> Iterator[StepShown]:
        """Yield the step after an hour: copper warm, tubes drifted, nothing set again."""
        if "hot" not in self.steps:
            return
        readings, rng = self.steps["hot"].readings, np.random.default_rng(FRESH_SEED + 10)
        coils = [c.name for e in self.bench.circuit.elements if isinstance(e, Windings) for c in e.coils]
        shares = Voltmeter(self.bench.circuit)
        rows = []
        for solved, edit in self.set_up:
            warm = 1.0 + COPPER_PER_K * float(rng.uniform(*WARMER_K))
            drift = [ScaleValue(n, "on", 1.0 + TUBE_DRIFT * float(rng.uniform(-1.0, 1.0))) for n in self.bench.outputs]
            later = Edit("", (*(ScaleValue(name, "ohm", warm) for name in coils), *drift))
            found = self._solved(edit + later, solved)
            seen = shares.shown_shares(found)
            meter = 1.0 + rng.uniform(-METER_SHARE, METER_SHARE, len(readings))
            volts = [found.dc.volts[found.system.row[r.joint], 0] * seen[r.joint] for r in readings]
            rows.append(np.array(volts) * meter)
        yield StepShown("hot", readings, np.array(rows))

    # ---- alternating volts ---------------------------------------------------------------------

    def alternating(self) -> Iterator[StepShown]:
        """Yield every step in which alternating volts of windings and heaters are read."""
        rng, points = np.random.default_rng(FRESH_SEED + 11), ReadingPoints(self.bench.build)
        for stage, lamp_w, edit in runs_of(self.bench):
            key = f"{stage.key}, lamp" if lamp_w else stage.key
            readings = tuple(r for r in self.steps[key].readings if r.quantity == "V ac" and r.expected > NOTHING_V)
            if not readings:
                continue
            rows = []
            for drawn, turns in zip(self.drawn, self.turns, strict=True):
                lamp = lamp_w * float(1.0 + rng.uniform(-LAMP_SPREAD, LAMP_SPREAD)) if lamp_w else 0.0
                other = Edit("", (SetValue("limiter", "lamp_w", lamp),) if lamp else ())
                found = self._solved(edit + drawn + turns + other)
                rows.append(
                    _rms_v(found, points, readings) * (1.0 + rng.uniform(-METER_SHARE, METER_SHARE, len(readings)))
                )
            yield StepShown(key, readings, np.array(rows))


def _rms_v(solved: Solved, points: ReadingPoints, readings: tuple[Reading, ...]) -> NDArray[np.float64]:
    waves, _ = solved_waves(solved)
    row = {**solved.system.row, solved.system.circuit.ground: len(waves) - 1}
    found = []
    for reading in readings:
        red, black = (points.spot(key).joint for key in (reading.red, reading.black))
        found.append(float((waves[row[red]] - waves[row[black]]).std()))
    return np.array(found)
