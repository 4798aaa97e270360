"""A star: every return has its own wire there, in stage order; what the build file says of it."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import pytest

from lugwright.buildfile.build import GROUND, Star
from lugwright.buildfile.read import read_text
from lugwright.layout.chassis import fixed_terminals
from lugwright.layout.checker import check_plan
from lugwright.layout.explain_results import WorstPlace
from lugwright.layout.lug_plan import plan_lugs
from lugwright.layout.results import Plan
from lugwright.layout.rules.case import case_of
from lugwright.layout.rules.star_returns import star_returns
from lugwright.workorder.mechanical import mounting_cards

from .amplifier import amplifier

BUS_BUILD, VOLTS = amplifier(1)
STAR = Star("ground", GROUND, (150.0, 138.0), 14, 12.0)
BUILD = replace(BUS_BUILD, buses=(), stars=(STAR,))
DUNLIN = (Path(__file__).parents[3] / "examples/dunlin_5.toml").read_text()


@pytest.fixture(scope="module")
def plan() -> Plan:
    return plan_lugs(BUILD, joint_volts=VOLTS)


def test_a_star_has_its_lugs_in_a_ring_from_the_rear_clockwise() -> None:
    lugs = [t for t in fixed_terminals(BUILD).values() if t.owner == "ground"]
    assert len(lugs) == 14
    assert all(math.dist((t.x_mm, t.y_mm), STAR.at) == pytest.approx(10.0, abs=0.1) for t in lugs)
    assert (lugs[0].x_mm, lugs[0].y_mm, lugs[0].label) == (150.0, 128.0, "star ground lug 1")
    assert lugs[1].x_mm > 150.0


def test_a_plan_with_a_star_passes_the_checker_and_every_return_has_its_own_wire(plan: Plan) -> None:
    assert check_plan(BUILD, plan, joint_volts=VOLTS) == []
    answer = star_returns(case_of(BUILD, plan, VOLTS))
    assert answer.findings == ()
    count = sum(1 for w in plan.wires if w.joint == GROUND and not w.bond)
    assert answer.worst == WorstPlace(
        "star-returns", "returns without a wire of their own", "ground", f"{count} wires, each to the star", "none",
        met=True,
    )  # fmt: skip
    for wire in plan.wires:
        ends = [plan.terminals[key] for key in wire.terminals]
        if wire.joint == GROUND and not wire.bond and len({t.owner for t in ends}) == 2:
            assert "ground" in {t.owner for t in ends} or "exit" in {t.kind for t in ends}


def test_returns_stand_around_the_ring_in_stage_order(plan: Plan) -> None:
    stage = {name: index for index, s in enumerate(BUILD.stages) for name in s.parts}
    landed = []
    for wire in plan.wires:
        one, two = (plan.terminals[key] for key in wire.terminals)
        if wire.joint == GROUND and two.owner == "ground" and one.owner in stage and one.kind in ("jack", "pot"):
            landed.append((stage[one.owner], int(two.key.split(".")[1])))
    assert len(landed) >= 3
    assert [lug for _, lug in sorted(landed)] == sorted(lug for _, lug in landed)


def test_a_return_that_shares_a_wire_is_named_in_these_words(plan: Plan) -> None:
    wire = next(w for w in plan.wires if w.joint == GROUND and plan.terminals[w.terminals[0]].kind == "pot")
    other = next(t for t in plan.terminals.values() if t.kind == "jack" and t.joint == GROUND)
    shared = replace(wire, terminals=(wire.terminals[0], other.key))
    wires = tuple(shared if w is wire else w for w in plan.wires)
    (finding,) = star_returns(case_of(BUILD, replace(plan, wires=wires), VOLTS)).findings
    label = plan.terminals[wire.terminals[0]].label
    assert finding.what == f"{label} and {other.label} share their way to star ground"
    assert (finding.found, finding.wanted) == (f"W{wire.number}", "a wire to the star from each")
    assert finding.do == "give the star more lugs"


def test_a_star_too_small_leaves_the_returns_as_they_were_searched() -> None:
    build = replace(BUILD, stars=(replace(STAR, lugs=4),))
    plan = plan_lugs(build, joint_volts=VOLTS)
    assert check_plan(build, plan, joint_volts=VOLTS) == []
    assert star_returns(case_of(build, plan, VOLTS)).findings


def test_the_star_is_mounted_on_a_card() -> None:
    (card,) = [card for card in mounting_cards(BUILD) if card.title == "Mount: Stars"]
    assert card.text == (
        "Star ground: 14 solder lugs in a ring about one screw at x 150, y 138 mm, lug 1 to the rear, counted "
        "clockwise, 12 mm above the plate on insulating washers. Ohmmeter from its lugs to the metal: over range.",
    )


def test_a_star_is_read_and_stands_in_place_of_the_bus() -> None:
    head, _, rest = DUNLIN.partition("[bus]\n")
    text = f"{head}[star]\nground = {{ at = [150, 100], lugs = 12 }}\n"
    assert rest
    result = read_text(text, "amp.toml")
    assert [str(f) for f in result.findings] == []
    assert result.build is not None
    (star,) = result.build.stars
    assert (star.name, star.joint, star.at, star.lugs, star.height_mm) == ("ground", "ground", (150.0, 100.0), 12, 12.0)
    assert result.build.left_open.buses == ()


def test_a_star_and_a_bus_for_one_joint_are_refused() -> None:
    (finding,) = read_text(DUNLIN + "\n[star]\nground = { at = [150, 100] }\n", "amp.toml").findings
    assert (finding.rule, finding.what) == ("bad-value", "ground has a star and a bus, or two stars")
    assert (finding.found, finding.wanted) == ("star ground", "one place where its returns meet")
    assert finding.do == "take the star out, or the bus"
