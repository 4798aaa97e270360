"""Tables of the charts: ohms, power-up steps, idle setting."""

from __future__ import annotations

from collections.abc import Iterable

from lugwright.bringup.results import IdleRow, IdleSetting, OhmsChart, Reading, Step
from lugwright.documents.book.blocks import Cell, Column, Quantity, Table

_EXPECTED = (
    Column("expected", kind="quantity"), Column("from", kind="quantity"), Column("to", kind="quantity"),
    Column("unit", in_book=False), Column("note", grow=4),
)  # fmt: skip


def ohms_table(chart: OhmsChart) -> Table:
    """Return what an ohmmeter reads at every point, and the window a good build falls in."""
    columns = (
        Column("point", grow=4), Column("joint", grow=2), Column("ohms", grow=2), *_EXPECTED,
    )  # fmt: skip
    rows = ((r.point, r.joint, r.quantity.removeprefix("ohms "), *_expected(r)) for r in chart.readings)
    return Table(columns, tuple(rows))


def step_table(step: Step) -> Table:
    """Return the readings of one step."""
    columns = (Column("point", grow=4), Column("quantity"), *_EXPECTED)
    return Table(columns, tuple((r.point, r.quantity, *_expected(r)) for r in step.readings))


def steps_table(steps: Iterable[Step]) -> Table:
    """Return the readings of all steps."""
    columns = (
        Column("step"), Column("title"), Column("mains"), Column("point"), Column("joint"), Column("quantity"),
        *_EXPECTED,
    )  # fmt: skip
    rows = tuple(
        (str(s.number), s.title, s.mains, r.point, r.joint, r.quantity, *_expected(r))
        for s in steps
        for r in s.readings
    )
    return Table(columns, rows)


def _expected(reading: Reading) -> tuple[Cell, ...]:
    unit = reading.unit
    return (Quantity(reading.expected, unit), Quantity(reading.low, unit), Quantity(reading.high, unit), unit,
            reading.note)  # fmt: skip


def idle_rows_table(setting: IdleSetting) -> Table:
    """Return the idle setting of every output tube."""
    columns = (
        Column("tube"), Column("measure at", grow=3), Column("reads", "mV", "number", 1),
        Column("cathode", "mA", "number", 1), Column("plate", "mA", "number", 1), Column("screen", "mA", "number", 1),
        Column("plate to cathode", "V", "number", 0), Column("plate heat", "W", "number", 1),
        Column("limit", "W", "number", 1), Column("used", "%", "number", 0), Column("least", "%", "number", 0),
        Column("most", "%", "number", 0),
    )  # fmt: skip
    rows = tuple(
        (r.tube, r.cathode_point, _cathode_mv(r), r.cathode_a * 1e3, r.plate_a * 1e3, r.screen_a * 1e3,
         r.plate_to_cathode_v, r.plate_w, r.plate_limit_w, r.share * 100.0, r.low_share * 100.0, r.high_share * 100.0)
        for r in setting.rows
    )  # fmt: skip
    return Table(columns, rows)


def _cathode_mv(row: IdleRow) -> float:
    """Return what the meter shows at the cathode: over the small resistor there, else to ground. [mV]"""
    return row.cathode_v * 1e3 if row.cathode_reading_mv is None else row.cathode_reading_mv


def bias_range_table(setting: IdleSetting) -> Table:
    """Return what the bias control does from stop to stop."""
    columns = (
        Column("control"), Column("rotation", "%", "number", 0), Column("grid", "V", "number", 1),
        Column("plate of one tube", "mA", "number", 1),
    )  # fmt: skip
    return Table(columns, tuple((name, at * 100.0, grid, plate) for name, at, grid, plate in setting.bias_range))
