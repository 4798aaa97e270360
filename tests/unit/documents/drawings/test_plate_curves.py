"""The chart of plate curves: places that agree with its axes, limits only where they are in view, words."""

from __future__ import annotations

from dataclasses import replace
from xml.etree import ElementTree

import pytest

from lugwright.documents.drawings.plate_curves import HALF_MM, load_words, plate_charts, plate_curves_svg
from lugwright.solve.results import CurveLine, PlateCurves

PAIR = PlateCurves(
    ("V5", "V6"), "6L6GC", 405.0,
    (CurveLine("0 V", (0.0, 50.0, 510.0), (0.0, 0.28, 0.33)),
     CurveLine("−40 V", (0.0, 50.0, 510.0), (0.0, 0.04, 0.05))),
    405.0, 0.042, -41.0, 269.0, CurveLine("DC load", (416.0, 320.0), (0.0, 0.36)), 2330.0, 1200.0,
    CurveLine("AC load", (503.0, 307.0, 0.0), (0.0, 0.084, 0.34)), 61.0, 0.29, 0.3625, 30.0, 500.0,
)  # fmt: skip
TRIODE = PlateCurves(
    ("V1a",), "12AX7", None, (CurveLine("0 V", (0.0, 300.0), (0.0, 6e-3)),), 166.0, 0.905e-3, -1.36, 117e3,
    CurveLine("DC load", (272.0, 0.0), (0.0, 2.3e-3)), 45.5e3, None,
    CurveLine("AC load", (207.0, 100.0), (0.0, 2.4e-3)),
    103.0, 2.3e-3, 2.9e-3, 1.0, 400.0,
)  # fmt: skip


def test_idle_stands_where_the_axes_say() -> None:
    root = ElementTree.fromstring(plate_curves_svg(PAIR).encode())
    texts = {e.text: e.attrib for e in root.iter() if e.tag.endswith("text")}
    (pin,) = (e.attrib for e in root.iter() if e.tag.endswith("circle") and e.get("r") == "1.1")
    zero, far = 19.0, float(texts["500"]["x"])
    assert 500.0 * (float(pin["cx"]) - zero) / (far - zero) == pytest.approx(405.0, abs=0.5)
    assert {"V5, V6: 6L6GC, screen 405 V", "idle −41 V", "limit 500 V", "30 W", "DC load", "AC load"} <= set(texts)


def test_limits_out_of_view_are_not_drawn() -> None:
    words = {e.text for e in ElementTree.fromstring(plate_curves_svg(TRIODE).encode()).iter()}
    assert "1 W" not in words  # 1 W at 300 V is 3.3 mA, above the top
    assert "limit 400 V" not in words
    assert "1 W" in {
        e.text for e in ElementTree.fromstring(plate_curves_svg(replace(TRIODE, top_a=4e-3)).encode()).iter()
    }


def test_idle_and_loads_are_said_in_words_too() -> None:
    assert load_words(PAIR) == (
        "V5, V6: idle 405 V, 42.0 mA at −41 V on the grid, 17.0 W of 30 W. Load: DC 269 Ω, AC 2.33 kΩ (1.20 kΩ while "
        "the other is cut off)."
    )
    assert load_words(TRIODE) == (
        "V1a: idle 166 V, 905 µA at −1.36 V on the grid, 150 mW of 1 W. Load: DC 117 kΩ, AC 45.5 kΩ."
    )


def test_screened_tubes_have_a_chart_alone_and_triodes_stand_two_and_two() -> None:
    second = replace(TRIODE, together=("V1b",))
    third = replace(TRIODE, together=("V2a", "V2b"))
    charts = plate_charts([TRIODE, PAIR, second, third])
    assert [chart.name for chart in charts] == ["V5_V6", "V1a_V1b", "V2a_V2b"]
    assert [len(chart.words) for chart in charts] == [1, 2, 1]
    root = ElementTree.fromstring(charts[1].svg.encode())
    inner = [e for e in root if e.tag.endswith("svg")]
    assert [float(e.attrib["x"]) for e in inner] == [0.0, HALF_MM[0] + 2.0]
    assert all((float(e.attrib["width"]), float(e.attrib["height"])) == HALF_MM for e in inner)
