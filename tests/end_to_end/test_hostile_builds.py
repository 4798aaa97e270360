"""Chassis no amplifier can be planned on, each answered in these words, soon, and nothing written before is lost."""

from __future__ import annotations

import time
from pathlib import Path

import pytest
from click.testing import CliRunner

from lugwright.buildfile.read import read_text
from lugwright.cli.app import app
from lugwright.errors import PlanError
from lugwright.layout.chassis import fixed_terminals
from lugwright.layout.checker import check_plan
from lugwright.layout.results import Plan
from lugwright.workflow import open_build
from lugwright.workflow.opened import Opened

DUNLIN = (Path(__file__).parents[2] / "examples" / "dunlin_5.toml").read_text(encoding="utf-8")
INSIDE, STRIP_A = "inside = [330, 150, 55]", "A = { lugs = 8, foot = 4, at = [25, 112] }"
FOOT, PLACE_WORDS = "the foot of strip A", "mm: x and y on the plate; along and height on a panel"
LUG_WORDS = "how many, feet included (left out with at: as many as needed)"
AT_WORDS = "mm, center of lug 1 (left out: the program places the strip)"
SOON_S = 5.0


def changed(before: str, after: str) -> str:
    assert DUNLIN.count(before) == 1
    return DUNLIN.replace(before, after)


def with_parts(lines: list[str]) -> str:
    stage = '[stage.many]\ntitle = "Many"\nduty = "gain"\n' + "\n".join(lines)
    return changed("[stage.output]\n", f"{stage}\n\n[stage.output]\n")


CROWD = [f'R{1000 + k} = {{ value = "1M", ends = ["drive", "ground"] }}' for k in range(60)]
LADDER = [f'R{1000 + k} = {{ value = "1M", ends = ["m{k}", "m{k + 1}"] }}' for k in range(2000)]
LADDER += ['R998 = { value = "1M", ends = ["m0", "drive"] }', 'R999 = { value = "1M", ends = ["m2000", "ground"] }']

REFUSED = {
    "a chassis too small": (
        changed(INSIDE, "inside = [100, 60, 55]"),
        "V1 stands outside the chassis",
        "V1 pin 1 at x 82, y 75 mm",
        "x 0 to 100, y 0 to 60 mm",
        "move or turn V1 in the build file, or make the chassis larger",
    ),
    "a chassis too flat": (
        changed(INSIDE, "inside = [330, 150, 12]"),
        "the chassis is too flat for R1",
        "12 mm high inside",
        "15 mm or more: its lugs, its body of 2.8 mm, and air above",
        "make the chassis higher",
    ),
    "a strip outside": (
        changed(STRIP_A, "A = { lugs = 8, foot = 4, at = [2500, 112] }"),
        "A stands outside the chassis",
        "strip A lug 1 at x 2500, y 112 mm",
        "x 0 to 330, y 0 to 150 mm",
        "move or turn A in the build file, or make the chassis larger",
    ),
    "sixty leads at one joint": (
        with_parts(CROWD),
        "too few strip lugs",
        "33 free lugs and free pins, on 5 strips (A 7, B 7, C 6, D 6, E 6)",
        "at least 40: one for every joint whose parts have no pin, pot lug or bus to go to, 31 of them for drive with "
        "its 64 leads; about 69 are usual for 86 parts",
        "add a strip with 36 more free lugs, or make strips longer",
    ),
    "pins that contradict the circuit": (
        DUNLIN + '\n[plan.between]\nR3 = ["A.1", "V1.3"]\n',
        "R3 cannot hang between strip A lug 1 and V1 pin 3 ([plan.between], line 138)",
        "V1 pin 3 carries V1a.cathode",
        "one end on B+3, the other on V1a.plate, or free lugs",
        "choose two terminals of its joints, or free lugs",
    ),
}


def opened(text: str, folder: Path) -> Opened:
    path = folder / "amp.toml"
    path.write_text(text, encoding="utf-8")
    return open_build(path)


def said(error: PlanError) -> tuple[str, str, str, str]:
    """Return the four lines, without what was tried to help."""
    return error.what, error.found, error.wanted, error.do.split(" (")[0]


@pytest.mark.parametrize("name", REFUSED)
def test_what_cannot_be_planned_is_refused_in_words_and_soon(name: str, tmp_path: Path) -> None:
    text, *words = REFUSED[name]
    build = opened(text, tmp_path)
    _ = build.joint_volts
    started = time.process_time()
    with pytest.raises(PlanError) as caught:
        _ = build.plan
    assert time.process_time() - started < SOON_S
    assert said(caught.value) == tuple(words)


@pytest.mark.parametrize(
    ("before", "after", "found"),
    [
        (STRIP_A, STRIP_A.replace("lugs = 8", "lugs = 1000"), f"a number not above 30: {LUG_WORDS}"),
        (STRIP_A, STRIP_A.replace("lugs = 8, foot = 4", "lugs = 0"), f"a number not below 1: {LUG_WORDS}"),
        (STRIP_A, STRIP_A.replace("[25,", "[nan,"), f"a finite number: {AT_WORDS}"),
        ("V2 = { at = [160,", "V2 = { at = [inf,", f"a finite number: {PLACE_WORDS}"),
        (INSIDE, "inside = [-330, 150, 55]", "a number above 0: width, depth, height in mm"),
        (INSIDE, "inside = [330, 1e9, 55]", "a number not above 1e+06: width, depth, height in mm"),
    ],
)  # fmt: skip
def test_numbers_no_chassis_can_have(before: str, after: str, found: str) -> None:
    assert found in [finding.wanted for finding in read_text(changed(before, after)).findings]


@pytest.mark.parametrize(
    ("before", "after", "first_line"),
    [
        (STRIP_A, STRIP_A.replace("[25, 112]", "[108, 112]"), "strip B stands on strip A [places-meet]"),
        (STRIP_A, STRIP_A.replace("[25, 112]", "[60, 70]"), "strip A stands on V1 [places-meet]"),
        (STRIP_A, STRIP_A.replace("[25, 112]", "[41, 70]"), f"{FOOT} is drilled into a screw of V1 [holes-meet]"),
        (STRIP_A, STRIP_A.replace("[25, 112]", "[190, 80]"), f"{FOOT} stands under T2 [screw-under-core]"),
        ("V2 = { at = [160, 70]", "V2 = { at = [86, 70]", "V2 stands on V1 [places-meet]"),
        ('at = [125, 27] }', 'at = [76, 27] }', "R9 stands on R5 [places-meet]"),
        ("C6 = { at = [229, 28] }", "C6 = { at = [160, 80] }", "C6 stands on V2 [places-meet]"),
    ],
)  # fmt: skip
def test_things_that_stand_on_things_are_told_of(before: str, after: str, first_line: str, tmp_path: Path) -> None:
    build = opened(changed(before, after), tmp_path)
    standing = Plan("Dunlin 5", fixed_terminals(build.build), (), (), (), {})
    findings = check_plan(build.build, standing, joint_volts={}, hardware=build.hardware)
    lines = [str(finding).splitlines()[0] for finding in findings]
    assert any(line.startswith("amp.toml:") and line.endswith(f"fault: {first_line}") for line in lines), lines


def test_two_thousand_parts_are_refused_within_a_minute(tmp_path: Path) -> None:
    build = opened(with_parts(LADDER), tmp_path)
    assert len(build.build.parts) > 2000
    started = time.process_time()
    _ = build.joint_volts
    with pytest.raises(PlanError) as caught:
        _ = build.plan
    assert time.process_time() - started < 60.0
    assert said(caught.value) == (
        "too many parts to plan",
        "2026 parts held by their leads",
        "500 or fewer on one chassis",
        "divide the build over several chassis, each with a build file of its own",
    )


def test_a_plan_that_fails_leaves_the_plan_before_as_it_was(tmp_path: Path) -> None:
    path = tmp_path / "amp.toml"
    path.write_text(DUNLIN, encoding="utf-8")
    run = CliRunner().invoke(app, ["plan", str(path)])
    assert run.exit_code == 0, run.output
    kept = (tmp_path / "amp.plan.json").read_bytes()
    for text in (*(row[0] for row in REFUSED.values()), with_parts(LADDER), "not a build file"):
        path.write_text(text, encoding="utf-8")
        run = CliRunner().invoke(app, ["plan", str(path)])
        assert run.exit_code != 0
        assert (tmp_path / "amp.plan.json").read_bytes() == kept
        assert sorted(p.name for p in tmp_path.iterdir()) == ["amp.plan.json", "amp.toml"]
    path.write_text(DUNLIN, encoding="utf-8")
    assert CliRunner().invoke(app, ["plan", str(path)]).exit_code == 0
    assert (tmp_path / "amp.plan.json").read_bytes() == kept
