"""What is soldered stays whatever is planned; where the circuit contradicts it, planning is refused in words."""

from __future__ import annotations

import random
from collections.abc import Iterable
from dataclasses import replace

import pytest

from lugwright.buildfile.build import Build, Wishes
from lugwright.errors import PlanError
from lugwright.findings import Place
from lugwright.layout import anneal
from lugwright.layout.checker import check_plan
from lugwright.layout.frozen import Frozen, SolderedAgainst
from lugwright.layout.lug_plan import plan_lugs
from lugwright.layout.plan_file import plan_to_text
from lugwright.layout.results import Plan

from .amplifier import amplifier
from .edits import with_resistor, without

BUILD, VOLTS = amplifier(1)
pytestmark = pytest.mark.usefixtures("short_search")


@pytest.fixture(scope="module")
def plan() -> Plan:
    """Return the plan that is being built."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(anneal, "MOVES_PER_PART", 4)
        patch.setattr(anneal, "LEAST_MOVES", 100)
        patch.setattr(anneal, "START_MOVES_PER_PART", 4)
        patch.setattr(anneal, "LEAST_START_MOVES", 100)
        return plan_lugs(BUILD, joint_volts=VOLTS)


def frozen(plan: Plan, parts: Iterable[str], wires: Iterable[int] = (), soldered: Iterable[str] = ()) -> Frozen:
    """Return what is frozen when these parts and wires are in."""
    names, numbers = set(parts), set(wires)
    leads = frozenset(
        (s.part, lead, key)
        for s in plan.seats
        for lead, key in zip(s.lead_names, s.terminals, strict=True)
        if s.part in names
    )
    return Frozen(leads, tuple(w for w in plan.wires if w.number in numbers), frozenset(soldered))


def everything(plan: Plan) -> Frozen:
    """Return a finished amplifier."""
    soldered = {t.key for t in plan.terminals.values() if plan.leads_at(t.key)}
    return frozen(plan, {s.part for s in plan.seats}, {w.number for w in plan.wires}, soldered)


def again(build: Build, plan: Plan | None, kept: Frozen) -> Plan:
    """Return the plan made with something soldered."""
    return plan_lugs(build, joint_volts=VOLTS, previous=plan, frozen=kept)


def refused(build: Build, plan: Plan, kept: Frozen) -> SolderedAgainst:
    """Return what stands against a plan."""
    with pytest.raises(SolderedAgainst) as caught:
        again(build, plan, kept)
    return caught.value


def with_joint(build: Build, name: str, lead: int, joint: str) -> Build:
    """Return the build with one end of a part on another joint."""
    part = build.part(name)
    ends = tuple(replace(t, joint=joint) if i == lead else t for i, t in enumerate(part.terminals))
    rest = without(build, {name})
    joints = {j: list(ts) for j, ts in rest.joints.items()}
    for end in ends:
        joints.setdefault(end.joint, []).append(end)
    parts = tuple(replace(p, terminals=ends) if p.name == name else p for p in build.parts)
    return replace(build, parts=parts, joints={j: tuple(ts) for j, ts in joints.items()})


def with_body(build: Build, name: str, length_mm: float) -> Build:
    """Return the build with a longer part."""
    values = build.part(name).values
    body = replace(values.body, length_mm=length_mm)
    parts = tuple(replace(p, values=replace(values, body=body)) if p.name == name else p for p in build.parts)
    return replace(build, parts=parts)


def test_a_tick_changes_no_plan(plan: Plan) -> None:
    assert again(BUILD, plan, everything(plan)) is plan


def test_a_finished_amplifier_takes_one_part_more_and_nothing_else_moves(plan: Plan) -> None:
    build = with_resistor(BUILD, "R77", "V1a.out", "ground")
    new = again(build, plan, everything(plan))
    assert everything(plan).is_in(new)
    assert {s.part for s in new.seats} - {s.part for s in plan.seats} == {"R77"}
    assert check_plan(build, new, joint_volts=VOLTS) == []


def test_soldered_joints_stay_closed_while_another_place_will_do(plan: Plan) -> None:
    build = with_resistor(BUILD, "R77", "V1a.out", "ground")
    busy = {t.key for t in plan.terminals.values() if plan.leads_at(t.key) and t.joint == "ground"}
    new = again(build, plan, frozen(plan, (), (), busy))
    (seat,) = (s for s in new.seats if s.part == "R77")
    assert not busy & set(seat.terminals)


def test_a_joint_that_is_soldered_everywhere_is_opened_for_what_must_be_joined_to_it(plan: Plan) -> None:
    build = with_resistor(BUILD, "R77", "V1b.cathode", "ground")
    new = again(build, plan, everything(plan))
    (seat,) = (s for s in new.seats if s.part == "R77")
    at = next(key for key in seat.terminals if new.terminals[key].joint == "V1b.cathode")
    wired = {k for w in new.wires if w.joint == "V1b.cathode" for k in w.terminals}
    assert at in everything(plan).soldered or at in wired


def test_soldered_parts_keep_their_places_when_the_plan_file_is_lost(plan: Plan) -> None:
    kept = frozen(plan, {"R3", "C2", "R8"}, {w.number for w in plan.wires if w.joint == "V1a.plate"})
    new = again(BUILD, None, kept)
    assert kept.is_in(new)
    assert check_plan(BUILD, new, joint_volts=VOLTS) == []


def test_a_half_soldered_part_keeps_the_lead_that_is_in(plan: Plan) -> None:
    (seat,) = (s for s in plan.seats if s.part == "R3")
    kept = Frozen(frozenset({("R3", "1", seat.terminals[0])}))
    longer = with_body(BUILD, "R3", 18.0)
    new = again(longer, plan, kept)
    assert next(s.terminals[0] for s in new.seats if s.part == "R3") == seat.terminals[0]


def test_a_joint_may_be_given_another_name(plan: Plan) -> None:
    def renamed(name: str) -> str:
        return "after the first stage" if name == "V1a.out" else name

    parts = tuple(
        replace(p, terminals=tuple(replace(t, joint=renamed(t.joint)) for t in p.terminals)) for p in BUILD.parts
    )
    joints = {renamed(j): tuple(replace(t, joint=renamed(j)) for t in ts) for j, ts in BUILD.joints.items()}
    build = replace(BUILD, parts=parts, joints=joints)
    new = plan_lugs(build, joint_volts=VOLTS, previous=plan, frozen=everything(plan))
    assert everything(plan).is_in(new)
    assert {w.joint for w in new.wires} == {renamed(w.joint) for w in plan.wires}


@pytest.mark.parametrize("seed", range(5))
def test_nothing_soldered_moves_whatever_is_changed(plan: Plan, seed: int) -> None:
    """Any part of the amplifier built, any edit of what is not built: refused in words, or all of it is kept."""
    rng = random.Random(seed)
    seats = [s.part for s in plan.seats]
    built = set(rng.sample(seats, rng.randint(0, len(seats))))
    numbers = [w.number for w in plan.wires]
    candidate = frozen(plan, built, rng.sample(numbers, rng.randint(0, len(numbers))))
    ends = sorted({key for *_, key in candidate.leads} | {k for w in candidate.wires for k in w.terminals})
    kept = replace(candidate, soldered=frozenset(rng.sample(ends, rng.randint(0, len(ends)))))
    free = sorted(set(seats) - built)
    build = without(BUILD, {rng.choice(free)}) if free and rng.random() < 0.5 else BUILD
    joints = [j for j in build.joints if j not in ("earth", "chassis", "line", "neutral", "fused", "switched")]
    build = with_resistor(build, "R77", *rng.sample(joints, 2))
    longer = [name for name in ("R3", "R8", "C2") if name in free and name in build.part_by_name]
    if longer:
        name = rng.choice(longer)
        build = with_body(build, name, build.part(name).values.body.length_mm + 6.0)
    new = planned_or_none(build, plan, kept)
    if new is not None:
        assert kept.is_in(new)
        assert {f.rule for f in check_plan(build, new, joint_volts=VOLTS)} <= {"no-earth-wire", "ground-floats"}


def planned_or_none(build: Build, plan: Plan, kept: Frozen) -> Plan | None:
    """Return the plan, None when there is no whole one; what is soldered is never what stands against it."""
    try:
        return again(build, plan, kept)
    except SolderedAgainst:
        raise
    except PlanError:
        return None


def test_a_part_that_goes_elsewhere_now_is_named_with_what_to_unsolder(plan: Plan) -> None:
    (seat,) = (s for s in plan.seats if s.part == "R3")
    label = plan.terminals[seat.terminals[0]].label
    error = refused(with_joint(BUILD, "R3", 0, "B+2"), plan, everything(plan))
    assert str(error) == (
        f"R3.1 is soldered to {label}\n"
        "  found:  that carries B+3; in the circuit R3.1 goes to B+2\n"
        "  wanted: R3.1 on B+2\n"
        "  do:     unsolder R3.1 and tick that off (lugwright tick FILE --undo --lead ...), or plan as if it were "
        "(lugwright plan FILE --unsolder)"
    )


def test_planning_as_if_it_were_unsoldered_moves_what_must(plan: Plan) -> None:
    build = with_joint(BUILD, "R1", 0, "B+2")
    error = refused(build, plan, everything(plan))
    rest = everything(plan).without(error.against)
    assert everything(plan).leads - rest.leads == {
        ("R1", "1", next(s for s in plan.seats if s.part == "R1").terminals[0])
    }
    error = refused(build, plan, rest)
    assert (error.what, error.found, error.wanted) == (
        "R1 is soldered by one lead, and the other reaches nothing",
        "a body of 8 by 3 mm from V1 pin 2",
        "a terminal of its joint in reach",
    )
    rest = rest.without(error.against)
    assert {lead for lead in everything(plan).leads - rest.leads if lead[0] != "R1"} == set()
    new = again(build, plan, rest)
    assert rest.is_in(new)
    assert check_plan(build, new, joint_volts=VOLTS) == []


def test_a_part_that_is_gone_and_one_that_is_longer_are_named(plan: Plan) -> None:
    (seat,) = (s for s in plan.seats if s.part == "R8")
    error = refused(without(BUILD, {"R8"}), plan, frozen(plan, {"R8"}))
    assert error.what == "2 things that are soldered do not fit the circuit"
    assert error.found == (
        f"R8 is soldered in, and the circuit has it no more: its lead 1 is in {seat.terminals[0]}; "
        f"R8 is soldered in, and the circuit has it no more: its lead 2 is in {seat.terminals[1]}"
    )
    assert error.wanted == "a part of the circuit"
    assert "unsolder R8.1, R8.2 and tick" in error.do
    error = refused(with_body(BUILD, "R8", 60.0), plan, frozen(plan, {"R8"}))
    one, two = (plan.terminals[key].label for key in seat.terminals)
    assert (error.what, error.found, error.wanted) == (
        "R8 is soldered in and fits no more",
        f"a body of 60 by 3 mm between {one} and {two}",
        "the part that was soldered in, or room for the new one",
    )


def test_wires_that_join_two_joints_now_or_end_nowhere_are_named(plan: Plan) -> None:
    wire = next(w for w in plan.wires if w.joint == "V1b.cathode")
    labels = [plan.terminals[key].label for key in wire.terminals]
    lug = wire.terminals[1]
    moved = replace(BUILD, wishes=Wishes(on={"V1a.out": (lug,)}, places={"on V1a.out": Place("amp.toml", 7)}))
    with pytest.raises(PlanError) as caught:
        again(moved, plan, frozen(plan, (), {wire.number}))
    assert caught.value.found == "it carries V1b.cathode (soldered)"
    gone = replace(BUILD, strips=tuple(s for s in BUILD.strips if s.name != plan.terminals[lug].owner))
    error = refused(gone, plan, frozen(plan, (), {wire.number}))
    assert (error.what, error.found, error.wanted) == (
        f"W{wire.number} ends where nothing can be soldered any more",
        f"{lug} is gone, or must stay empty",
        "the terminal it is in",
    )
    swapped = replace(wire, terminals=(wire.terminals[0], "V1.6"))
    error = refused(BUILD, plan, Frozen(wires=(swapped,)))
    assert (error.what, error.found, error.wanted) == (
        f"W{wire.number} is laid across two joints",
        f"it joins {labels[0]} (V1b.cathode) and V1 pin 6 (V1b.plate)",
        "a wire within one joint",
    )


def test_a_bond_that_is_gone_or_joins_something_else_is_named(plan: Plan) -> None:
    bond = next(w for w in plan.wires if w.bond == "W1")
    ends = " to ".join(bond.terminals)
    error = refused(without(BUILD, {"W1"}), plan, Frozen(wires=(bond,)))
    assert (error.what, error.found, error.wanted) == (
        "W1 is laid, and the circuit has no bond W1 any more",
        f"it runs from {ends}",
        "a bond of the circuit",
    )
    across = replace(bond, terminals=(bond.terminals[0], "V1.6"))
    error = refused(BUILD, plan, Frozen(wires=(across,)))
    assert error.what == "W1 is laid across two joints"
    assert error.wanted == "W1 from chassis to ground"


def test_a_terminal_that_is_gone_under_a_part_is_named(plan: Plan) -> None:
    (seat,) = (s for s in plan.seats if s.part == "R7")
    key = next(k for k in seat.terminals if plan.terminals[k].kind == "lug")
    lead = seat.lead_names[seat.terminals.index(key)]
    gone = replace(BUILD, strips=tuple(s for s in BUILD.strips if s.name != plan.terminals[key].owner))
    error = refused(gone, plan, Frozen(frozenset({("R7", lead, key)})))
    assert (error.what, error.found) == (
        f"R7.{lead} is soldered where nothing can be soldered any more",
        f"{key} is gone, or must stay empty",
    )


def test_a_wish_for_a_soldered_part_is_refused(plan: Plan) -> None:
    (seat,) = (s for s in plan.seats if s.part == "R8")
    wishes = Wishes(between={"R8": ("A2.1", "B2.1")}, places={"between R8": Place("amp.toml", 7)})
    with pytest.raises(PlanError) as caught:
        again(replace(BUILD, wishes=wishes), plan, frozen(plan, {"R8"}))
    one, two = (plan.terminals[key].label for key in seat.terminals)
    assert str(caught.value) == (
        "R8 cannot be moved ([plan.between], line 7)\n"
        f"  found:  it is soldered to {one} and {two}\n"
        "  wanted: a part that is not in yet\n"
        "  do:     unsolder R8, tick that off, and plan again; or take the wish out"
    )


def test_an_old_wire_stays_although_another_would_be_shorter(plan: Plan) -> None:
    """Three lugs in a row are joined by two wires; the old plan had the longer one of the three possible."""
    joint = next(
        j for j in BUILD.joints if sum(w.joint == j and "lug" in _kinds(plan, w.terminals) for w in plan.wires) == 2
    )
    one, two = (w for w in plan.wires if w.joint == joint and "lug" in _kinds(plan, w.terminals))
    (shared,) = set(one.terminals) & set(two.terminals)
    outer = tuple(key for w in (one, two) for key in w.terminals if key != shared)
    longer = replace(one, terminals=(outer[0], outer[1]))
    before = replace(plan, fingerprint="0", wires=tuple(longer if w is one else w for w in plan.wires))
    new = plan_lugs(BUILD, joint_volts=VOLTS, previous=before)
    assert {frozenset(w.terminals) for w in new.wires} == {frozenset(w.terminals) for w in before.wires}
    assert {w.number for w in new.wires if set(w.terminals) == set(outer)} == {one.number}
    assert new.cost["wires"] > plan.cost["wires"]
    assert check_plan(BUILD, new, joint_volts=VOLTS) == []


def _kinds(plan: Plan, keys: Iterable[str]) -> set[str]:
    return {plan.terminals[key].kind for key in keys}


def test_the_same_ticks_give_the_same_plan(plan: Plan) -> None:
    build = with_resistor(BUILD, "R77", "V1a.out", "ground")
    kept = frozen(plan, {"R3", "R8"}, {20, 21})
    assert plan_to_text(again(build, plan, kept)) == plan_to_text(again(build, plan, kept))
