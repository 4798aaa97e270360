"""The line chart: round ticks, true places, every line named."""

from __future__ import annotations

import re
from itertools import combinations, pairwise
from xml.etree import ElementTree

import pytest

from lugwright.documents.drawings.chart import Axis, Mark, Series, chart_svg, tick_step
from lugwright.documents.drawings.chart_labels import Room
from lugwright.documents.drawings.chart_pens import dash_of, ink_of
from lugwright.documents.drawings.geometry import Box

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


def test_no_two_of_a_dozen_lines_look_the_same_and_seven_have_dashes_of_their_own() -> None:
    pens = [(dash_of(style), ink_of(style)) for style in range(12)]
    assert len(set(pens)) == 12
    assert len({dash for dash, _ in pens[:7]}) == 7


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


def texts_of(svg: str) -> dict[str, ElementTree.Element]:
    root = ElementTree.fromstring(svg.encode())
    return {e.text or "": e for e in root.iter() if e.tag.endswith("text")}


def place(svg: str, words: str, along: str = "x") -> float:
    return float(texts_of(svg)[words].attrib[along])


def test_a_decade_axis_is_even_in_ratios_and_labeled_in_few_characters() -> None:
    line = Series("gain", ((10.0, 0.0), (1e5, 1.0)))
    svg = chart_svg([line], x=Axis("Hz", 10.0, 1e5, "log"), y=Axis("dB"))
    decades = [place(svg, words) for words in ("10", "100", "1 k", "10 k", "100 k")]
    gaps = [b - a for a, b in pairwise(decades)]
    assert gaps == pytest.approx([gaps[0]] * 4, abs=0.02)
    assert svg.count('stroke-width="0.12"') >= 28  # 8 fine lines a decade, less those with words


def test_a_decade_axis_names_twos_and_fives_where_they_fit() -> None:
    line = Series("gain", ((20.0, 0.0), (2e4, 1.0)))
    wide = chart_svg([line], x=Axis("Hz", 20.0, 2e4, "log"), y=Axis("dB"), size_mm=(160.0, 80.0))
    narrow = chart_svg([line], x=Axis("Hz", 20.0, 2e4, "log"), y=Axis("dB"), size_mm=(80.0, 80.0))
    assert {"20", "50", "100", "200", "500", "1 k", "2 k", "5 k", "10 k", "20 k"} <= set(texts_of(wide))
    assert {"20", "100", "1 k", "10 k"} <= set(texts_of(narrow))
    assert not {"500", "20 k"} & set(texts_of(narrow))


def test_a_value_a_decade_axis_cannot_show_leaves_a_gap() -> None:
    line = Series("gain", ((-1.0, 1.0), (0.0, 2.0), (1.0, 1.0), (10.0, 3.0)))
    svg = chart_svg([line], x=Axis("Hz", kind="log"), y=Axis("dB"))
    path = next(e for e in ElementTree.fromstring(svg.encode()).iter() if e.get("class") == "series")[0].attrib["d"]
    assert (path.count("M"), path.count("L")) == (1, 1)


@pytest.mark.parametrize(
    ("seconds", "words"),
    [(0.4, "0.2 s"), (12, "10 s"), (100, "80 s"), (600, "10 min"), (3600, "50 min"), (9e4, "20 h")],
)
def test_time_is_labeled_in_the_unit_a_person_would_say(seconds: float, words: str) -> None:
    svg = chart_svg([Series("B+1", ((0.0, 400.0), (seconds, 1.0)))], x=Axis("time", kind="time"), y=Axis("V"))
    assert words in texts_of(svg)


def test_a_line_on_the_right_axis_reads_there() -> None:
    gain = Series("gain", ((1.0, 0.0), (2.0, 40.0)))
    phase = Series("phase", ((1.0, -90.0), (2.0, 90.0)), right=True)
    axis = Axis("phase, degrees", -180.0, 180.0, step=90.0)
    svg = chart_svg([gain, phase], x=Axis("x"), y=Axis("gain, dB"), right=axis)
    lines = [e for e in ElementTree.fromstring(svg.encode()).iter() if e.get("class") == "series"]
    heights = [float(y) for y in re.findall(r"[ML][\d.]+ ([\d.]+)", lines[1][0].attrib["d"])]
    shift = place(svg, "0", "y") - heights[0]
    assert {"−180", "−90", "90", "180", "phase, degrees"} <= set(texts_of(svg))
    assert place(svg, "−90", "y") - place(svg, "90", "y") == pytest.approx(heights[0] - heights[1], abs=0.03)
    assert abs(shift) < 40.0


def test_marks_stand_at_their_values_and_their_words_touch_nothing() -> None:
    marks = [
        Mark("60 V", y=60.0),
        Mark("7 min 8 s", x=428.0),
        Mark("measured", x=100.0, y=250.0),
        Mark("limit", y=55.0),
    ]
    fall = Series("reservoir", tuple((float(t), 420.0 * 0.995**t) for t in range(0, 601, 10)))
    svg = chart_svg([fall], x=Axis("s", 0.0, 600.0), y=Axis("V", 0.0, 500.0), marks=marks)
    root = ElementTree.fromstring(svg.encode())
    boxes = []
    for found in (e for e in root.iter() if e.get("class") == "mark"):
        back = found[0].attrib
        x, y, w, h = (float(back[k]) for k in ("x", "y", "width", "height"))
        boxes.append((x, y, x + w, y + h))
    assert len(boxes) == 4
    for a, b in combinations(boxes, 2):
        assert a[2] <= b[0] or b[2] <= a[0] or a[3] <= b[1] or b[3] <= a[1]
    upright = next(e for e in root.iter() if e.get("stroke-dasharray") == "1.8 0.9" and e.get("x1") == e.get("x2"))
    share = (float(upright.attrib["x1"]) - 19.0) / (place(svg, "600") - 19.0)
    assert share == pytest.approx(428.0 / 600.0, abs=0.001)


def test_a_mark_widens_the_axis_until_it_is_seen() -> None:
    svg = chart_svg([Series("a", ((0.0, 0.0), (10.0, 10.0)))], x=Axis("x"), y=Axis("y"), marks=[Mark("limit", y=48.0)])
    assert "50" in texts_of(svg)


def test_readings_have_marks_only_and_one_outside_the_frame_has_none() -> None:
    readings = Series("readings", ((0.0, 1.0), (1.0, 2.0), (9.0, 99.0)), joined=False)
    svg = chart_svg([readings], x=Axis("x", 0.0, 2.0), y=Axis("y", 0.0, 3.0))
    root = ElementTree.fromstring(svg.encode())
    assert not len(next(e for e in root.iter() if e.get("class") == "series"))
    assert len(next(e for e in root.iter() if e.get("class") == "dots")) == 2


def test_names_at_the_ends_of_a_family_stand_apart() -> None:
    family = [
        Series(f"{-k} V", tuple((float(v), (300.0 - 40.0 * k) * v / (v + 30.0)) for v in range(0, 501, 10)),
               style=0, named="end")
        for k in range(8)
    ]  # fmt: skip
    svg = chart_svg(family, x=Axis("V", 0.0, 500.0), y=Axis("mA", 0.0, 200.0))
    root = ElementTree.fromstring(svg.encode())
    backs = [e[0].attrib for e in root.iter() if e.get("class") == "name"]
    boxes = [tuple(float(b[k]) for k in ("x", "y", "width", "height")) for b in backs]
    assert len(boxes) == 8
    for (ax, ay, aw, ah), (bx, by, bw, bh) in combinations(boxes, 2):
        assert ax + aw <= bx or bx + bw <= ax or ay + ah <= by or by + bh <= ay
    width = float(root.attrib["viewBox"].split()[2])
    assert all(x >= 0 and x + w <= width for x, _, w, _ in boxes)


def test_a_legend_below_names_every_line_inside_the_sheet() -> None:
    lines = [Series(f"a rather long name {k}", ((0.0, 0.0), (1.0, float(k)))) for k in range(5)]
    root = ElementTree.fromstring(chart_svg(lines, x=Axis("x"), y=Axis("y"), legend="below").encode())
    words = [e for e in root.iter() if e.tag.endswith("text") and (e.text or "").startswith("a rather")]
    ends = [(float(e.attrib["x"]) + len(e.text or "") * 0.602 * 2.8, float(e.attrib["y"])) for e in words]
    _, _, width, height = (float(v) for v in root.attrib["viewBox"].split())
    assert len(ends) == 5
    assert all(x <= width and y <= height for x, y in ends)


def test_a_long_legend_makes_the_sheet_taller_than_asked() -> None:
    lines = [Series(f"tube {k}", ((0.0, 0.0), (1.0, float(k)))) for k in range(30)]
    root = ElementTree.fromstring(chart_svg(lines, x=Axis("x"), y=Axis("y")).encode())
    height = float(root.attrib["viewBox"].split()[3])
    places = sorted(float(e.attrib["y"]) for e in root.iter() if (e.text or "").startswith("tube "))
    assert places[-1] <= height
    assert min(b - a for a, b in pairwise(places)) >= 4.1


def test_words_do_not_stand_on_a_second_axis() -> None:
    frame = Box(50.0, 40.0, 60.0, 60.0)
    place = (85.0, 40.0)  # right of the frame
    inside = (50.0, 40.0)
    for right_free, wanted in ((True, place), (False, inside)):
        room = Room(frame, right_free=right_free)
        room.take_line([(40.0, 40.0), (60.0, 40.0)])
        room.put("words", [place, inside])
        (taken,) = room.words
        assert (taken.x, taken.y) == wanted
