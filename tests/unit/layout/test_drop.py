"""What is dragged by hand comes down on terminals it can hang between, and what is soldered is not moved."""

from __future__ import annotations

import math

import pytest
from tests.planned_examples import example

from lugwright.errors import PlanError
from lugwright.layout.drop import ends_near, is_put, put_down, soldered_to
from lugwright.layout.frozen import Frozen
from lugwright.layout.objective import MAX_LEAD_MM, MIN_LEAD_MM
from lugwright.layout.results import PutPart, PutStrip


def test_a_part_comes_down_on_a_pair_it_can_span_near_to_where_it_was_dragged() -> None:
    plan = example("dunlin_5").plan
    moved = 0
    for seat in plan.seats:
        for by in ((14.0, 0.0), (-14.0, 0.0)):
            try:
                ends = ends_near(plan, seat.part, by)
            except PlanError:
                continue
            moved += 1
            assert set(ends) != set(seat.terminals)
            one, two = (plan.terminals[key] for key in ends)
            span = math.dist((one.x_mm, one.y_mm), (two.x_mm, two.y_mm))
            assert seat.body_length_mm + 2 * MIN_LEAD_MM <= span <= seat.body_length_mm + 2 * MAX_LEAD_MM
            for old, new in zip(seat.terminals, (one, two), strict=True):
                assert new.kind == "lug" or new.joint == plan.terminals[old].joint
    assert moved > len(plan.seats)


def test_a_part_that_is_put_down_where_it_is_stays() -> None:
    plan = example("dunlin_5").plan
    seat = next(seat for seat in plan.seats if seat.part == "R3")
    one, two = (plan.terminals[key].label for key in seat.terminals)
    with pytest.raises(PlanError) as refused:
        ends_near(plan, "R3", (0.5, 0.0))
    assert str(refused.value) == (
        "R3 stays where it is\n"
        f"  found:  the nearest terminals it can hang between are {one} and {two}, its own\n"
        "  wanted: other lugs nearer to where it was put down\n"
        "  do:     drag it farther, or choose the two terminals in the card of R3"
    )


def test_what_hangs_between_no_two_terminals_cannot_be_dragged() -> None:
    with pytest.raises(PlanError) as refused:
        ends_near(example("dunlin_5").plan, "V1", (10.0, 0.0))
    assert str(refused.value) == (
        "V1 cannot be dragged\n  found:  V1 does not hang between two terminals of this plan\n"
        "  wanted: a part held by its two leads, or a strip\n"
        "  do:     say in the build file where it stands, under [place]"
    )


def test_a_strip_with_something_in_its_lugs_is_not_moved() -> None:
    opened = example("dunlin_5")
    wire = next(w for w in opened.plan.wires if any(key.startswith("A.") for key in w.terminals))
    seat = next(s for s in opened.plan.seats if s.terminals[0].startswith("A."))
    lead = (seat.part, seat.lead_names[0], seat.terminals[0])
    frozen = Frozen(frozenset({lead}), (wire,), frozenset({"B.1"}))
    assert soldered_to("A", frozen) == (f"{lead[0]}.{lead[1]}", f"W{wire.number}")
    assert soldered_to("B", frozen) == ("solder on B.1",)
    assert soldered_to("D", frozen) == ()
    with pytest.raises(PlanError) as refused:
        put_down(opened.build, PutStrip("A", (30.0, 112.0), 0.0), frozen)
    assert str(refused.value) == (
        f"strip A cannot be moved\n  found:  {lead[0]}.{lead[1]}, W{wire.number} are in it already\n"
        "  wanted: a strip that nothing is soldered to\n"
        "  do:     take that out and tick it off first, or move another strip"
    )


def test_a_strip_that_is_not_there_is_refused() -> None:
    with pytest.raises(PlanError) as refused:
        put_down(example("dunlin_5").build, PutStrip("Q", (30.0, 112.0), 0.0), Frozen())
    assert str(refused.value) == (
        "there is no strip Q\n  found:  Q\n  wanted: A, B, C, D, E\n  do:     choose one of them"
    )


def test_what_a_plan_has_already_is_known() -> None:
    opened = example("dunlin_5")
    seat, strip = opened.plan.seats[0], opened.build.strips[0]
    assert is_put(opened.build, opened.plan, PutPart(seat.part, (seat.terminals[1], seat.terminals[0])))
    assert not is_put(opened.build, opened.plan, PutPart(seat.part, (seat.terminals[0], "E.1")))
    assert is_put(opened.build, opened.plan, PutStrip(strip.name, strip.at, strip.turn))
    assert not is_put(opened.build, opened.plan, PutStrip(strip.name, (1.0, 1.0), strip.turn))
    moved = put_down(opened.build, PutStrip("B", (99.0, 99.0), 90.0), Frozen())
    assert [(s.name, s.at, s.turn) for s in moved.strips if s.at == (99.0, 99.0)] == [("B", (99.0, 99.0), 90.0)]
