"""Bars of how far readings move."""

from __future__ import annotations

import re

from lugwright.bringup.results import Mover, Spread, SpreadRow
from lugwright.documents.drawings.spread_chart import spread_chart_svg

MOVERS = (Mover("V5", 0.25, 1.0, 0.9),)


def _row(reading: str, unit: str, *values: float) -> SpreadRow:
    return SpreadRow(reading, unit, *values, MOVERS)


SPREAD = Spread(
    500, 1, 100,
    (
        _row("B+1 to ground", "V", 400.0, 380.0, 390.0, 400.0, 410.0, 420.0),
        _row("V1a cathode", "V", 1.3, 1.2, 1.25, 1.3, 1.35, 1.4),
        _row("V5 grid", "V", -40.0, -44.0, -42.0, -40.0, -38.0, -36.0),
        _row("V5 plate heat", "W", 20.0, 14.0, 16.0, 20.0, 24.0, 26.0),
    ),
    (), (), (),
)  # fmt: skip


def _lines(svg: str) -> list[tuple[float, ...]]:
    found = re.findall(r'<line x1="([-0-9.]+)" y1="([-0-9.]+)" x2="([-0-9.]+)" y2="([-0-9.]+)"', svg)
    return [tuple(map(float, one)) for one in found]


def test_telling_readings_are_drawn_with_both_ends_in_words() -> None:
    svg = spread_chart_svg(SPREAD)
    assert all(words in svg for words in ("500 good builds", "B+1 to ground", "380 V to 420 V", "14.0 W to 26.0 W"))
    assert "-44.0 V to -36.0 V" in svg
    assert "V1a cathode" not in svg


def test_bars_are_to_scale_and_a_negative_reading_goes_its_own_way() -> None:
    whiskers = [(x1, x2) for x1, y1, x2, y2 in _lines(spread_chart_svg(SPREAD)) if y1 == y2]
    supply, bias, heat = (high - low for low, high in whiskers)
    assert abs(heat / supply - 0.6 / 0.1) < 0.05
    assert abs(bias / supply - 0.2 / 0.1) < 0.05


def test_rows_of_ones_own_are_drawn_as_asked_for() -> None:
    svg = spread_chart_svg(SPREAD, SPREAD.rows[1:2])
    assert "V1a cathode" in svg
    assert "B+1" not in svg


def test_nothing_stands_outside_the_sheet() -> None:
    width, height = map(
        float, re.search(r'width="([0-9.]+)mm" height="([0-9.]+)mm"', spread_chart_svg(SPREAD)).groups()
    )
    for x1, y1, x2, y2 in _lines(spread_chart_svg(SPREAD)):
        assert min(x1, x2) >= 0
        assert max(x1, x2) <= width
        assert min(y1, y2) >= 0
        assert max(y1, y2) <= height
