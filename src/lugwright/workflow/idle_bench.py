"""The idle as it was read at the bench."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from lugwright.bringup.idle.at_edit import AtEdit
from lugwright.bringup.idle.hand_over import trace_words
from lugwright.bringup.idle.logged import NOW, changed_since, last_read, logged_readings, noted_settings
from lugwright.bringup.idle.measured import bench_of, idle_measured
from lugwright.bringup.idle.readings import Reader
from lugwright.bringup.idle.stage import output_stage
from lugwright.bringup.idle_results import IdleMeasured
from lugwright.bringup.idle_setting import idle_setting
from lugwright.bringup.reading_points import ReadingPoints
from lugwright.bringup.results import IdleSetting
from lugwright.log.state import Bench
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
    """Return what readings at idle say of each output tube: those given, or else those of the log.

    None where no output tube is, or nothing was read.

    Raises
    ------
    ReadingError, NoSuchPoint
        A text is no reading, or the wish no target.
    LogError
        The log cannot be read.
    """
    stage = output_stage(opened.measured, opened.circuit, opened.idle, opened.written)
    if stage is None:
        return None
    log = _bench(opened)
    reader = Reader(stage, ReadingPoints(opened.written, opened.stored_plan))
    readings = reader.of_all(texts) or logged_readings(reader, log)
    if not readings:
        return None
    at = AtEdit(opened.solved, opened.idle)
    read_on = "" if texts else last_read(log)
    noted = {} if opened.as_stated else noted_settings(log, until=read_on or NOW)
    bench = bench_of(opened.measured, stage, at, opened.cold_idle, noted)
    measured = idle_measured(bench, readings, wish)
    if measured.advice is None:
        measured = replace(measured, trace=trace_words(readings if texts else (), opened.path.name))
    if texts:
        return measured
    later = changed_since(log, {*(t.name for t in stage.tubes), *(part.name for part in bench.parts)})
    return replace(measured, read_on=read_on[:16].replace("T", " "), findings=(*measured.findings, *later))


def _bench(opened: Opened) -> Bench:
    """Return what the log says of the copy on the bench; an empty one where there is no log."""
    return opened.bench_log.bench if opened.bench_log.path.exists() else Bench()
