"""Two things given one place, word for word."""

from __future__ import annotations

from pathlib import Path

import pytest

from lugwright.buildfile.build import Build
from lugwright.buildfile.read import read_text
from lugwright.layout.check_places import check_places
from lugwright.layout.hardware import hardware_for

EXAMPLES = Path(__file__).parents[3] / "examples"


def dunlin(*changes: tuple[str, str]) -> Build:
    """Return Dunlin 5 with some lines of its file changed."""
    text = (EXAMPLES / "dunlin_5.toml").read_text()
    for before, after in changes:
        assert text.count(before) == 1
        text = text.replace(before, after)
    build = read_text(text, file="amp.toml").build
    if build is None:
        pytest.fail("the changed file cannot be read")
    return build


def said(*changes: tuple[str, str]) -> list[str]:
    build = dunlin(*changes)
    return [str(finding).split(": ", 1)[1] for finding in check_places(build, hardware_for(build))]


@pytest.mark.parametrize("path", sorted(EXAMPLES.glob("*.toml")), ids=lambda path: path.stem)
def test_in_the_examples_nothing_stands_on_anything(path: Path) -> None:
    build = read_text(path.read_text()).build
    assert build is not None
    assert list(check_places(build, hardware_for(build))) == []


def test_two_sockets_in_one_hole() -> None:
    assert said(("V2 = { at = [160, 70], turn = 0 }", "V2 = { at = [90, 70], turn = 0 }")) == [
        "fault: V2 stands on V1 [places-meet]\n"
        "  found:  V1 at 85, 70 and V2 at 90, 70 mm on the plate, 5 mm apart\n"
        "  wanted: 25 mm or more\n"
        "  do:     move V2 in the build file"
    ]


def test_a_strip_across_a_socket_is_told_of_once() -> None:
    assert said(("A = { lugs = 8, foot = 4, at = [25, 112] }", "A = { lugs = 8, foot = 4, at = [60, 70] }")) == [
        "fault: strip A stands on V1 [places-meet]\n"
        "  found:  V1 at 85, 70 and strip A at 79, 70 mm on the plate, 6 mm apart\n"
        "  wanted: 14 mm or more\n"
        "  do:     move strip A in the build file"
    ]


def test_a_transformer_on_top_may_stand_over_a_strip_but_not_over_a_socket() -> None:
    assert said(("T2 = { at = [222, 70], turn = 90 }", "T2 = { at = [222, 112], turn = 90 }")) == []
    (words,) = said(("T2 = { at = [222, 70], turn = 90 }", "T2 = { at = [165, 70], turn = 90 }"))
    assert words.startswith("fault: T2 stands on V2 [places-meet]")


def test_a_pot_above_the_upper_edge_of_its_panel() -> None:
    assert said(('R9 = { panel = "front", at = [125, 27] }', 'R9 = { panel = "front", at = [125, 53] }')) == [
        "fault: R9 reaches beyond the edge of the front panel [place-beyond-edge]\n"
        "  found:  a hole of 9.5 mm, 125 mm along and 53 mm up\n"
        "  wanted: 4.75 to 325.25 mm along, 4.75 to 50.25 mm up\n"
        "  do:     move R9 in the build file, or make the chassis larger"
    ]
