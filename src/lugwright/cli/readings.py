"""Rows of the ohms and power-up charts as plain text."""

from __future__ import annotations

import math
from collections.abc import Iterable

from lugwright.bringup.results import JudgedReading, Reading
from lugwright.cli.printing import table
from lugwright.quantities import with_unit

OVER_RANGE = "over range"
SWITCH_OFF = "SWITCH OFF NOW, plug out of the wall. Hands off until every filter capacitor is measured below 60 V."
READ_AGAIN = "IN DOUBT"
KEEP_OUT = "THE PLUG STAYS OUT of the wall until this is right."
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
    """Return a chart: where, what, expected, window, and where there is any, from which reading on to switch off."""
    rows = [(r.point, r.quantity, *window_words(r), stop_words(r), r.note) for r in readings]
    head: tuple[str, ...] = ("point", "reads", "expected", "from", "to", "switch off", "")
    if not any(stop for *_, stop, _ in rows):
        return table((*head[:-2], ""), [(*row[:-2], row[-1]) for row in rows], right="llrrr")
    return table(head, rows, right="llrrr")


def window_words(reading: Reading) -> tuple[str, str, str]:
    """Return expected value and window as they are printed."""
    low, expected, high = (reading_words(x, reading.unit) for x in (reading.low, reading.expected, reading.high))
    return expected, low, high


def at_once_words(reading: JudgedReading) -> str:
    """Return what to do at once at what was read, and why; "" where nothing burns or hurts, or may burn."""
    if not reading.burns:
        return f"{READ_AGAIN}: {reading.again}." if reading.again else ""
    return f"{SWITCH_OFF if reading.live else KEEP_OUT} {reading.burns[0].upper()}{reading.burns[1:]}."


def alarm_lines(readings: Iterable[JudgedReading]) -> list[str]:
    """Return for each reading at which something burns or hurts, or may burn, what to do at once."""
    return [f"{r.point} shows {r.doubted}. {words}" for r in readings if (words := at_once_words(r))]


def stop_words(reading: Reading) -> str:
    """Return from which reading on to switch off, "" where nothing burns."""
    words = []
    if reading.stop_below is not None:
        words.append(f"under {reading_words(reading.stop_below, reading.unit)}")
    if reading.stop_above is not None:
        words.append(f"over {reading_words(reading.stop_above, reading.unit)}")
    return ", ".join(words)
