"""Good builds drawn afresh, solved whole, read with a meter that is off: what the windows of the steps are held to."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lugwright.bringup.bias_control import turned
from lugwright.bringup.good_builds import copper_draws, edits_of, running_factors
from lugwright.bringup.results import Reading, Step
from lugwright.bringup.step_bench import LAMP_SPREAD, METER_SHARE, StepBench
from lugwright.bringup.voltage_chart import runs_of
from lugwright.buildfile.build import Pot
from lugwright.circuit.edits import Edit, SetValue
from lugwright.solve.idle import solve_column
from lugwright.solve.meter_load import Voltmeter
from lugwright.solve.readout import read_idle
from lugwright.solve.solved import Solved
from lugwright.workflow.opened import Opened

FRESH_SEED = 4711  # not the seed the windows come from
LEAST_V = 0.02  # a point that stands at ground has a window from stray current, not from spread
SET_WITHIN_A = 1e-5


@dataclass(frozen=True)
class StepShown:
    """What a meter showed at the DC points of one step in every fresh build (build, reading)."""

    key: str
    readings: tuple[Reading, ...]
    shown: NDArray[np.float64]

    @property
    def inside(self) -> float:
        """Return the share of readings inside their windows."""
        low, high = (np.array([getattr(r, name) for r in self.readings]) for name in ("low", "high"))
        return float(np.mean((self.shown >= low) & (self.shown <= high)))

    @property
    def widths(self) -> NDArray[np.float64]:
        """Return how many times wider each window is than the middle 99 of 100 fresh readings."""
        needed = np.percentile(self.shown, 99.5, axis=0) - np.percentile(self.shown, 0.5, axis=0)
        return np.array([r.high - r.low for r in self.readings]) / np.maximum(needed, 1e-9)


def fresh_builds(opened: Opened, *, count: int, keys: frozenset[str] = frozenset()) -> Iterator[StepShown]:
    """Yield every step, or some, read in fresh builds: other parts, tubes, copper, lamp and mains, all at once."""
    bench = StepBench(opened.written, opened.solved, opened.idle)
    steps: Mapping[str, Step] = {step.key: step for step in opened.steps}
    drawn = edits_of(running_factors(bench.build, bench.circuit, count=count, seed=FRESH_SEED), count)
    copper = copper_draws(bench.build, bench.circuit, count=count, seed=FRESH_SEED)
    rng = np.random.default_rng(FRESH_SEED)
    for stage, lamp_w, edit in runs_of(bench):
        key = f"{stage.key}, lamp" if lamp_w else stage.key
        readings = tuple(
            r for r in steps[key].readings if r.quantity == "V dc" and not r.at and abs(r.expected) > LEAST_V
        )
        if not readings or (keys and key not in keys):
            continue
        shown = []
        for draw, warm in zip(drawn, copper, strict=True):
            lamp = lamp_w * float(1.0 + rng.uniform(-LAMP_SPREAD, LAMP_SPREAD)) if lamp_w else 0.0
            other = Edit("", (SetValue("limiter", "lamp_w", lamp),) if lamp else ())
            solved = _solved(bench, edit + draw + warm + other, set_idle=stage.key == "all tubes" and not lamp_w)
            off = 1.0 + rng.uniform(-METER_SHARE, METER_SHARE, size=len(readings))
            shown.append(_read(bench, solved, readings) * off)
        yield StepShown(key, readings, np.array(shown))


def _read(bench: StepBench, solved: Solved, readings: tuple[Reading, ...]) -> NDArray[np.float64]:
    shares = Voltmeter(bench.circuit).shown_shares(solved)
    return np.array([solved.dc.volts[solved.system.row[r.joint], 0] * shares[r.joint] for r in readings])


def _solved(bench: StepBench, edit: Edit, *, set_idle: bool) -> Solved:
    system = bench.solved.system
    solved = solve_column(system, system.values([edit]), bench.solved)
    return set_as_told(bench, edit, solved)[0] if set_idle else solved


def set_as_told(bench: StepBench, edit: Edit, solved: Solved) -> tuple[Solved, Edit]:
    """Return the build with its bias controls turned, by secants, until the output tubes carry the nominal current."""
    if not bench.controls:
        return solved, edit
    wanted = float(np.mean([bench.normal.tubes[name].plate_a for name in bench.outputs]))
    halves = {f"{part.name}.{half}" for part in bench.controls for half in ("1-2", "2-3")}
    tolerance = tuple(c for c in edit.changes if c.element in halves and not isinstance(c, SetValue))
    rest = tuple(c for c in edit.changes if c.element not in halves)

    def turned_by(at: float) -> Edit:
        turn = (
            change
            for part in bench.controls
            if isinstance(part.values, Pot)
            for change in turned(part, rotation=min(max(part.values.setting + at, 0.0), 1.0)).changes
        )
        return Edit("", (*rest, *turn, *tolerance))

    def over(at: float) -> tuple[float, Solved]:
        found = solve_column(bench.solved.system, bench.solved.system.values([turned_by(at)]), solved)
        idle = read_idle(found)
        return float(np.mean([idle.tubes[name].plate_a for name in bench.outputs])) - wanted, found

    (before, left), (at, (here, found)) = (0.0, over(0.0)[0]), (0.05, over(0.05))
    for _ in range(8):
        if abs(here) < SET_WITHIN_A or here == left:
            break
        step = at - here * (at - before) / (here - left)
        before, left, at = at, here, min(max(step, -0.9), 0.9)
        here, found = over(at)
    return found, turned_by(at)
