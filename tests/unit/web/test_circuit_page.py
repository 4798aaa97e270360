"""The circuit page: areas to point at, and what a part or joint carries, in words."""

from __future__ import annotations

import re
import shutil
from pathlib import Path
from typing import Any

import pytest

from lugwright.web.asked.asked import NoArgs
from lugwright.web.asked.part_trials import e12_steps
from lugwright.web.asked.table import ASKED
from lugwright.web.desk import Desk, Openings

EXAMPLES = Path(__file__).parents[3] / "examples"


@pytest.fixture(scope="module")
def desk(tmp_path_factory: pytest.TempPathFactory) -> Desk:
    path = tmp_path_factory.mktemp("circuit") / "dunlin_5.toml"
    shutil.copy(EXAMPLES / path.name, path)
    return Desk(path, "", "", Openings(), lambda share, words: None)


@pytest.fixture(scope="module")
def drawings(desk: Desk) -> dict[str, Any]:
    found: dict[str, Any] = ASKED["circuit drawings"].answer(desk, NoArgs())
    return found


@pytest.fixture(scope="module")
def facts(desk: Desk) -> dict[str, Any]:
    found: dict[str, Any] = ASKED["circuit facts"].answer(desk, NoArgs())
    return found


def test_every_part_of_a_stage_can_be_pointed_at(desk: Desk, drawings: dict[str, Any]) -> None:
    svgs = "".join(figure["svg"] for stage in drawings["stages"] for figure in stage["figures"])
    pointed = set(re.findall(r'class="area part" data-part="([^"]+)"', svgs))
    assert pointed == {part.name for part in desk.opened.written.parts}


def test_joints_that_are_drawn_can_be_pointed_at_and_are_of_the_build(desk: Desk, drawings: dict[str, Any]) -> None:
    svgs = "".join(figure["svg"] for stage in drawings["stages"] for figure in stage["figures"])
    pointed = set(re.findall(r'class="area joint" data-joint="([^"]+)"', svgs))
    assert {"B+1", "ground", "V1a.plate", "V2.grid"} <= pointed
    assert pointed <= set(desk.opened.written.joints)


def test_drawings_carry_no_styles_that_a_page_of_the_bench_refuses(drawings: dict[str, Any]) -> None:
    svgs = "".join(figure["svg"] for stage in drawings["stages"] for figure in stage["figures"])
    assert " style=" not in svgs
    assert "<?xml" not in svgs


def test_facts_of_a_part_are_those_of_the_idle(desk: Desk, facts: dict[str, Any]) -> None:
    plate_load = facts["parts"]["R4"]
    idle = desk.opened.idle.parts["R4"]
    rows = dict(plate_load["idle"][0]["rows"])
    assert rows["volts across"] == f"{idle.volts:.3g} V"
    assert rows["heat"] == f"{1e3 * idle.watts:.3g} mW"
    assert any(each["what"].startswith("heat") and each["words"].endswith("%)") for each in plate_load["ratings"])


def test_a_joint_on_the_mains_is_said_to_be_deadly_and_never_given_as_volts(facts: dict[str, Any]) -> None:
    live = {name: joint for name, joint in facts["joints"].items() if joint["danger"]}
    assert live
    for joint in live.values():
        assert joint["rows"] == []
        assert joint["danger"] == (
            "On the mains, 120 V: live with the plug in, before the switch also with it off. It can kill."
        )


def test_a_knob_can_be_turned_and_a_resistor_stepped_through_preferred_values(facts: dict[str, Any]) -> None:
    tries = {each["how"]: each for name in ("R4", "R5") for each in facts["parts"][name]["tries"]}
    assert (tries["turn"]["label"], tries["turn"]["taper"], tries["turn"]["at"]) == ("Volume", "audio", 0.5)
    assert (tries["steps"]["set"], tries["steps"]["at"]) == ("R5", "1M")
    assert tries["steps"]["at"] in tries["steps"]["steps"]


@pytest.mark.parametrize(
    ("value", "kind", "ends", "count"),
    [(100e3, "ohm", ("10k", "1M"), 25), (91e3, "ohm", ("10k", "820k"), 25), (22e-9, "farad", ("2n2", "220n"), 25)],
)
def test_steps_reach_a_decade_both_ways_with_the_value_among_them(
    value: float, kind: Any, ends: tuple[str, str], count: int
) -> None:
    steps = e12_steps(value, kind)
    assert (steps[0], steps[-1]) == ends
    assert len(steps) == count
