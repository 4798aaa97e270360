"""Limits that hang on what feeds a point: the watts of a resistor count from the volts read at its other end.

A low mains or a smaller lamp lowers every feed, and no resistor burns for it. One slip of the meter lowers the feed on
paper alone, and a resistor burns behind it unseen. So a feed is believed inside its window, and below it only as far as
something that does not hang on it is low by the same share. Beyond that nothing burns for certain, and nothing is
certain not to: the feed is to be read again.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass, replace
from functools import cached_property

from lugwright.bringup.charted import OK, Charts
from lugwright.bringup.gate import burning
from lugwright.bringup.reading_text import window_text
from lugwright.bringup.results import JudgedReading, Reading
from lugwright.buildfile.build import GROUND
from lugwright.errors import NoSuchPoint
from lugwright.quantities import with_unit

DC, AC = "V dc", "V ac"
ALIKE = 0.1  # of what is expected: so far apart the shares of two supplies of one transformer are, differently loaded
LEAST_V = 1.0  # a point that belongs nearer to ground than this does not tell how low everything is

Seen = tuple[str, str, str, str, float]  # step, red, black, quantity and value of a reading


@dataclass(frozen=True)
class ReadVolts:
    """The volts that were read; of one place the last counts."""

    charts: Charts
    taken: tuple[Seen, ...] = ()

    @cached_property
    def to_ground(self) -> Mapping[tuple[str, str], float]:
        """Return direct volts to ground by step and joint."""
        found: dict[tuple[str, str], float] = {}
        for step, red, black, quantity, value in self.taken:
            if quantity == DC and black == GROUND and math.isfinite(value):
                with suppress(NoSuchPoint):
                    found[step, self.charts.points.spot(red).joint] = value
        return found

    @cached_property
    def shares(self) -> Mapping[str, Mapping[Reading, float]]:
        """Return by step which rows of its chart were read, and the share of what is expected that was found there."""
        found: dict[str, dict[Reading, float]] = {}
        for step, red, black, quantity, value in self.taken:
            with suppress(NoSuchPoint):
                row = self.charts.row(step, self.charts.place(step, red=red, black=black), quantity)
                if row is not None and row[0].unit == "V" and abs(row[0].expected) > LEAST_V:
                    found.setdefault(step, {})[row[0]] = value * row[1] / row[0].expected
        return found

    def feed_row(self, step: str, feed: str) -> Reading | None:
        """Return the row of the chart that a feed is read by, None where there is none."""
        with suppress(NoSuchPoint):
            found = self.charts.row(step, self.charts.place(step, red=feed, black=GROUND), DC)
            return None if found is None else found[0]
        return None


def read_volts(charts: Charts, taken: Iterable[Seen]) -> ReadVolts:
    """Return the volts that were read.

    Parameters
    ----------
    charts : Charts
        The charts of this build.
    taken : iterable of tuple
        Step, red, black, quantity and value of each reading. [V]

    Returns
    -------
    ReadVolts
        Volts. [V]

    Source
    ------
    The readings.
    """
    return ReadVolts(charts, tuple(each for each in taken if each[3] in (DC, AC)))


def with_feed(reading: JudgedReading, volts: ReadVolts) -> JudgedReading:
    """Return a reading that says what burns by the volts that were read at its feed, not by those expected there.

    Inside its window it stays as it is: there two readings of one meter are too near each other to say what burns.
    """
    if reading.quantity != DC or reading.verdict == OK:
        return reading
    charts = volts.charts
    held = replace(charts.place(reading.step, red=reading.red, black=reading.black), condition=reading.condition)
    found = charts.row(reading.step, held, DC)
    if found is None or (reading.step, found[0].stop_feed) not in volts.to_ground:
        return reading
    row, sign = found
    burns, doubt = by_feed(row, reading.value * sign, step=reading.step, volts=volts, off=True)
    return replace(reading, burns=burns, doubt=doubt, feed=row.stop_feed)


def by_feed(row: Reading, value: float, *, step: str, volts: ReadVolts, off: bool) -> tuple[str, str]:
    """Return what burns at a reading by what was read at its feed, and if nothing does, what may burn all the same.

    Parameters
    ----------
    row : Reading
        A row of the chart.
    value : float
        What the meter shows there. [V]
    step : str
        Key of the step.
    volts : ReadVolts
        What was read besides. [V]
    off : bool
        Whether the reading lies outside its window.

    Returns
    -------
    tuple of str
        What burns, "" where nothing does by the feed as it was read; and what would if that feed were read too low.

    Source
    ------
    Joule's law. The feed may stand higher than it was read, or the meter may read everything low by one share: then
    the volts across a resistor are more than they seem by that share, and its limit is nearer to the feed.
    """
    feed_v = volts.to_ground.get((step, row.stop_feed))
    burns = burning(moved(row, feed_v), value, off=off)
    if burns or feed_v is None:
        return burns, ""
    row_of_feed = volts.feed_row(step, row.stop_feed)
    higher = moved(row, _believed_v(row, row_of_feed, feed_v, volts.shares.get(step, {})))
    may = burning(higher, value, off=False) or burning(_shrunk(row, feed_v / row.stop_feed_v), value, off=False)
    return "", f"{may} unless {_as_read(row, row_of_feed, feed_v)}" if may else ""


def _as_read(row: Reading, feed: Reading | None, feed_v: float) -> str:
    stands = f"{row.stop_feed} really stands at the {with_unit(feed_v, 'V')} read there"
    return stands if feed is None else f"{stands} (good builds {window_text(feed.low, feed.high, feed.unit)})"


def _believed_v(row: Reading, feed: Reading | None, feed_v: float, shares: Mapping[Reading, float]) -> float:
    """Return how low the feed of a row may be believed to stand. [V]"""
    share = feed_v / row.stop_feed_v
    if feed is not None and min(feed.low / row.stop_feed_v, feed.high / row.stop_feed_v) <= share:
        return feed_v
    alike = (x for x in _apart_from(row, feed, shares) if x > share - ALIKE)
    return row.stop_feed_v * max(share, min((*alike, 1.0)))


def _apart_from(row: Reading, feed: Reading | None, shares: Mapping[Reading, float]) -> Iterator[float]:
    """Yield the shares of what does not hang on a feed: windings, and supplies before it, which stand higher.

    Bias is left out: how low it stands hangs on its control.
    """
    feed_v = row.stop_feed_v if feed is None else feed.expected
    for each, share in shares.items():
        before = each.quantity == DC and each.black == GROUND and each.expected / feed_v > 1.0
        if each.quantity == AC or before:
            yield share


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
    return _with_limit(row, 1.0, feed_v - row.stop_feed_v)


def _shrunk(row: Reading, share: float) -> Reading:
    """Return a row as a meter shows it that reads everything low by a share."""
    return _with_limit(row, share, 0.0)


def _with_limit(row: Reading, times: float, plus_v: float) -> Reading:
    """Return a row with the limit of its resistor, which stands toward ground, scaled and moved."""
    if row.stop_feed_v >= 0.0:
        return row if row.stop_below is None else replace(row, stop_below=row.stop_below * times + plus_v)
    return row if row.stop_above is None else replace(row, stop_above=row.stop_above * times + plus_v)
