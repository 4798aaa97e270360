"""Tables of output power: over drive, harmonics, headroom, tubes and supply at full drive."""

from __future__ import annotations

from lugwright.circuit.operating import Rating
from lugwright.documents.book.blocks import Cell, Column, Quantity, Table
from lugwright.solve.power_results import Power, PowerPoint

_DRIVE = Column("drive, RMS", "mV", "number", 1)
_PERCENT = 100.0


def point_table(power: Power) -> Table:
    """Return watts, distortion and B+ for every drive."""
    first = next(iter(power.idle_b_plus_v), None)
    columns = (
        _DRIVE, Column("power", "W", "number", 2), Column("speaker, RMS", "V", "number", 2),
        Column("distortion", "%", "number", 2), Column("2nd", "%", "number", 2), Column("3rd", "%", "number", 2),
        *((Column(first, "V", "number", 1),) if first else ()), Column("from the supply", "W", "number", 1),
    )  # fmt: skip
    return Table(columns, tuple(_point_row(point, first) for point in power.points))


def _point_row(point: PowerPoint, first: str | None) -> tuple[Cell, ...]:
    second, third = (_PERCENT * share for share in point.harmonics[1:3])
    b_plus = () if first is None else (point.b_plus_v[first],)
    return (1e3 * point.drive_rms_v, point.watts, point.speaker_rms_v, _PERCENT * point.distortion, second,
            third, *b_plus, point.supply_w)  # fmt: skip


def _chosen(power: Power) -> list[tuple[str, PowerPoint]]:
    named = (("at 5 %", power.five_percent), ("at 10 %", power.ten_percent), ("full drive", power.full_drive))
    return [(name, point) for name, point in named if point is not None]


def harmonic_table(power: Power, *, last: int | None = None) -> Table:
    """Return the harmonics at five and ten percent distortion and at full drive, up to the last one wanted."""
    chosen = _chosen(power)
    columns = (Column("harmonic", kind="number", digits=0), *(Column(name, "%", "number", 3) for name, _ in chosen))
    count = last or len(power.full_drive.harmonics)
    return Table(
        columns,
        tuple((n, *(_PERCENT * point.harmonics[n - 1] for _, point in chosen)) for n in range(2, count + 1)),
    )


def limit_table(power: Power) -> Table:
    """Return where each stage runs out of room."""
    columns = (Column("tube"), Column("by"), _DRIVE, Column("power then", "W", "number", 2))
    return Table(
        columns, tuple((x.tube, x.how, 1e3 * x.drive_rms_v, x.watts) for x in power.limits)
    )  # fmt: skip


def driven_rating_table(ratings: tuple[Rating, ...]) -> Table:
    """Return what the drive that asks most of each tube makes of its limits."""
    columns = (Column("tube"), Column("figure"), Column("most", kind="quantity"), Column("limit", kind="quantity"),
               Column("share", "%", "number", 0))  # fmt: skip
    return Table(
        columns,
        tuple(
            (r.part, r.what, Quantity(r.value, r.unit), Quantity(r.limit, r.unit), _PERCENT * r.share) for r in ratings
        ),
    )


def sag_table(power: Power) -> Table:
    """Return every B+ joint at idle and at full drive."""
    columns = (Column("joint"), Column("idle", "V", "number", 1), Column("full drive", "V", "number", 1),
               Column("sag", "V", "number", 1))  # fmt: skip
    full = power.full_drive.b_plus_v
    return Table(
        columns, tuple((joint, volts, full[joint], volts - full[joint]) for joint, volts in power.idle_b_plus_v.items())
    )  # fmt: skip


def product_table(power: Power) -> Table:
    """Return the strongest products of two tones."""
    found = power.intermodulation
    columns = (Column("product", "Hz", "number", 0), Column("of one tone", "%", "number", 2))
    return Table(columns, () if found is None else tuple((hz, _PERCENT * share) for hz, share in found.products))
