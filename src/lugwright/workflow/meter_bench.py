"""Readings taken by a meter on a bus, each written into the log before the next is asked for."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace

from lugwright.bringup.charted import ChartedStep, Charts
from lugwright.bringup.reading_words import body_of_reading, reading_from_words
from lugwright.bringup.results import JudgedReading
from lugwright.log.measured_bodies import READING
from lugwright.meters.scpi import ASKED, scpi_meter
from lugwright.workflow.opened import Opened
from lugwright.workflow.readings import step_of
from lugwright.workflow.ticking import one_copy

Ready = Callable[[str, str], bool]  # point and quantity, in words -> whether to read it


def read_by_meter(
    opened: Opened, address: str, points: Sequence[str], *, step: str = "", library: str = "", ready: Ready
) -> Iterator[JudgedReading]:
    """Yield the reading of each point, held against the chart, once it is in the log.

    What is asked of the meter follows from the chart: ohms never in a step with the plug in. Every point is looked
    up before the meter is opened.

    Raises
    ------
    NoSuchPoint, ReadingError
        A point or step that the build does not have.
    MeterError
        The meter cannot be reached, or does not answer; what was read before is in the log.
    LogError
        The log cannot be written.
    """
    one_copy(opened)
    charts = opened.charts
    in_step = step_of(opened, charts, step)
    asked = [(point, *_asked(charts, in_step, point)) for point in points]
    log = opened.bench_log
    with scpi_meter(address, library=library) as meter:
        for point, words, quantity in asked:
            if not ready(words, quantity):
                return
            value = meter.value(quantity)
            taken = reading_from_words(charts, in_step, point, value)
            body = body_of_reading(taken, words=f"{point} = {value}"[:400], meter=meter.identity)
            (entry,) = log.log.append(log.copy, [(READING, taken.point[:400], body)])
            yield replace(taken, id=entry.id, time=entry.time)


def _asked(charts: Charts, step: ChartedStep, point: str) -> tuple[str, str]:
    """Return a point as it is printed and what is to be read there: what the chart reads, else volts or ohms."""
    held = charts.held(step.key, point)
    charted = (quantity for quantity in charts.quantities(step.key, held) if quantity in ASKED)
    return held.words, next(charted, "V dc" if step.live else "ohm")
