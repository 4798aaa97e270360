"""Tables of the idle setting: as computed, as measured, what turns and resistors do."""

from __future__ import annotations

from lugwright.bringup.idle_results import Advice, Figure, IdleMeasured, ReachRow, TubeState
from lugwright.documents.book.blocks import Cell, Column, Quantity, Table


def measured_table(measured: IdleMeasured) -> Table:
    """Return currents and watts of each output tube as read, each with its uncertainty behind it."""
    columns = (
        Column("tube"), Column("cathode", "mA", "number", 1), Column("cathode ±", "mA", "number", 1),
        Column("screen", "mA", "number", 1), Column("plate", "mA", "number", 1), Column("plate ±", "mA", "number", 1),
        Column("plate to cathode", "V", "number", 0), Column("plate heat", "W", "number", 1),
        Column("heat ±", "W", "number", 1), Column("limit", "W", "number", 1), Column("used", "%", "number", 0),
        Column("of its type", "%", "number", 0),
    )  # fmt: skip
    rows: tuple[tuple[Cell, ...], ...] = tuple(
        (
            t.tube if t.read else f"{t.tube} (not read)", *_both(t.cathode_a, 1e3), 1e3 * t.screen_a.value,
            *_both(t.plate_a, 1e3), t.plate_to_cathode_v.value, *_both(t.plate_w, 1.0), t.plate_limit_w,
            100.0 * t.share.value, 100.0 * t.strength,
        )
        for t in measured.tubes
    )  # fmt: skip
    return Table(columns, rows)


def _both(figure: Figure, scale: float) -> tuple[float, float]:
    return scale * figure.value, scale * figure.off


def turns_table(advice: Advice) -> Table:
    """Return what each small turn of each control does to every tube."""
    names = [state.tube for state in advice.turns[0].tubes] if advice.turns else []
    columns = [
        Column("control"),
        Column("turned", grow=1),
        Column("to", "%", "number", 0),
        Column("B+", "V", "number", 0),
    ]
    for name in names:
        columns += [Column(f"{name} grid", "V", "number", 1), Column(f"{name} reads", kind="quantity"),
                    Column(f"{name} used", "%", "number", 0)]  # fmt: skip
    rows: list[tuple[Cell, ...]] = [
        (row.control, row.turn, 100.0 * row.rotation, row.b_plus_v, *(cell for s in row.tubes for cell in _state(s)))
        for row in advice.turns
    ]
    return Table(tuple(columns), tuple(rows))


def _state(state: TubeState) -> tuple[Cell, ...]:
    return state.grid_v, reads(state), 100.0 * state.share


def reads(state: TubeState) -> Quantity:
    """Return what the meter shows at the cathode, in millivolts where it is less than a volt."""
    volts = state.cathode_reading_v
    return Quantity(1e3 * volts, "mV") if abs(volts) < 1.0 else Quantity(volts, "V")


def reach_table(rows: tuple[ReachRow, ...]) -> Table:
    """Return both ends of the controls with strong and weak tubes and the mains off."""
    columns = (
        Column("all controls at"), Column("tubes"), Column("mains", "%", "number", 0),
        Column("grid", "V", "number", 1), Column("hottest plate", "%", "number", 0), Column("B+", "V", "number", 0),
    )  # fmt: skip
    return Table(
        columns,
        tuple(
            (r.end, r.tubes, 100.0 * r.mains, r.grid_v, None if r.share is None else 100.0 * r.share, r.b_plus_v)
            for r in rows
        ),
    )


def resistors_table(advice: Advice) -> Table:
    """Return the cathode resistor with its neighbors."""
    columns = (
        Column("cathode resistor", kind="quantity"), Column("which"), Column("cathode", "V", "number", 1),
        Column("hottest plate", "mA", "number", 1), Column("used", "%", "number", 0),
        Column("its own heat", "W", "number", 2),
    )  # fmt: skip
    rows = tuple(
        (
            Quantity(r.ohm, "ohm"), ", ".join(w for w, so in (("now", r.now), ("nearest the aim", r.best)) if so),
            r.cathode_v, 1e3 * r.plate_a, 100.0 * r.share, r.resistor_w,
        )
        for r in advice.resistors
    )  # fmt: skip
    return Table(columns, rows)
