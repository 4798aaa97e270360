"""The idle as it was read at the bench."""

from __future__ import annotations

from collections.abc import Sequence

from lugwright.bringup.idle.at_edit import AtEdit
from lugwright.bringup.idle.measured import bench_of, idle_measured
from lugwright.bringup.idle.readings import readings_of
from lugwright.bringup.idle.stage import output_stage
from lugwright.bringup.idle_results import IdleMeasured
from lugwright.bringup.idle_setting import idle_setting
from lugwright.bringup.results import IdleSetting
from lugwright.workflow.opened import Opened


def setting_for(opened: Opened, wish: str) -> IdleSetting | None:
    """Return how the idle is set for a target of one's own; None where no output tube is.

    Raises
    ------
    ReadingError
        The wish is no target.
    """
    return idle_setting(opened.measured, opened.solved, opened.idle, opened.cold_idle, wish=wish)


def measured_idle(opened: Opened, texts: Sequence[str], wish: str) -> IdleMeasured | None:
    """Return what readings at idle say of each output tube; None where none is.

    Raises
    ------
    ReadingError
        A text is no reading, or the wish no target.
    """
    stage = output_stage(opened.measured, opened.circuit, opened.idle)
    if stage is None:
        return None
    readings = readings_of(stage, texts)
    bench = bench_of(opened.measured, stage, AtEdit(opened.solved, opened.idle), opened.cold_idle, {})
    return idle_measured(bench, readings, wish)
