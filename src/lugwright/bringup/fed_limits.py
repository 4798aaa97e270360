"""Limits that hang on what feeds a point: the watts of a resistor count from the volts read at its other end."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import replace

from lugwright.bringup.charted import OK, Charts
from lugwright.bringup.gate import burning
from lugwright.bringup.results import JudgedReading, Reading
from lugwright.buildfile.build import GROUND
from lugwright.errors import NoSuchPoint

DC = "V dc"


def read_volts(charts: Charts, taken: Iterable[tuple[str, str, str, str, float]]) -> Mapping[tuple[str, str], float]:
    """Return the direct volts to ground that were read, by step and joint; of several the last.

    Parameters
    ----------
    charts : Charts
        The charts of this build.
    taken : iterable of tuple
        Step, red, black, quantity and value of each reading. [V]

    Returns
    -------
    mapping
        Volts. [V]

    Source
    ------
    The readings.
    """
    found: dict[tuple[str, str], float] = {}
    for step, red, black, quantity, value in taken:
        if quantity == DC and black == GROUND and math.isfinite(value):
            try:
                found[step, charts.points.spot(red).joint] = value
            except NoSuchPoint:
                continue
    return found


def with_feed(charts: Charts, reading: JudgedReading, volts: Mapping[tuple[str, str], float]) -> JudgedReading:
    """Return a reading that says what burns by the volts that were read at its feed, not by those expected there.

    Inside its window it stays as it is: there two readings of one meter are too near each other to say what burns.
    """
    if reading.quantity != DC or reading.verdict == OK:
        return reading
    held = replace(charts.place(reading.step, red=reading.red, black=reading.black), condition=reading.condition)
    found = charts.row(reading.step, held, DC)
    if found is None or not found[0].stop_feed:
        return reading
    row, sign = found
    fed = moved(row, volts.get((reading.step, row.stop_feed)))
    return replace(reading, burns=burning(fed, reading.value * sign, off=True))


def moved(row: Reading, feed_v: float | None) -> Reading:
    """Return a row whose limit stands as far from its feed as stated.

    Parameters
    ----------
    row : Reading
        A row of the chart.
    feed_v : float or None
        What was read at its feed, None where nothing was. [V]

    Returns
    -------
    Reading
        The row, its limit moved by what the feed is off.

    Source
    ------
    Joule's law: the same watts need the same volts across a resistor, whatever its feed stands at.
    """
    if not row.stop_feed or feed_v is None:
        return row
    by = feed_v - row.stop_feed_v
    if row.stop_feed_v >= 0.0:
        return row if row.stop_below is None else replace(row, stop_below=row.stop_below + by)
    return row if row.stop_above is None else replace(row, stop_above=row.stop_above + by)
