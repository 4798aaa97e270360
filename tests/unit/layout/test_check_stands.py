"""Terminals that stand elsewhere than their parts, word for word; on every panel the lugs are where they are seen."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from lugwright.buildfile.build import Build
from lugwright.buildfile.read import read_text
from lugwright.layout.chassis import fixed_terminals
from lugwright.layout.check_stands import check_stands
from lugwright.layout.hardware import hardware_for
from lugwright.layout.results import Plan

EXAMPLES = Path(__file__).parents[3] / "examples"
PANELS = {
    "front": 'R9 = { panel = "front", at = [125, 27] }',
    "rear": 'R9 = { panel = "rear", at = [125, 27] }',
    "left": 'R9 = { panel = "left", at = [75, 27] }',
    "right": 'R9 = { panel = "right", at = [75, 27] }',
}
# On a chassis of 330 x 150: lug 1 of a pot is 7.5 mm to the left of its shaft, seen from inside, 9 mm in, 15 mm up.
FIRST_LUG = {"front": (132.5, 141.0), "rear": (117.5, 9.0), "left": (9.0, 82.5), "right": (321.0, 67.5)}


def dunlin(panel: str = "front") -> Build:
    text = (EXAMPLES / "dunlin_5.toml").read_text()
    assert text.count(PANELS["front"]) == 1
    build = read_text(text.replace(PANELS["front"], PANELS[panel])).build
    assert build is not None
    return build


def said(build: Build, key: str = "", **moved: float) -> list[str]:
    terminals = fixed_terminals(build)
    if key:
        changed = {name: getattr(terminals[key], name) + by for name, by in moved.items()}
        terminals[key] = replace(terminals[key], **changed)
    plan = Plan(build.title, terminals, (), (), (), {})
    return [str(finding) for finding in check_stands(build, plan, hardware_for(build))]


@pytest.mark.parametrize("path", sorted(EXAMPLES.glob("*.toml")), ids=lambda path: path.stem)
def test_in_the_examples_everything_stands_where_it_should(path: Path) -> None:
    build = read_text(path.read_text()).build
    assert build is not None
    assert said(build) == []


@pytest.mark.parametrize("panel", PANELS)
def test_a_pot_on_any_panel_has_its_first_lug_on_the_left_seen_from_inside(panel: str) -> None:
    build = dunlin(panel)
    lug = fixed_terminals(build)["R9.1"]
    assert (lug.x_mm, lug.y_mm, lug.z_mm) == (*FIRST_LUG[panel], 42.0)
    assert said(build) == []
    assert len(said(build, "R9.1", x_mm=1.0)) == 1


def test_a_pot_lug_elsewhere() -> None:
    assert said(dunlin(), "R9.1", x_mm=4.0) == [
        "fault: R9.1 stands elsewhere in the build [terminal-place]\n"
        "  found:  at 136.5, 141.0 mm, 42.0 mm high\n"
        "  wanted: at 132.5, 141.0 mm, 42.0 mm high\n"
        "  do:     plan again: the build file has changed"
    ]


@pytest.mark.parametrize(
    ("key", "moved", "found", "wanted"),
    [
        ("A.1", {"z_mm": 2.0}, "at 25.0, 112.0 mm, 13.0 mm high", "at 25.0, 112.0 mm, 11.0 mm high"),
        ("V1.5", {"z_mm": -1.0}, "at 85.0, 64.1 mm, 9.0 mm high", "at 85.0, 64.1 mm, 10.0 mm high"),
        ("ground.1", {"y_mm": 3.0}, "at 25.0, 97.0 mm, 14.0 mm high", "at 25.0, 94.0 mm, 14.0 mm high"),
        ("C6.a", {"y_mm": -20.0}, "at 229.0, 0.0 mm, 9.0 mm high", "at 229.0, 10.5 mm, 9.0 mm high"),
    ],
)
def test_lugs_pins_buses_and_cans_elsewhere(key: str, moved: dict[str, float], found: str, wanted: str) -> None:
    assert said(dunlin(), key, **moved) == [
        f"fault: {key} stands elsewhere in the build [terminal-place]\n"
        f"  found:  {found}\n"
        f"  wanted: {wanted}\n"
        "  do:     plan again: the build file has changed"
    ]


def test_a_transformer_lead_far_from_its_core() -> None:
    assert len(said(dunlin(), "T1.hv.1", x_mm=-60.0)) == 1
