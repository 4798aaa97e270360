"""Good builds with their idle set: the bias control takes up what tubes and resistors differ by."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from lugwright.bringup.bias_control import turned
from lugwright.bringup.good_builds import Array
from lugwright.bringup.step_bench import Level, StepBench
from lugwright.buildfile.build import Pot
from lugwright.circuit.edits import Edit
from lugwright.circuit.operating import Idle
from lugwright.solve.many import ManyIdles

NUDGE = 0.03  # of the control's turn


def idle_set(bench: StepBench, edit: Edit) -> Level:
    """Return a level with the bias controls of every draw turned until the output tubes carry what they should.

    Parameters
    ----------
    bench : StepBench
        The build.
    edit : Edit
        All tubes in, controls as in the build file, and what else is otherwise.

    Returns
    -------
    Level
        Its draws moved along the line on which turning the controls moves the nominal build, cold.

    Valid
    -----
    The controls are turned together, the mean plate current of the output tubes is set; to first order in what
    has to be taken up. As it is without a bias control.

    Source
    ------
    Derived above.
    """
    level = bench.level(edit)
    if bench.coldest is None:
        return level
    toward = NUDGE if bench.coldest > _setting(bench) else -NUDGE
    shares = {p.name: p.values.setting for p in bench.controls if isinstance(p.values, Pot)}
    changes = tuple(
        change
        for part in bench.controls
        for change in turned(part, rotation=min(max(shares[part.name] + toward, 0.0), 1.0)).changes
    )
    nudged = bench.idle_at(Edit("bias nudged", changes))
    here, there = (_mean_a(bench, idle) for idle in (bench.normal, nudged))
    if abs(there - here) < 1e-6:
        return level
    over = _mean_draws_a(bench, level.many) - _mean_a(bench, level.idle)
    spread = {
        joint: volts - over * (_volts(nudged, joint) - _volts(bench.normal, joint)) / (there - here)
        for joint, volts in level.spread.items()
    }
    return replace(level, spread=spread)


def _setting(bench: StepBench) -> float:
    return float(np.mean([p.values.setting for p in bench.controls if isinstance(p.values, Pot)]))


def _volts(idle: Idle, joint: str) -> float:
    return idle.joints[joint].volts


def _mean_a(bench: StepBench, idle: Idle) -> float:
    return float(np.mean([idle.tubes[name].plate_a for name in bench.outputs]))


def _mean_draws_a(bench: StepBench, many: ManyIdles) -> Array:
    rows = [row for row, tube in enumerate(many.base.system.pentodes) if tube.name in bench.outputs]
    return np.asarray(np.mean(many.tubes.pentode_a[0][rows], axis=0))
