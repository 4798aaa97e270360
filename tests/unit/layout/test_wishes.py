"""Wishes of the builder are obeyed, or refused in words."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import pytest

from lugwright.buildfile.build import Build, Wishes
from lugwright.errors import PlanError
from lugwright.findings import Place
from lugwright.layout.checker import check_plan
from lugwright.layout.lug_plan import plan_lugs
from lugwright.layout.results import Plan

from .amplifier import amplifier
from .edits import with_resistor

BUILD, VOLTS = amplifier(1)
pytestmark = pytest.mark.usefixtures("short_search")


def wishing(
    *,
    between: Mapping[str, tuple[str, str]] | None = None,
    on: Mapping[str, tuple[str, ...]] | None = None,
    keep_off: Mapping[str, tuple[str, ...]] | None = None,
) -> Build:
    """Return the amplifier with wishes, each on a line of its own."""
    names = [
        f"{table} {key}"
        for table, keys in (("between", between), ("on", on), ("keep_off", keep_off))
        for key in keys or ()
    ]
    places = {name: Place("amp.toml", 90 + count) for count, name in enumerate(names)}
    return replace(BUILD, wishes=Wishes(between or {}, on or {}, keep_off or {}, {}, places))


def planned(build: Build) -> Plan:
    """Return the plan, checked."""
    plan = plan_lugs(build, joint_volts=VOLTS)
    assert check_plan(build, plan, joint_volts=VOLTS) == []
    return plan


def refused(build: Build) -> PlanError:
    """Return what the planner says to wishes that cannot be."""
    with pytest.raises(PlanError) as caught:
        plan_lugs(build, joint_volts=VOLTS)
    return caught.value


def seat(plan: Plan, part: str) -> tuple[str, str]:
    """Return the terminals of a part."""
    return next(s.terminals for s in plan.seats if s.part == part)


@pytest.mark.parametrize("pair", [("A1.5", "B1.6"), ("B1.6", "A1.5")])
def test_a_part_hangs_where_it_is_wished_in_either_order(pair: tuple[str, str]) -> None:
    plan = planned(wishing(between={"R7": pair}))
    assert set(seat(plan, "R7")) == set(pair)


def test_a_grid_stopper_may_be_wished_off_its_pin() -> None:
    assert seat(planned(wishing(between={"R5": ("A1.5", "B1.6")})), "R5") in {("A1.5", "B1.6"), ("B1.6", "A1.5")}


def test_a_joint_is_on_each_lug_it_is_wished_on() -> None:
    plan = planned(wishing(on={"B+3": ("A2.4", "B2.5")}))
    assert [plan.terminals[key].joint for key in ("A2.4", "B2.5")] == ["B+3", "B+3"]
    assert all(plan.leads_at(key) for key in ("A2.4", "B2.5"))


def test_a_joint_and_a_part_keep_off_strips() -> None:
    plan = planned(wishing(keep_off={"V1b.plate": ("A1",), "C1": ("B1",)}))
    lugs = {t.owner for t in plan.terminals.values() if t.joint == "V1b.plate" and t.kind == "lug"}
    assert lugs
    assert "A1" not in lugs
    assert not any(key.startswith("B1.") for key in seat(plan, "C1"))


def test_a_new_wish_moves_its_part_in_a_plan_that_is_there() -> None:
    before = planned(BUILD)
    build = wishing(between={"R16": ("A2.6", "B2.6")})
    after = plan_lugs(build, joint_volts=VOLTS, previous=before)
    assert check_plan(build, after, joint_volts=VOLTS) == []
    assert set(seat(after, "R16")) == {"A2.6", "B2.6"}


def test_two_points_too_far_apart_are_refused() -> None:
    error = refused(wishing(between={"R7": ("A1.5", "B3.5")}))
    assert str(error) == (
        "R7 cannot hang between strip A1 lug 5 and strip B3 lug 5 ([plan.between], line 90)\n"
        "  found:  they are 149 mm apart\n"
        "  wanted: 14 to 42 mm apart\n"
        "  do:     choose two other terminals, or move the strip"
    )


def test_a_terminal_of_another_joint_is_refused() -> None:
    error = refused(wishing(between={"R7": ("V1.1", "A1.2")}))
    assert str(error) == (
        "R7 cannot hang between V1 pin 1 and strip A1 lug 2 ([plan.between], line 90)\n"
        "  found:  V1 pin 1 carries V1a.plate\n"
        "  wanted: one end on B+3, the other on V1b.plate, or free lugs\n"
        "  do:     choose two terminals of its joints, or free lugs"
    )


def test_a_lug_that_another_wish_has_taken_is_refused_and_says_by_whom() -> None:
    error = refused(wishing(between={"R3": ("V1.1", "A1.1"), "R4": ("A1.1", "B1.1")}, on={"ground": ("B1.1",)}))
    assert str(error) == (
        "R4 cannot hang between strip A1 lug 1 and strip B1 lug 1 ([plan.between], line 91)\n"
        "  found:  strip A1 lug 1 carries B+3 (R3, [plan.between], line 90)\n"
        "  wanted: one end on V1a.cathode, the other on ground, or free lugs\n"
        "  do:     choose two terminals of its joints, or free lugs"
    )


def test_a_joint_on_a_terminal_of_another_joint_is_refused() -> None:
    error = refused(wishing(on={"B+3": ("V1.1",)}))
    assert str(error) == (
        "B+3 cannot be on V1 pin 1 ([plan.on], line 90)\n"
        "  found:  it carries V1a.plate\n"
        "  wanted: a free lug, or a terminal of B+3\n"
        "  do:     choose another lug"
    )


def test_a_point_that_is_not_there_is_refused() -> None:
    error = refused(wishing(on={"ground": ("bus.99",)}))
    assert error.what == "ground cannot go to bus.99 ([plan.on], line 90)"
    assert error.found == "there is no bus.99"
    assert error.wanted.startswith("one of bus.1, bus.2, ")
    assert error.do == "choose another terminal"


def test_more_leads_than_a_terminal_takes_are_refused() -> None:
    pairs = {"R2": ("J1.tip", "bus.3"), "R4": ("B1.1", "bus.3"), "R6": ("B1.4", "bus.3")}
    assert str(refused(wishing(between=pairs))) == (
        "bus point 3 cannot take all that [plan.between] puts on it\n"
        "  found:  R2, R4, R6\n"
        "  wanted: at most 2 leads\n"
        "  do:     give one of them another lug"
    )
    build = with_resistor(
        wishing(between={"R15": ("V90.2", "V90.6"), "R77": ("V90.2", "V90.6")}), "R77", "heater1", "ground"
    )
    error = refused(build)
    assert error.what == "V90 pin 2 cannot take all that [plan.between] puts on it"
    assert error.found == "R15, R77, and 2 wires that must end there"


def test_volts_between_neighbors_are_refused() -> None:
    error = refused(wishing(on={"line": ("A1.1",), "in": ("A1.2",)}))
    assert str(error) == (
        "line cannot be on strip A1 lug 1 ([plan.on], line 90)\n"
        "  found:  strip A1 lug 2 beside it carries in, 4.5 mm away\n"
        "  wanted: 6.0 mm for the volts between the two\n"
        "  do:     choose a lug further away"
    )


def test_on_a_strip_and_off_it_is_refused() -> None:
    error = refused(wishing(between={"R3": ("V1.1", "A1.1")}, keep_off={"R3": ("A1",), "B+3": ("A1", "B1")}))
    assert str(error) == (
        "2 things that were asked for cannot be\n"
        "  found:  R3 cannot keep off strip A1 ([plan.keep_off], line 91): it is on strip A1 lug 1: R3, "
        "[plan.between], line 90; B+3 cannot keep off strip A1 ([plan.keep_off], line 92): it is on strip A1 "
        "lug 1: R3, [plan.between], line 90\n"
        "  wanted: one of the two\n"
        "  do:     take one of the two out"
    )


def test_a_part_kept_off_everything_is_refused() -> None:
    strips = tuple(strip.name for strip in BUILD.strips)
    error = refused(wishing(keep_off={"R7": strips}))
    assert str(error) == (
        "R7 fits between no two points any more\n"
        "  found:  [plan.keep_off] takes them all: R7 off A1, B1, A2, B2, A3, B3 (line 90)\n"
        "  wanted: a strip left that it reaches\n"
        "  do:     take one of these strips out of the wish, or stand another strip there"
    )
