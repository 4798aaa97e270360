"""Text in, markup out: nothing unescaped, numbers the same everywhere."""

from __future__ import annotations

from xml.etree import ElementTree

import pytest

from lugwright.documents.drawings.svg import document, el, escaped, group, num, text, text_width_mm


@pytest.mark.parametrize(
    ("value", "written"), [(1.0, "1"), (-0.001, "0"), (2.345, "2.35"), (2.5, "2.5"), (-3.10, "-3.1"), (100, "100")]
)
def test_numbers_have_at_most_two_decimals(value: float, written: str) -> None:
    assert num(value) == written


def test_everything_that_means_something_to_xml_is_escaped() -> None:
    assert escaped("<a & \"b\" 'c'>") == "&lt;a &amp; &quot;b&quot; &#39;c&#39;&gt;"


def test_control_characters_that_xml_forbids_are_left_out() -> None:
    assert escaped("R1\x00\x07\ttab") == "R1\ttab"


def test_hostile_text_stays_text() -> None:
    words = '"/><script>x</script>&'
    svg = document([group([text((0, 0), words, 2.0)], data_joint=words)], box=(0, 0, 10, 10), title=words)
    root = ElementTree.fromstring(svg.encode())
    tags = {element.tag.split("}")[1] for element in root.iter()}
    assert tags == {"svg", "title", "rect", "g", "text"}
    (found,) = [element for element in root.iter() if element.tag.endswith("text")]
    assert found.text == words
    (joint,) = [element for element in root.iter() if element.tag.endswith("}g")]
    assert joint.get("data-joint") == words


def test_finished_markup_is_not_escaped_again() -> None:
    assert el("g", {}, el("a", {}, "x & y")) == "<g><a>x &amp; y</a></g>"


def test_paper_size_is_in_millimeters_and_follows_the_scale() -> None:
    root = ElementTree.fromstring(document([], box=(-5, 0, 200, 100), scale=0.5).encode())
    assert (root.get("viewBox"), root.get("width"), root.get("height")) == ("-5 0 200 100", "100mm", "50mm")


def test_text_width_follows_the_font() -> None:
    assert text_width_mm("R101", 2.0) == pytest.approx(4 * 1233 / 2048 * 2.0, rel=1e-3)
