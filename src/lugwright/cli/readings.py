"""Rows of the ohms and power-up charts as plain text."""

from __future__ import annotations

import math
from collections.abc import Iterable

from lugwright.bringup.results import Reading
from lugwright.cli.printing import table
from lugwright.quantities import with_unit

OVER_RANGE = "over range"
# Units that take no prefix, with the figures behind the point.
_PLAIN = {"dB": 1, "%": 1, "": 3}
# unit of a reading -> (unit printed with a prefix, factor to it)
_UNITS = {"V": ("V", 1.0), "Vac": ("V", 1.0), "mV": ("V", 1e-3), "mA": ("A", 1e-3), "ohm": ("Ω", 1.0)}


def reading_words(value: float, unit: str) -> str:
    """Return one value of a reading: ``412 V``, ``over range``."""
    if math.isinf(value):
        return OVER_RANGE
    if unit in _PLAIN:
        return f"{value:.{_PLAIN[unit]}f} {unit}".rstrip()
    symbol, factor = _UNITS.get(unit, (unit, 1.0))
    return with_unit(value * factor, symbol) + (" ac" if unit == "Vac" else "")


def reading_table(readings: Iterable[Reading]) -> str:
    """Return a chart: where, what, expected, window."""
    rows = (
        (
            reading.point,
            reading.quantity,
            reading_words(reading.expected, reading.unit),
            reading_words(reading.low, reading.unit),
            reading_words(reading.high, reading.unit),
            reading.note,
        )
        for reading in readings
    )
    return table(("point", "reads", "expected", "from", "to", ""), rows, right="llrrr")


def window_words(reading: Reading) -> tuple[str, str, str]:
    """Return expected value and window as they are printed."""
    low, expected, high = (reading_words(x, reading.unit) for x in (reading.low, reading.expected, reading.high))
    return expected, low, high


def stop_words(reading: Reading) -> str:
    """Return from which reading on to switch off, "" where nothing burns."""
    words = []
    if reading.stop_below is not None:
        words.append(f"under {reading_words(reading.stop_below, reading.unit)}")
    if reading.stop_above is not None:
        words.append(f"over {reading_words(reading.stop_above, reading.unit)}")
    return ", ".join(words)
