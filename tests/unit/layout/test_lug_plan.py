"""Plans stay put, obey the rules of the trade, and say what is missing when there is none."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from lugwright.buildfile.build import Build
from lugwright.errors import PlanError
from lugwright.layout.checker import check_plan
from lugwright.layout.lug_plan import plan_lugs
from lugwright.layout.plan_file import plan_from_text, plan_to_text
from lugwright.layout.results import Plan

from .amplifier import amplifier
from .edits import moved, with_resistor, without

BUILD, VOLTS = amplifier(1)
PLAN = plan_lugs(BUILD, joint_volts=VOLTS)


def test_the_same_build_gives_the_same_bytes():
    assert plan_to_text(plan_lugs(BUILD, joint_volts=VOLTS)) == plan_to_text(PLAN)


def test_planning_again_from_the_stored_plan_changes_nothing():
    stored = plan_from_text(plan_to_text(PLAN), "amp.plan")
    assert plan_to_text(plan_lugs(BUILD, joint_volts=VOLTS, previous=stored)) == plan_to_text(PLAN)


def test_another_value_moves_nothing():
    parts = tuple(replace(p, values=replace(p.values, ohm=2.2e6)) if p.name == "R2" else p for p in BUILD.parts)
    again = plan_lugs(replace(BUILD, parts=parts), joint_volts=VOLTS, previous=PLAN)
    assert plan_to_text(again) == plan_to_text(PLAN)


def test_a_part_more_moves_no_other_and_keeps_the_wire_numbers():
    build = with_resistor(BUILD, "R77", "V1a.out", "ground")
    again = plan_lugs(build, joint_volts=VOLTS, previous=PLAN)
    assert check_plan(build, again, joint_volts=VOLTS) == []
    assert moved(PLAN, again) == set()
    old = {frozenset(w.terminals): w.number for w in PLAN.wires}
    kept = [w for w in again.wires if frozenset(w.terminals) in old]
    assert len(kept) >= len(PLAN.wires) - 2
    assert all(old[frozenset(w.terminals)] == w.number for w in kept)


def test_a_bond_wire_has_the_number_of_its_bond_and_no_other_wire_bears_a_parts_name():
    assert {w.bond: w.number for w in PLAN.wires if w.bond} == {"W1": 1, "W2": 2}
    assert sorted(w.number for w in PLAN.wires) == list(range(1, len(PLAN.wires) + 1))


def test_a_bond_added_later_takes_its_number_and_only_that_wire_is_renumbered():
    (third,) = (w for w in PLAN.wires if w.number == 3)
    parts = tuple(replace(p, name="W3") if p.name == "W1" else p for p in BUILD.parts)
    build = replace(BUILD, parts=parts)
    again = plan_lugs(build, joint_volts=VOLTS, previous=PLAN)
    numbers = {frozenset(w.terminals): w.number for w in again.wires}
    assert {w.bond: w.number for w in again.wires if w.bond} == {"W3": 3, "W2": 2}
    assert numbers[frozenset(third.terminals)] == 1
    assert [f for f in check_plan(build, again, joint_volts=VOLTS) if f.rule == "wire-name"] == []
    others = {frozenset(w.terminals): w.number for w in PLAN.wires if w.number > 3}
    assert {ends: numbers[ends] for ends in others} == others


def test_a_part_less_moves_no_other():
    joints = {j: tuple(t for t in ts if t.part != "R2") for j, ts in BUILD.joints.items()}
    build = replace(BUILD, parts=tuple(p for p in BUILD.parts if p.name != "R2"), joints=joints)
    again = plan_lugs(build, joint_volts=VOLTS, previous=PLAN)
    assert check_plan(build, again, joint_volts=VOLTS) == []
    assert moved(PLAN, again) == set()


def test_a_strip_moved_a_little_still_gives_a_valid_plan():
    strips = tuple(replace(s, at=(s.at[0] + 2.0, s.at[1])) if s.name == "B1" else s for s in BUILD.strips)
    build = replace(BUILD, strips=strips)
    again = plan_lugs(build, joint_volts=VOLTS, previous=PLAN)
    assert check_plan(build, again, joint_volts=VOLTS) == []
    assert len(moved(PLAN, again)) <= len(PLAN.seats) // 3


def test_what_was_a_foot_is_a_spare_lug_when_the_foot_has_moved():
    strip = BUILD.strips[0]
    moved = replace(strip, lugs=strip.lugs + 1, feet=(strip.lugs + 1,))
    build = replace(BUILD, strips=(moved, *BUILD.strips[1:]))
    again = plan_lugs(build, joint_volts=VOLTS, previous=PLAN)
    was_foot = again.terminals[f"{strip.name}.{strip.feet[0]}"]
    assert was_foot.kind == "lug"
    assert was_foot.joint != "chassis"
    assert check_plan(build, again, joint_volts=VOLTS) == []


@pytest.mark.usefixtures("short_search")
@settings(deadline=None, max_examples=15, suppress_health_check=list(HealthCheck), derandomize=True)
@given(st.integers(1, 3), st.integers(6, 7), st.floats(-4.0, 4.0), st.floats(-3.0, 3.0))
def test_every_generated_amplifier_is_planned_and_passes_the_check(tubes, lugs, right, front):
    build, volts = amplifier(tubes, lugs=lugs)
    strips = tuple(
        replace(s, at=(round(s.at[0] + right, 1), round(s.at[1] + (front if s.name[0] == "B" else 0.0), 1)))
        for s in build.strips
    )
    core = build.placements["T2"]  # clear of the screws, wherever the strips are moved
    clear = replace(core, at=(core.at[0] - 6.0, core.at[1]))
    build = replace(build, strips=strips, placements={**build.placements, "T2": clear})
    plan = plan_lugs(build, joint_volts=volts)
    assert check_plan(build, plan, joint_volts=volts) == []
    assert plan_from_text(plan_to_text(plan), "amp.plan") == plan


def test_grid_stoppers_sit_on_the_grid_pin():
    grid_pins = {"V1.2", "V1.7", "V90.5"}
    on_pins = {key for seat in PLAN.seats for key in seat.terminals} & grid_pins
    assert on_pins == grid_pins


def test_heaters_run_from_the_transformer_to_the_input_tube_last():
    build, volts = amplifier(2)
    plan = plan_lugs(build, joint_volts=volts)
    pairs = {w.twist for w in plan.wires if w.twist}
    assert "V90-V2 heater" in pairs
    assert "V2-V1 heater" in pairs
    assert any(twist.startswith("T1-V90") for twist in pairs)


def test_a_twisted_wire_is_cut_longer_than_its_route():
    for wire in PLAN.wires:
        route = sum(
            sum((p - q) ** 2 for p, q in zip(a, b, strict=True)) ** 0.5
            for a, b in zip(wire.route[:-1], wire.route[1:], strict=True)
        )
        assert wire.length_mm >= route * 1.05 + 9.9
        if wire.twist:
            assert wire.length_mm >= (route * 1.05 + 10.0) * 1.1


def test_no_wire_of_ground_ends_on_the_metal_except_the_bond():
    metal = {t.key for t in PLAN.terminals.values() if t.kind in ("foot", "bolt")}
    assert {w.bond for w in PLAN.wires if metal & set(w.terminals)} == {"W1", "W2"}


def test_colors_follow_the_class_and_green_yellow_is_earth_alone():
    colors = {w.kind: w.color for w in PLAN.wires if w.type != "lead"}
    assert colors["heater"] == "brown"
    assert colors["ground"] == "black"
    assert colors["mains"] == "gray"
    assert [w.bond for w in PLAN.wires if w.color == "green-yellow"] == ["W2"]


def test_too_few_lugs_are_counted():
    build = replace(BUILD, strips=(replace(BUILD.strips[0], lugs=2, feet=()),))
    with pytest.raises(PlanError) as caught:
        plan_lugs(build, joint_volts=VOLTS)
    assert caught.value.what == "too few strip lugs"
    assert caught.value.found == "3 free lugs and free pins, on 1 strips (A1 2)"
    assert caught.value.do.startswith("add a strip with ")


def test_a_part_too_long_for_any_two_points_is_named():
    long = BUILD.part("C2").values
    body = replace(long.body, length_mm=400.0)
    parts = tuple(replace(p, values=replace(long, body=body)) if p.name == "C2" else p for p in BUILD.parts)
    with pytest.raises(PlanError) as caught:
        plan_lugs(replace(BUILD, parts=parts), joint_volts=VOLTS)
    assert caught.value.what == "C2 fits between no two points"
    assert "404 to 432 mm" in caught.value.wanted


@pytest.mark.usefixtures("short_search")
def test_a_plan_that_cannot_be_finished_names_parts_and_strips():
    build = replace(BUILD, strips=tuple(replace(s, lugs=4, feet=()) for s in BUILD.strips if s.name in ("A1", "B3")))
    with pytest.raises(PlanError) as caught:
        plan_lugs(build, joint_volts=VOLTS)
    assert caught.value.what == "no whole plan found"
    assert caught.value.found.startswith("no seat for R")
    assert caught.value.do.startswith("make strip A1 or B3 longer, or stand a strip of ")


def plan_or_none(build: Build, volts: dict[str, float]) -> Plan | None:
    """Return the plan, None when it was refused; anything but PlanError is a failure."""
    try:
        return plan_lugs(build, joint_volts=volts)
    except PlanError:
        return None


@pytest.mark.usefixtures("short_search")
@settings(deadline=None, max_examples=14, suppress_health_check=list(HealthCheck), derandomize=True)
@given(st.data())
def test_any_half_finished_build_is_planned_or_refused_in_words(data):
    """Parts, strips and buses left out: the plan passes the check, but for bonds that are not there."""
    old_style = data.draw(st.booleans())
    build, volts = amplifier(1, old_style=old_style)
    build = without(build, data.draw(st.sets(st.sampled_from([p.name for p in build.parts]), max_size=5)))
    gone = data.draw(st.sets(st.sampled_from([s.name for s in build.strips]), max_size=2))
    build = replace(build, strips=tuple(s for s in build.strips if s.name not in gone))
    build = replace(build, buses=() if data.draw(st.booleans()) else build.buses)
    plan = plan_or_none(build, volts)
    if plan is None:
        return
    rules = {f.rule for f in check_plan(build, plan, joint_volts=volts)}
    assert rules <= {"no-earth-wire", "ground-floats"}
    assert plan_lugs(build, joint_volts=volts, previous=plan) == plan


def test_a_strip_outside_the_chassis_is_named():
    strips = tuple(replace(s, at=(2000.0, 80.0)) if s.name == "B1" else s for s in BUILD.strips)
    with pytest.raises(PlanError) as caught:
        plan_lugs(replace(BUILD, strips=strips), joint_volts=VOLTS)
    assert caught.value.what == "B1 stands outside the chassis"
    assert caught.value.found == "strip B1 lug 1 at x 2000, y 80 mm"


def test_a_build_without_chassis_is_refused():
    with pytest.raises(PlanError, match="no chassis to plan on"):
        plan_lugs(replace(BUILD, chassis=None), joint_volts=VOLTS)
