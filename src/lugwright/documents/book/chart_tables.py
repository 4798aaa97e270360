"""Tables of the charts: ohms, power-up steps, idle setting."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping

from lugwright.bringup.results import IdleRow, IdleSetting, JudgedReading, Reading, Step
from lugwright.documents.book.blocks import Cell, Column, Quantity, Table, cell_words
from lugwright.quantities import with_unit

SMALL_V = 0.5  # readings below are printed in millivolts
NO_BREAK = "\u00a0"
_AS_QUANTITY = Column("", kind="quantity")
_EXPECTED = (
    Column("expected", kind="quantity"), Column("from", kind="quantity"), Column("to", kind="quantity"),
    Column("unit", in_book=False), Column("note", grow=4),
)  # fmt: skip


def ohms_table(readings: Iterable[Reading]) -> Table:
    """Return what an ohmmeter reads at some points, and the window a good build falls in."""
    columns = (
        Column("point", grow=4), Column("joint", grow=2), Column("ohms", grow=2), *_EXPECTED,
    )  # fmt: skip
    rows = ((r.point, r.joint, r.quantity.removeprefix("ohms "), *_expected(r)) for r in readings)
    return Table(columns, tuple(rows))


def step_table(step: Step, taken: Mapping[tuple[str, str], JudgedReading] | None = None) -> Table:
    """Return the readings of one step; with a log, what was read of each and how it was judged."""
    stops = any(stop_words(r) for r in step.readings)
    columns = (
        Column("point", grow=4), Column("quantity"), *_EXPECTED[:-1],
        *((Column("switch off", grow=2),) if stops else ()), _EXPECTED[-1],
        *((Column("was", grow=2),) if taken else ()),
    )  # fmt: skip
    rows = (
        (
            r.point, r.quantity, *_expected(r)[:-1], *((stop_words(r),) if stops else ()), r.note,
            *((_was(taken.get((step.key, r.point))),) if taken else ()),
        )
        for r in step.readings
    )  # fmt: skip
    return Table(columns, tuple(rows))


def stop_words(reading: Reading) -> str:
    """Return from which reading on to switch off, "" where nothing burns."""
    words = [
        f"{word} {with_unit(volts, 'V')}".replace(" ", NO_BREAK)
        for volts, word in ((reading.stop_below, "under"), (reading.stop_above, "over"))
        if volts is not None
    ]
    return ", ".join(words)


def _was(taken: JudgedReading | None) -> str:
    return "" if taken is None else f"{taken.shown} {taken.verdict}"


def steps_table(steps: Iterable[Step]) -> Table:
    """Return the readings of all steps."""
    columns = (
        Column("step"), Column("title"), Column("mains"), Column("point"), Column("joint"), Column("quantity"),
        *_EXPECTED, Column("switch off"), Column("tells", kind="number", digits=0),
    )  # fmt: skip
    rows = tuple(
        (str(s.number), s.title, s.mains, r.point, r.joint, r.quantity, *_expected(r), stop_words(r), r.tells)
        for s in steps
        for r in s.readings
    )
    return Table(columns, rows)


def _expected(reading: Reading) -> tuple[Cell, ...]:
    unit, factor = reading.unit, 1.0
    if unit == "V" and 0.0 < max(abs(reading.expected), abs(reading.high)) < SMALL_V:
        unit, factor = "mV", 1e3  # over a cathode resistor of 1 ohm a volt has no digits
    return (Quantity(factor * reading.expected, unit), Quantity(factor * reading.low, unit),
            Quantity(factor * reading.high, unit), unit, reading.note)  # fmt: skip


def window_words(reading: Reading) -> tuple[str, str]:
    """Return what a reading should be, and the window a good build falls in, as they are printed."""
    expected, low, high = (cell_words(_AS_QUANTITY, cell) for cell in _expected(reading)[:3])
    return expected, f"above {low}" if math.isinf(reading.high) else f"{low} to {high}"


def idle_rows_table(setting: IdleSetting) -> Table:
    """Return the idle setting of every output tube."""
    columns = (
        Column("tube"), Column("measure at", grow=3), Column("reads", "mV", "number", 1, in_book=False),
        Column("reads", kind="quantity", in_csv=False),
        Column("cathode", "mA", "number", 1), Column("plate", "mA", "number", 1), Column("screen", "mA", "number", 1),
        Column("plate to cathode", "V", "number", 0), Column("plate heat", "W", "number", 1),
        Column("limit", "W", "number", 1), Column("used", "%", "number", 0), Column("least", "%", "number", 0),
        Column("most", "%", "number", 0),
    )  # fmt: skip
    rows = tuple(
        (r.tube, r.cathode_point, _cathode_mv(r), _cathode_reading(r), r.cathode_a * 1e3, r.plate_a * 1e3,
         r.screen_a * 1e3, r.plate_to_cathode_v, r.plate_w, r.plate_limit_w, r.share * 100.0, r.low_share * 100.0,
         r.high_share * 100.0)
        for r in setting.rows
    )  # fmt: skip
    return Table(columns, rows)


def _cathode_mv(row: IdleRow) -> float:
    """Return what the meter shows at the cathode: over the small resistor there, else to ground. [mV]"""
    return row.cathode_v * 1e3 if row.cathode_reading_mv is None else row.cathode_reading_mv


def _cathode_reading(row: IdleRow) -> Quantity:
    """Return the same as it is printed: volts where they are volts."""
    return Quantity(row.cathode_v, "V") if row.cathode_reading_mv is None else Quantity(row.cathode_reading_mv, "mV")


def bias_range_table(setting: IdleSetting) -> Table:
    """Return what the bias control does from stop to stop."""
    columns = (
        Column("control"), Column("rotation", "%", "number", 0), Column("grid", "V", "number", 1),
        Column("plate of one tube", "mA", "number", 1),
    )  # fmt: skip
    return Table(columns, tuple((name, at * 100.0, grid, plate) for name, at, grid, plate in setting.bias_range))
