"""The top side is the wiring side turned over: left and right exchanged, nothing else."""

from __future__ import annotations

import math
import re
from xml.etree import ElementTree

import pytest
from tests.planned_examples import example

from lugwright.buildfile.build import Can, Tube
from lugwright.documents.drawings.fittings import chassis_of, standing_transformers
from lugwright.documents.drawings.top_side import WORDS, top_side_svg
from lugwright.workflow.opened import Opened

SVG = "{http://www.w3.org/2000/svg}"
NAMES = ("dunlin_5", "godwit_40")


@pytest.fixture(scope="module", params=NAMES)
def opened(request: pytest.FixtureRequest) -> Opened:
    return example(request.param)


def _groups(opened: Opened, hook: str) -> dict[str, list[ElementTree.Element]]:
    root = ElementTree.fromstring(top_side_svg(opened.build, opened.plan, opened.hardware).encode())
    found: dict[str, list[ElementTree.Element]] = {}
    for each in root.iter(f"{SVG}g"):
        if hook in each.attrib:
            found.setdefault(each.attrib[hook], []).append(each)
    return found


def test_tubes_and_cans_stand_where_they_are_seen_from_above(opened: Opened) -> None:
    width, found = chassis_of(opened.build).width_mm, _groups(opened, "data-part")
    round_parts = [p.name for p in opened.build.parts if isinstance(p.values, Tube | Can)]
    assert round_parts
    for name in round_parts:
        x, y = opened.build.placements[name].at
        circle = next(found[name][0].iter(f"{SVG}circle"))
        assert (float(circle.attrib["cx"]), float(circle.attrib["cy"])) == pytest.approx((width - x, y), abs=0.01)


def test_every_transformer_strip_and_panel_part_is_there_with_its_name(opened: Opened) -> None:
    parts, strips = _groups(opened, "data-part"), _groups(opened, "data-strip")
    names = {standing.part.name for standing in standing_transformers(opened.build, opened.plan)}
    names |= set(opened.hardware.panel)
    assert names <= set(parts)
    assert set(strips) == set(opened.build.strip_names)
    labels = {key.removeprefix("name ").removeprefix("strip ") for key in _groups(opened, "data-label")}
    assert names | set(opened.build.strip_names) <= labels


def test_a_screw_stands_at_the_foot_of_each_strip(opened: Opened) -> None:
    width, strips = chassis_of(opened.build).width_mm, _groups(opened, "data-strip")
    for strip in opened.build.strips:
        circles = [circle for each in strips[strip.name] for circle in each.iter(f"{SVG}circle")]
        at = sorted((float(c.attrib["cx"]), float(c.attrib["cy"])) for c in circles)
        feet = [opened.plan.terminals[f"{strip.name}.{foot}"] for foot in strip.feet]
        assert at == sorted((round(width - f.x_mm, 2), round(f.y_mm, 2)) for f in feet)


def test_the_key_of_a_socket_points_the_same_way_up_and_the_other_way_across(opened: Opened) -> None:
    found = _groups(opened, "data-part")
    for part in opened.build.parts:
        placement = opened.build.placements.get(part.name)
        if not isinstance(part.values, Tube) or placement is None:
            continue
        path = next(p for p in found[part.name][0].iter(f"{SVG}path"))
        x, y = (float(number) for number in re.findall(r"-?\d+(?:\.\d+)?", path.attrib["d"])[:2])
        middle = chassis_of(opened.build).width_mm - placement.at[0], placement.at[1]
        out = math.sin(math.radians(placement.turn)), -math.cos(math.radians(placement.turn))
        reach = math.dist((x, y), middle)
        assert (x - middle[0], y - middle[1]) == pytest.approx((-reach * out[0], reach * out[1]), abs=0.02)


def test_it_says_how_it_is_seen_and_what_it_does_not_know(opened: Opened) -> None:
    svg = top_side_svg(opened.build, opened.plan, opened.hardware)
    assert WORDS == (
        "TOP SIDE: the chassis as it stands, from above, front panel toward you. What is dashed is on the other side.",
        "A transformer is drawn about its place and its lead hole; its real size is on the part.",
    )
    assert all(words in svg for words in WORDS)
