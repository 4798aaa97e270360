"""Loose ends beside a part that cannot be read: found where they are sure, never where that part may end."""

from __future__ import annotations

import copy
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from lugwright.buildfile.assemble import assemble
from lugwright.buildfile.mistakes import Mistakes
from lugwright.buildfile.read import read_text
from lugwright.buildfile.ready_made.maker import DESIGNATOR
from lugwright.findings import Finding

EXAMPLES = sorted((Path(__file__).parents[3] / "examples").glob("*.toml"))
DUNLIN = next(path for path in EXAMPLES if path.stem == "dunlin_5").read_text(encoding="utf-8")


def assembled(data: dict[str, Any]) -> list[Finding]:
    mistakes = Mistakes("build.toml", [], {})
    assemble(data, mistakes)
    return mistakes.findings


def each_part_torn(data: dict[str, Any]) -> Iterator[tuple[str, dict[str, Any]]]:
    for tube in data["tubes"]:
        torn = copy.deepcopy(data)
        torn["tubes"][tube] = "12ZZ99"
        yield tube, torn
    for name, stage in data["stage"].items():
        for part in filter(DESIGNATOR.fullmatch, stage):
            torn = copy.deepcopy(data)
            torn["stage"][name][part]["kind"] = "gizmo"
            yield part, torn


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_whichever_part_cannot_be_read_no_sound_end_is_called_loose(path: Path) -> None:
    for part, data in each_part_torn(tomllib.loads(path.read_text(encoding="utf-8"))):
        found = assembled(data)
        assert any(f.part == part for f in found)
        assert [str(f) for f in found if f.rule in ("joint-used-once", "unused-electrode")] == [], part


def said(text: str) -> list[tuple[str, str, str]]:
    rules = ("joint-used-once", "bad-value", "not-toml")
    return [(f.rule, f.part, f.found) for f in read_text(text).findings if f.rule in rules]


def test_a_wrong_value_hides_no_wrong_joint_in_the_same_line() -> None:
    text = DUNLIN.replace(
        'R4 = { value = "1k5", ends = ["V1a.cathode", "ground"] }',
        'R4 = { value = "1q5", ends = ["V1a.cathode", "grund"] }',
    )
    assert said(text) == [("bad-value", "R4", 'value = "1q5"'), ("joint-used-once", "R4", "grund")]


def test_a_wrong_value_hides_no_loose_end_of_another_part() -> None:
    text = DUNLIN.replace('R4 = { value = "1k5"', 'R4 = { value = "1q5"').replace('"V2.grid"] }', '"V2.gird"] }')
    text = text.replace('C3 = { value = "22n", volts = 630, ends = ["V1b.plate", "drive"] }',
                        'C3 = { value = "22n", volts = 630, ends = ["V1b.plate", "drove"] }')  # fmt: skip
    found = said(text)
    assert ("joint-used-once", "C3", "drove") in found
    assert not any(what == "drive" for _, _, what in found)


def test_where_a_whole_stage_is_missing_no_end_is_called_loose() -> None:
    text = DUNLIN.replace("[stage.second]", "[stag.second]")
    assert [found for found in said(text) if found[0] == "joint-used-once"] == []


@pytest.mark.parametrize("ends", ['["V1a.plate"]', '["V1a.plate", 7]', '"R5.3"', '["V1a.plate", "R5.3\\u0007"]'])
def test_a_part_that_does_not_say_where_it_ends_makes_no_other_end_loose(ends: str) -> None:
    text = DUNLIN.replace('ends = ["V1b.plate", "drive"] }', f"ends = {ends} }}").replace(
        '"drive", "R9.3"', '"drove", "R9.3"'
    )
    assert [found for found in said(text) if found[0] == "joint-used-once"] == []
