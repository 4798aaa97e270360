"""How far readings move with real parts."""

from __future__ import annotations

from collections.abc import Iterator

from lugwright.bringup.results import Corner, RatingChance, Spread, SpreadRow
from lugwright.documents.book.blocks import Block, Cell, Column, Figure, Heading, Paragraph, Quantity, Section, Table
from lugwright.documents.drawings.spread_chart import spread_chart_svg

BARS = "Thin line: 99 of 100 builds. Bar: nine in ten. Dot: the middle. At the right the ends of the line."
SHOWN_MOVERS = 3
NO_ROOM_V = 0.01  # a pin that never reads more than this is not listed in the book
MILLIVOLTS_BELOW_V = 0.5


def spread_pages(spread: Spread) -> Section:
    """Return what to expect of parts that are good but not exact."""
    blocks: list[Block] = [
        Paragraph(
            f"{spread.draws} builds were drawn with every resistor and pot within its tolerance, every tube within the "
            "spread of its type, the mains within 3 %. A reading outside its row is worth a second look even where a "
            f"chart lets it pass. Not drawn: {'; '.join(spread.left_out)}."
        ),
        Figure("spread", spread_chart_svg(spread), BARS, instead="the table below"),
        spread_table(tuple(_telling(spread.rows))),
        Heading("Every part at its worse end"),
        corners_table(spread.corners),
        Heading("Ratings that some builds exceed"),
    ]
    if spread.chances:
        blocks.append(chances_table(spread.chances))
    else:
        blocks.append(Paragraph(f"None, of {spread.rated_draws} builds at the mains as stated."))
    return Section("spread", "Good builds differ", tuple(blocks))


def _telling(rows: tuple[SpreadRow, ...]) -> Iterator[SpreadRow]:
    for row in rows:
        if row.unit != "V" or max(abs(row.lowest), abs(row.highest)) > NO_ROOM_V:
            yield row


def spread_table(rows: tuple[SpreadRow, ...]) -> Table:
    """Return percentiles and movers of readings."""
    columns = (
        Column("reading", grow=2), Column("as drawn", kind="quantity"), Column("0.5 % read less", kind="quantity"),
        Column("half read less", kind="quantity"), Column("0.5 % read more", kind="quantity"),
        Column("unit", in_book=False), Column("moved most by", grow=4),
    )  # fmt: skip
    return Table(
        columns,
        tuple(
            (
                row.reading, *_on_the_meter(row),
                ", ".join(f"{m.part} ({100.0 * m.share:.0f} %)" for m in row.movers[:SHOWN_MOVERS]),
            )
            for row in rows
        ),
    )  # fmt: skip


def _on_the_meter(row: SpreadRow) -> tuple[Cell, ...]:
    """Return the four figures and their unit: millivolts where all are below half a volt."""
    figures = (row.expected, row.lowest, row.middle, row.highest)
    unit, scale = ("mV", 1e3) if row.unit == "V" and max(map(abs, figures)) < MILLIVOLTS_BELOW_V else (row.unit, 1.0)
    return (*(Quantity(scale * figure, unit) for figure in figures), unit)


def corners_table(corners: tuple[Corner, ...]) -> Table:
    """Return the worst corners."""
    columns = (
        Column("reading"), Column("lowest", kind="quantity"), Column("with, most of all", grow=3),
        Column("highest", kind="quantity"), Column("with, most of all", grow=3),
    )  # fmt: skip
    rows = (
        (c.reading, Quantity(c.lowest, c.unit), ", ".join(c.lowest_with), Quantity(c.highest, c.unit),
         ", ".join(c.highest_with))
        for c in corners
    )  # fmt: skip
    return Table(columns, tuple(rows))


def chances_table(chances: tuple[RatingChance, ...]) -> Table:
    """Return ratings that some builds exceed."""
    columns = (
        Column("part"), Column("rating", grow=3), Column("limit", kind="quantity"),
        Column("as drawn", kind="quantity"), Column("worst", kind="quantity"),
        Column("builds beyond", "%", "number", 1),
    )  # fmt: skip
    rows = (
        (c.part, c.what, Quantity(c.limit, c.unit), Quantity(c.expected, c.unit), Quantity(c.worst, c.unit),
         100.0 * c.chance)
        for c in chances
    )  # fmt: skip
    return Table(columns, tuple(rows))
