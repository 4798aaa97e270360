"""The line chart: round ticks, true places, every line named."""

from __future__ import annotations

import re
from xml.etree import ElementTree

import pytest

from lugwright.documents.drawings.chart import Axis, Series, chart_svg, tick_step

LINES = (Series("B+1", ((0.0, 380.0), (10.0, 384.0))), Series("read & noted", ((0.0, 370.0), (10.0, 371.0)), True))


def drawn(**axes: Axis) -> ElementTree.Element:
    x, y = axes.get("x", Axis("time, ms")), axes.get("y", Axis("volts, V"))
    return ElementTree.fromstring(chart_svg(LINES, x=x, y=y, title="Ripple").encode())


@pytest.mark.parametrize(
    ("low", "high", "step"), [(0, 10, 2), (0, 0.03, 0.005), (365, 385, 5), (-40, 0, 10), (0, 600, 100), (5, 5, 1)]
)
def test_ticks_stand_at_round_steps(low: float, high: float, step: float) -> None:
    assert tick_step(low, high) == pytest.approx(step)


def test_every_line_is_drawn_and_named_and_told_apart_without_color() -> None:
    root = drawn()
    lines = [e for e in root.iter() if e.get("class") == "series"]
    assert [e.get("data-series") for e in lines] == ["B+1", "read & noted"]
    dashes = [next(p for p in e if p.tag.endswith("path")).get("stroke-dasharray") for e in lines]
    assert len(set(dashes)) == 2
    assert {"B+1", "read & noted", "time, ms", "volts, V", "Ripple"} <= {e.text for e in root.iter()}


def test_points_stand_where_the_axes_say() -> None:
    root = drawn(y=Axis("volts, V", low=360.0, high=400.0))
    texts = {e.text: e for e in root.iter() if e.tag.endswith("text")}
    path = next(e for e in root.iter() if e.get("class") == "series")[0].attrib["d"]
    (x0, y0), (x1, y1) = [(float(a), float(b)) for a, b in re.findall(r"([\d.]+) ([\d.]+)", path)]
    place = {v: float(texts[v].attrib["y"]) for v in ("380", "390")}
    assert y0 - y1 == pytest.approx(0.4 * (place["380"] - place["390"]), abs=0.03)
    assert (x0, x1) == (float(texts["0"].attrib["x"]), float(texts["10"].attrib["x"]))


def test_negative_ticks_have_a_minus_sign_and_zero_has_none() -> None:
    line = Series("grid", ((-40.0, -1.0), (0.0, 0.0)))
    root = ElementTree.fromstring(chart_svg([line], x=Axis("grid, V"), y=Axis("mA")).encode())
    words = {e.text for e in root.iter() if e.tag.endswith("text")}
    assert {"−40", "−10", "0"} <= words
    assert "−0" not in words


def test_a_value_that_is_no_number_leaves_a_gap_and_no_mark() -> None:
    line = Series("odd", ((0.0, 1.0), (1.0, 2.0), (2.0, float("nan")), (3.0, 3.0), (4.0, 1.0)))
    svg = chart_svg([line], x=Axis("x"), y=Axis("y"))
    assert "nan" not in svg
    path = next(e for e in ElementTree.fromstring(svg.encode()).iter() if e.get("class") == "series")[0].attrib["d"]
    assert (path.count("M"), path.count("L")) == (2, 2)


def test_the_same_bytes_come_out_twice() -> None:
    assert chart_svg(LINES, x=Axis("a"), y=Axis("b")) == chart_svg(LINES, x=Axis("a"), y=Axis("b"))
