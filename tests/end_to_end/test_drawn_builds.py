"""Whole build files drawn with a seed: read, planned, checked, and wired card by card.

`benchmarks/bench_generated.py` does the same for hundreds of them, up to 250 parts.
"""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from lugwright.buildfile.build import Resistor, Tube
from lugwright.buildfile.read import read_text
from lugwright.findings import Grade
from lugwright.layout.chassis import fixed_terminals
from lugwright.layout.check_places import check_places
from lugwright.layout.hardware import hardware_for
from lugwright.layout.plan_file import plan_to_text
from lugwright.workflow import open_build
from lugwright.workflow.opened import Opened

from ..generated.amplifiers import LEAST_PARTS, MOST_PARTS, MOST_TUBES, build_text
from ..generated.metal import free_lugs_wanted
from ..unit.workorder.obey import check_joints, check_solder

SMALL = (0, 1, 12, 13, 24, 25, 396)  # 21 to 60 parts: jack to speaker, line stages, one pentode
LARGER = (3,)  # 70 parts, four tubes


@pytest.fixture(scope="module", params=[*SMALL, *LARGER])
def opened(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Opened:
    path = tmp_path_factory.mktemp("drawn") / "drawn.toml"
    path.write_text(build_text(request.param), encoding="utf-8")
    return open_build(path)


@pytest.mark.parametrize("seed", range(24))
def test_a_drawn_build_is_a_sensible_one(seed: int) -> None:
    result = read_text(build_text(seed))
    build = result.build
    assert build is not None
    assert [f.rule for f in result.findings if f.rule != "no-speaker"] == []
    assert LEAST_PARTS <= len(build.parts) <= MOST_PARTS
    assert sum(isinstance(part.values, Tube) for part in build.parts) == 1 + seed % MOST_TUBES
    hardware = hardware_for(build)
    assert list(check_places(build, hardware)) == []
    chassis = build.chassis
    assert chassis is not None
    terminals = fixed_terminals(build, hardware).values()
    assert all(0 <= t.x_mm <= chassis.width_mm and 0 <= t.y_mm <= chassis.depth_mm for t in terminals)


def test_the_same_number_draws_the_same_text_and_another_draws_another() -> None:
    assert build_text(7) == build_text(7)
    assert len({build_text(seed) for seed in range(0, 60, 12)}) == 5


@pytest.mark.parametrize(("parts", "lugs"), [(12, 14), (25, 22), (112, 79), (256, 172), (1000, 671)])
def test_free_lugs_follow_the_table_and_a_tenth_more(parts: int, lugs: int) -> None:
    assert free_lugs_wanted(parts) == lugs


def test_a_drawn_amplifier_of_given_size_has_that_size() -> None:
    build = read_text(build_text(3, tubes=6, parts=130)).build
    assert build is not None
    assert 125 <= len(build.parts) <= 132
    assert any(isinstance(part.values, Resistor) for part in build.parts)


def test_its_plan_passes_the_independent_check(opened: Opened) -> None:
    assert [f.rule for f in opened.plan_findings if f.grade in (Grade.DANGER, Grade.FAULT)] == []
    assert len(opened.plan.spare_lugs) >= 2


def test_its_cards_obeyed_build_its_circuit(opened: Opened) -> None:
    check_joints(opened.build, opened.plan, opened.work_order)
    check_solder(opened.build, opened.plan, opened.work_order)


ANOTHER_PROCESS = """
import sys
from lugwright.layout.plan_file import plan_to_text
from lugwright.workflow import open_build
sys.stdout.write(plan_to_text(open_build(sys.argv[1]).plan))
"""


def test_another_process_with_another_hash_seed_makes_the_same_plan(tmp_path: Path) -> None:
    path = tmp_path / "drawn.toml"
    path.write_text(build_text(396), encoding="utf-8")
    here = plan_to_text(open_build(path).plan)
    elsewhere = tmp_path / "elsewhere" / "drawn.toml"
    elsewhere.parent.mkdir()
    elsewhere.write_text(path.read_text(encoding="utf-8"), encoding="utf-8")
    for seed in ("1", "4242"):
        made = subprocess.run(
            [sys.executable, "-c", ANOTHER_PROCESS, str(elsewhere)],
            env=os.environ | {"PYTHONHASHSEED": seed}, capture_output=True, text=True, check=True,
        )  # fmt: skip
        assert made.stdout == here
    assert plan_to_text(open_build(path).plan) == here
