"""What the builder asks of the plan is read with its names made the plan's own."""

from __future__ import annotations

from pathlib import Path

import pytest

from lugwright.buildfile.build import Build, Wishes
from lugwright.buildfile.read import read_text
from lugwright.findings import Place

DUNLIN = (Path(__file__).parents[3] / "examples/dunlin_5.toml").read_text()
LINES = DUNLIN.count("\n")


def read(plan: str) -> Build:
    """Return the demo build with these wishes."""
    result = read_text(DUNLIN + plan, "amp.toml")
    assert [str(f) for f in result.findings] == []
    assert result.build is not None
    return result.build


def test_a_build_without_wishes_has_none() -> None:
    wishes = read("").wishes
    assert wishes == Wishes()
    assert not wishes


def test_an_electrode_stands_for_its_pin_and_european_names_are_ours() -> None:
    wishes = read('[plan.between]\nR3 = ["A.2", "V1a.anode"]\n[plan.keep_off]\n"V1a.anode" = "B"\n').wishes
    assert wishes.between == {"R3": ("A.2", "V1.1")}
    assert wishes.keep_off == {"V1a.plate": ("B",)}
    assert wishes


@pytest.mark.parametrize("given", ['"C.2"', '["C.2"]', '["C.2", "C.2"]'])
def test_one_lug_may_stand_alone_or_in_a_list(given: str) -> None:
    assert read(f'[plan.on]\n"HT3" = {given}\n').wishes.on == {"B+3": ("C.2",)}


def test_a_joint_goes_by_any_of_its_names() -> None:
    assert read('[plan.on]\n"C2.1" = "C.2"\n').wishes.on == {"V1a.plate": ("C.2",)}


def test_a_part_and_a_joint_keep_off_strips() -> None:
    wishes = read('[plan.keep_off]\nR3 = ["A", "B"]\ndrive = ["E", "E"]\n').wishes
    assert wishes.keep_off == {"R3": ("A", "B"), "drive": ("E",)}


def test_dislikes_are_factors() -> None:
    assert read("[plan.dislike]\ncrossings = 3\nheat = 0.5\n").wishes.weights == {"crossings": 3.0, "heat": 0.5}


def test_every_wish_knows_its_place() -> None:
    wishes = read('[plan.between]\nR3 = ["A.2", "V1.1"]\n[plan.keep_off]\n"V1a.anode" = "B"\n').wishes
    assert wishes.places == {
        "between R3": Place("amp.toml", LINES + 2, 6),
        "keep_off V1a.plate": Place("amp.toml", LINES + 4, 15),
    }


def test_parts_that_could_not_be_read_are_told_of_once() -> None:
    text = DUNLIN.replace('R3 = { value = "100k", watts = 1,', 'R3 = { value = "100 bars", watts = 1,')
    plan = '[plan.between]\nR3 = ["A.2", "V1.1"]\n[plan.keep_off]\nR3 = "A"\n'
    findings = read_text(text + plan, "amp.toml").findings
    assert [f.rule for f in findings if f.grade.value != "note"] == ["bad-value"]
