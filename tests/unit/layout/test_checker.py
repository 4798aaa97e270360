"""Any plan the planner makes passes; any plan broken on purpose does not."""

from __future__ import annotations

import functools
from collections.abc import Callable
from dataclasses import replace

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from lugwright.buildfile.build import Bond, Build
from lugwright.findings import Finding, Grade
from lugwright.layout.checker import check_plan
from lugwright.layout.lug_plan import plan_lugs
from lugwright.layout.results import Plan, SeatedPart

from .amplifier import amplifier

QUIET = settings(deadline=None, max_examples=50, suppress_health_check=list(HealthCheck), derandomize=True)


@functools.cache
def planned(tubes: int) -> tuple[Build, dict[str, float], Plan]:
    build, volts = amplifier(tubes)
    return build, volts, plan_lugs(build, joint_volts=volts)


def found(plan: Plan, tubes: int = 1) -> list[Finding]:
    build, volts, _ = planned(tubes)
    return check_plan(build, plan, joint_volts=volts)


def with_seat(plan: Plan, index: int, seat: SeatedPart) -> Plan:
    return replace(plan, seats=(*plan.seats[:index], seat, *plan.seats[index + 1 :]))


@pytest.mark.parametrize("tubes", [1, 2, 3])
def test_a_plan_of_the_planner_passes(tubes):
    assert found(planned(tubes)[2], tubes) == []


@pytest.mark.parametrize("tubes", [1, 2])
def test_an_old_style_supply_with_can_choke_and_rectifier_tube_passes(tubes):
    build, volts = amplifier(tubes, old_style=True)
    plan = plan_lugs(build, joint_volts=volts)
    assert check_plan(build, plan, joint_volts=volts) == []
    mains = {wire.type for wire in plan.wires if wire.kind == "mains"}
    assert mains == {"18 AWG mains 600 V", "lead"}


@QUIET
@given(st.data())
def test_moving_a_lead_to_another_joint_is_found(data):
    plan = planned(1)[2]
    index = data.draw(st.integers(0, len(plan.seats) - 1))
    side = data.draw(st.integers(0, 1))
    seat = plan.seats[index]
    here = plan.terminals[seat.terminals[side]]
    others = [t.key for t in plan.terminals.values() if t.joint != here.joint and t.key not in seat.terminals]
    key = data.draw(st.sampled_from(others))
    ends = (key, seat.terminals[1]) if side == 0 else (seat.terminals[0], key)
    rules = {f.rule for f in found(with_seat(plan, index, replace(seat, terminals=ends)))}
    assert rules & {"joints-shorted", "joint-open", "lug-label", "spare-lug-used"}


@QUIET
@given(st.data())
def test_leaving_out_any_wire_is_found(data):
    plan = planned(1)[2]
    index = data.draw(st.integers(0, len(plan.wires) - 1))
    broken = replace(plan, wires=plan.wires[:index] + plan.wires[index + 1 :])
    assert {f.rule for f in found(broken)} & {"joint-open", "bond-wire"}


@QUIET
@given(st.data())
def test_turning_any_part_round_is_found(data):
    plan = planned(1)[2]
    index = data.draw(st.integers(0, len(plan.seats) - 1))
    seat = plan.seats[index]
    turned = replace(seat, terminals=seat.terminals[::-1])
    assert {f.rule for f in found(with_seat(plan, index, turned))} & {"joints-shorted", "joint-open"}


@QUIET
@given(st.data())
def test_a_wire_too_many_between_two_joints_is_found(data):
    plan = planned(1)[2]
    keys = [t.key for t in plan.terminals.values() if t.joint]
    first, second = data.draw(st.sampled_from(keys)), data.draw(st.sampled_from(keys))
    if plan.terminals[first].joint == plan.terminals[second].joint:
        return
    wire = plan.wires[0]
    a, b = plan.terminals[first], plan.terminals[second]
    route = ((a.x_mm, a.y_mm, a.z_mm), (b.x_mm, b.y_mm, b.z_mm))
    extra = replace(wire, number=999, terminals=(first, second), route=route, length_mm=900.0, twist="", bond="")
    assert "joints-shorted" in {f.rule for f in found(replace(plan, wires=(*plan.wires, extra)))}


@QUIET
@given(st.data())
def test_a_part_left_out_or_seated_twice_is_found(data):
    plan = planned(1)[2]
    index = data.draw(st.integers(0, len(plan.seats) - 1))
    without = replace(plan, seats=plan.seats[:index] + plan.seats[index + 1 :])
    twice = replace(plan, seats=(*plan.seats, plan.seats[index]))
    assert "part-seat" in {f.rule for f in found(without)}
    assert "part-seat" in {f.rule for f in found(twice)}


def _shorter(plan: Plan) -> Plan:
    return replace(plan, wires=(replace(plan.wires[0], length_mm=1.0), *plan.wires[1:]))


def _no_twist(plan: Plan) -> Plan:
    return replace(plan, wires=tuple(replace(w, twist="") for w in plan.wires))


def _half_twist(plan: Plan) -> Plan:
    first = next(w for w in plan.wires if w.twist)
    return replace(plan, wires=tuple(replace(w, twist="") if w is first else w for w in plan.wires))


def _bare(plan: Plan) -> Plan:
    return replace(
        plan,
        wires=tuple(
            replace(w, type="14 AWG bare") if w.kind == "mains" and w.type != "lead" else w for w in plan.wires
        ),
    )


def _fat(plan: Plan) -> Plan:
    return replace(plan, seats=tuple(replace(s, body_diameter_mm=s.body_diameter_mm + 5.0) for s in plan.seats))


def _low(plan: Plan) -> Plan:
    return replace(plan, seats=tuple(replace(s, z_mm=0.5) for s in plan.seats))


def _one_height(plan: Plan) -> Plan:
    return replace(plan, seats=tuple(replace(s, z_mm=30.0) for s in plan.seats))


def _moved_strip(plan: Plan) -> Plan:
    moved = {k: replace(t, x_mm=t.x_mm + 20.0) if t.owner == "A1" else t for k, t in plan.terminals.items()}
    return replace(plan, terminals=moved)


def _no_bond(plan: Plan) -> Plan:
    return replace(plan, wires=tuple(w for w in plan.wires if w.bond != "W2"))


def _spare_used(plan: Plan) -> Plan:
    return replace(plan, spare_lugs=(*plan.spare_lugs, plan.seats[0].terminals[0]))


@pytest.mark.parametrize(
    ("spoil", "rule"),
    [
        (_shorter, "wire-length"), (_no_twist, "heater-not-twisted"), (_half_twist, "twist-not-a-pair"),
        (_bare, "wire-insulation"), (_fat, "part-body"), (_low, "body-outside"), (_one_height, "bodies-touch"),
        (_moved_strip, "terminal-place"), (_no_bond, "no-earth-wire"), (_no_bond, "bond-wire"),
        (_spare_used, "spare-lug-used"),
    ],
)  # fmt: skip
def test_a_spoiled_plan_is_found(spoil: Callable[[Plan], Plan], rule: str):
    tubes = 2
    assert rule in {f.rule for f in found(spoil(planned(tubes)[2]), tubes)}


def test_a_wire_with_the_name_of_a_part_is_found_in_these_words():
    plan = planned(1)[2]
    bond, other = (next(w for w in plan.wires if w.number == number) for number in (1, 5))
    swapped = {bond: replace(bond, number=5), other: replace(other, number=1)}
    spoiled = replace(plan, wires=tuple(swapped.get(w, w) for w in plan.wires))
    (finding,) = (f for f in found(spoiled) if f.rule == "wire-name")
    assert str(finding) == (
        "fault: a wire and a bond are both called W1 [wire-name]\n"
        f"  found:  a wire from {' to '.join(other.terminals)}, which is not that part\n"
        "  wanted: each name once\n"
        "  do:     plan again"
    )


def test_neighboring_lugs_at_a_thousand_volts_are_a_danger():
    build, volts, plan = planned(1)
    high = {joint: (1000.0 if joint.startswith("B+") else v) for joint, v in volts.items()}
    findings = [f for f in check_plan(build, plan, joint_volts=high) if f.rule == "creepage"]
    assert findings
    assert {f.grade for f in findings} == {Grade.DANGER}


def test_the_planner_leaves_a_lug_between_joints_a_thousand_volts_apart():
    build, volts = amplifier(1)
    high = {joint: (900.0 if joint == "B+3" else v) for joint, v in volts.items()}
    plan = plan_lugs(build, joint_volts=high)
    assert "creepage" not in {f.rule for f in check_plan(build, plan, joint_volts=high)}


def test_a_build_without_earth_bond_is_a_danger():
    build, volts, plan = planned(1)
    parts = tuple(p for p in build.parts if not (isinstance(p.values, Bond) and p.name == "W2"))
    findings = check_plan(replace(build, parts=parts), plan, joint_volts=volts)
    assert (Grade.DANGER, "no-earth-wire") in {(f.grade, f.rule) for f in findings}


def test_something_else_on_the_earth_bolt_is_a_danger():
    plan = planned(1)[2]
    wires = tuple(replace(w, terminals=("chassis.1", w.terminals[1])) if w.bond == "W1" else w for w in plan.wires)
    assert "earth-bolt-shared" in {f.rule for f in found(replace(plan, wires=wires))}


def test_an_overfull_lug_is_named_with_its_leads():
    plan = planned(1)[2]
    key = plan.seats[0].terminals[0]
    extra = [replace(plan.wires[0], number=900 + n, terminals=(key, key), twist="", bond="") for n in range(4)]
    full = [f for f in found(replace(plan, wires=(*plan.wires, *extra))) if f.rule == "terminal-full"]
    assert full
    assert full[0].what == f"{plan.terminals[key].label} has too many leads"
