"""The filter capacitors of a build as one table: volts while starting, limits, time to 60 V."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from lugwright.buildfile.build import Build, Can, Capacitor
from lugwright.circuit.operating import Rating
from lugwright.circuit.rules.bleeder import RULE as BLEEDER
from lugwright.circuit.rules.capacitor_volts import pieces
from lugwright.circuit.rules.case import MAINS_HIGH
from lugwright.circuit.rules.discharge import LONGEST_S, SAFE_V
from lugwright.circuit.rules.supply_arithmetic import surge_v
from lugwright.circuit.starting import FilterRow, Start

_NEVER = 0.999 * LONGEST_S


def filter_rows(build: Build, start: Start, ratings: Iterable[Rating]) -> tuple[FilterRow, ...]:
    """Return the electrolytics that see more than 60 V, highest first; ``ratings`` are those of the idle."""
    cold = {r.part: r.value for r in ratings if r.rule == BLEEDER}
    rows = [row for row in _rows(build, start, cold) if row.peak_v > SAFE_V]
    return tuple(sorted(rows, key=lambda row: (-abs(row.idle_v), row.name)))


def _rows(build: Build, start: Start, cold: dict[str, float]) -> Iterator[FilterRow]:
    for part in build.parts:
        values = part.values
        if isinstance(values, Can) or (isinstance(values, Capacitor) and values.polar):
            for name in pieces(part):
                course = start.capacitor(name)
                seconds = cold.get(name, 0.0)
                yield FilterRow(
                    name, course.idle_v, course.peak_v, course.peak_s, course.peak_v * MAINS_HIGH, values.volts,
                    surge_v(values.volts), course.safe_s, None if seconds >= _NEVER else seconds,
                )  # fmt: skip
