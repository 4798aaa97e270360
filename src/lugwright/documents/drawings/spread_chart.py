"""How far readings move: one bar a reading, in percent of what it reads as drawn."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence

from lugwright.bringup.results import Spread, SpreadRow
from lugwright.documents.drawings.chart import tick_step
from lugwright.documents.drawings.svg import Markup, circle, document, line, rect, text, text_width_mm
from lugwright.quantities import with_unit

SIZE, ROW_MM, WIDTH_MM = 2.8, 5.0, 165.0
TOP_MM, FOOT_MM, GAP_MM = 14.0, 11.0, 2.5
BAR_MM, TICK_MM = 2.4, 1.4
LEAST_V = 0.01  # a reading nearer to nothing than this has no percent
Place = Callable[[float], float]  # percent -> across the sheet
TELLING = ("to ground", "plate", "plate current", "plate heat", "grid")


def spread_chart_svg(spread: Spread, rows: Sequence[SpreadRow] = (), *, title: str = "") -> str:
    """Return the chart of some rows, or without any of the telling ones: supplies, plates, bias, heat."""
    shown = list(rows or _telling(spread.rows))
    names = [row.reading for row in shown]
    figures = [f"{with_unit(r.lowest, r.unit)} to {with_unit(r.highest, r.unit)}" for r in shown]
    left = max((text_width_mm(name, SIZE) for name in names), default=0.0) + 2.0 * GAP_MM
    right = WIDTH_MM - max((text_width_mm(words, SIZE) for words in figures), default=0.0) - 2.0 * GAP_MM
    reach = max((abs(p) for r in shown for p in (_percent(r, r.lowest), _percent(r, r.highest))), default=1.0)
    step = tick_step(-reach, reach)
    reach = step * math.ceil(reach / step - 1e-9)
    bottom = TOP_MM + ROW_MM * len(shown)

    def place(percent: float) -> float:
        return left + (percent + reach) / (2.0 * reach) * (right - left)

    children = [
        text((WIDTH_MM / 2.0, 4.5), title or f"{spread.draws} good builds", SIZE * 1.15, bold=True),
        *_grid(place, reach, step, bottom),
    ]
    for count, (row, name, words) in enumerate(zip(shown, names, figures, strict=True)):
        y = TOP_MM + ROW_MM * (count + 0.5)
        children += [
            text((left - GAP_MM, y), name, SIZE, anchor="end"),
            text((right + GAP_MM, y), words, SIZE, anchor="start"),
            *_bar(row, place, y),
        ]
    return document(children, box=(0.0, 0.0, WIDTH_MM, bottom + FOOT_MM), title=title or "Good builds differ")


def _telling(rows: Sequence[SpreadRow]) -> Iterator[SpreadRow]:
    """Yield supplies, what the plates read, bias, and the heat of tubes."""
    for row in rows:
        what = row.reading.partition(" ")[2]
        far = row.unit != "V" or min(abs(row.lowest), abs(row.highest)) > LEAST_V
        if what in TELLING and far and not (what == "grid" and row.expected > 0.0):
            yield row


def _percent(row: SpreadRow, value: float) -> float:
    return 100.0 * (value / row.expected - 1.0) if row.expected else 0.0


def _grid(place: Place, reach: float, step: float, bottom: float) -> Iterator[Markup]:
    count = round(reach / step)
    for k in range(-count, count + 1):
        x = place(k * step)
        yield line((x, TOP_MM - 1.0), (x, bottom), width=0.35 if k == 0 else 0.15, stroke="#000" if k == 0 else "#999")
        yield text((x, bottom + 3.0), f"{k * step:+.0f}" if k else "as drawn", SIZE)
    yield text((place(0.0), bottom + 7.5), "percent of the reading as drawn", SIZE)


def _bar(row: SpreadRow, place: Place, y: float) -> Iterator[Markup]:
    lowest, low, middle, high, highest = sorted(
        place(_percent(row, v)) for v in (row.lowest, row.low, row.middle, row.high, row.highest)
    )
    yield line((lowest, y), (highest, y), width=0.35)
    for x in (lowest, highest):
        yield line((x, y - TICK_MM), (x, y + TICK_MM), width=0.35)
    yield rect((low, y - BAR_MM / 2.0), (high - low, BAR_MM), fill="#bdbdbd", width=0.3)
    yield circle((middle, y), 0.8, fill="#fff", width=0.35)
