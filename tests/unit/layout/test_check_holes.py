"""Holes of the plate that meet, and screws under a core, word for word."""

from __future__ import annotations

from pathlib import Path

import pytest

from lugwright.buildfile.read import read_text
from lugwright.layout.chassis import fixed_terminals
from lugwright.layout.check_holes import check_holes
from lugwright.layout.hardware import hardware_for
from lugwright.layout.results import Plan

EXAMPLES = Path(__file__).parents[3] / "examples"
STRIP_A = "A = { lugs = 8, foot = 4, at = [25, 112] }"
STRIP_E = "E = { lugs = 7, foot = 7, at = [195, 112] }"


def said(text: str) -> list[str]:
    build = read_text(text, "amp.toml").build
    assert build is not None
    plan = Plan(build.title, fixed_terminals(build), (), (), (), {})
    return [str(finding) for finding in check_holes(build, plan, hardware_for(build))]


def dunlin(before: str, after: str) -> str:
    text = (EXAMPLES / "dunlin_5.toml").read_text()
    assert text.count(before) == 1
    return text.replace(before, after)


@pytest.mark.parametrize("path", sorted(EXAMPLES.glob("*.toml")), ids=lambda path: path.stem)
def test_the_plates_of_the_examples_can_be_drilled(path: Path) -> None:
    assert said(path.read_text()) == []


def test_a_foot_on_the_screw_of_a_socket() -> None:
    assert said(dunlin(STRIP_A, "A = { lugs = 8, foot = 4, at = [41, 70] }")) == [
        "amp.toml:129:5: fault: the foot of strip A is drilled into a screw of V1 [holes-meet]\n"
        "  found:  2.1 mm of one in the other\n"
        "  wanted: 1.5 mm or more\n"
        "  do:     move strip A in the build file"
    ]


def test_two_sockets_in_one_hole_are_told_of_once() -> None:
    assert said(dunlin("V2 = { at = [160, 70], turn = 0 }", "V2 = { at = [90, 70], turn = 0 }")) == [
        "amp.toml:116:6: fault: the hole of V2 is drilled into the hole of V1 [holes-meet]\n"
        "  found:  20.4 mm of one in the other\n"
        "  wanted: 1.5 mm or more\n"
        "  do:     move V2 in the build file"
    ]


def test_too_little_metal_between_a_foot_and_a_grommet() -> None:
    """The leads of T2 come out 28 mm to its left, at 194, 70; 3.5 and 9.5 mm wide, the two holes want 8 mm."""
    assert said(dunlin(STRIP_E, "E = { lugs = 7, foot = 7, at = [129.5, 70] }")) == [
        "amp.toml:133:5: fault: the foot of strip E is drilled into the grommet of T2 [holes-meet]\n"
        "  found:  1.0 mm of metal between them\n"
        "  wanted: 1.5 mm or more\n"
        "  do:     move strip E in the build file"
    ]


def test_a_strip_screwed_down_under_a_transformer() -> None:
    assert said(dunlin(STRIP_E, "E = { lugs = 7, foot = 3, at = [205, 75] }")) == [
        "amp.toml:133:5: fault: the foot of strip E stands under T2 [screw-under-core]\n"
        "  found:  its screw comes out 5 mm from the middle of the core\n"
        "  wanted: 23 mm or more: outside the core\n"
        "  do:     move strip E, or its foot to another lug"
    ]
    assert said(dunlin(STRIP_E, "E = { lugs = 7, foot = 7, at = [195, 95] }")) == []
