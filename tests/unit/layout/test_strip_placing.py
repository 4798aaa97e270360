"""Strips and bus left open find places, a whole plan stands on them, and they stay; no room is said in words."""

from __future__ import annotations

from dataclasses import replace

import pytest

from lugwright.buildfile.build import ALL_OPEN, Build, Chassis, LeftOpen, OpenBus, OpenStrip, Strip
from lugwright.errors import PlanError
from lugwright.layout import strip_placing, strip_room
from lugwright.layout.chassis import fixed_terminals
from lugwright.layout.checker import check_plan
from lugwright.layout.hardware import Hardware, hardware_for
from lugwright.layout.open_strips import as_stored, planned_build
from lugwright.layout.plan_file import plan_from_text, plan_to_text
from lugwright.layout.results import Plan
from lugwright.layout.rules.spare_lugs import spare_lugs_wanted
from lugwright.layout.strip_placing import place_strips
from lugwright.layout.strip_space import free_space
from lugwright.layout.strip_use import bus_uses, strip_uses

from .amplifier import amplifier

STATED, VOLTS = amplifier(1)
OPEN = replace(STATED, strips=(), buses=(), left_open=ALL_OPEN)
HARDWARE = hardware_for(OPEN)


@pytest.fixture(autouse=True)
def few_trials(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let the search end early: these tests ask whether, not how well."""
    monkeypatch.setattr(strip_placing, "TRIALS", 6)
    monkeypatch.setattr(strip_placing, "PATTERNS", strip_placing.PATTERNS[:2])


def planned(build: Build, previous: Plan | None = None) -> tuple[Build, Plan]:
    return planned_build(build, joint_volts=VOLTS, hardware=hardware_for(build), previous=previous)


def place(build: Build, hardware: Hardware | None = None) -> Build:
    return place_strips(build, joint_volts=VOLTS, hardware=hardware or hardware_for(build)).build


def test_with_nothing_stated_a_valid_plan_comes_out_with_lugs_to_spare(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.undo()  # the whole search
    build, plan = planned(OPEN)
    assert check_plan(build, plan, joint_volts=VOLTS) == []
    assert not build.left_open
    assert [strip.name for strip in plan.strips] == [chr(ord("A") + k) for k in range(len(plan.strips))]
    assert plan.strips == build.strips
    assert plan.buses == build.buses
    assert [bus.joint for bus in plan.buses] == ["ground"]
    used = sum(use.used for use in strip_uses(build, plan))
    assert sum(use.spare for use in strip_uses(build, plan)) >= spare_lugs_wanted(used)
    assert all(use.proposed for use in strip_uses(build, plan))
    assert bus_uses(build, plan)[0].leads > 0


def test_every_proposed_lug_and_foot_stands_clear() -> None:
    build = place(OPEN)
    space = free_space(OPEN, HARDWARE, fixed_terminals(OPEN, HARDWARE))
    for t in fixed_terminals(build, HARDWARE).values():
        if t.kind in ("lug", "foot"):
            assert space.lug_may_stand(t.x_mm, t.y_mm), t.key
        if t.kind == "foot":
            assert space.foot_may_stand(t.x_mm, t.y_mm), t.key


def test_the_same_build_gets_the_same_strips() -> None:
    assert place(OPEN) == place(OPEN)


def test_proposals_stay_with_the_stored_plan_and_through_its_text() -> None:
    build, plan = planned(OPEN)
    stored = plan_from_text(plan_to_text(plan), "amp.plan.json")
    assert stored.strips == plan.strips
    assert stored.buses == plan.buses
    again, same = planned(OPEN, stored)
    assert again.strips == build.strips
    assert plan_to_text(same) == plan_to_text(plan)


def test_a_stored_strip_that_no_longer_stands_clear_is_not_kept() -> None:
    _, plan = planned(OPEN)
    x, y = plan.strips[0].at
    tube = {**OPEN.placements, "V1": replace(OPEN.placements["V1"], at=(x + 10.0, y))}
    assert as_stored(replace(OPEN, placements=tube), plan, HARDWARE) is None
    assert as_stored(OPEN, plan, HARDWARE) is not None


def test_a_plan_without_proposals_does_not_answer_a_build_that_asks_for_some() -> None:
    _, plan = planned(OPEN)
    assert as_stored(OPEN, replace(plan, strips=()), HARDWARE) is None
    assert as_stored(OPEN, replace(plan, buses=()), HARDWARE) is None
    named = replace(OPEN, left_open=replace(ALL_OPEN, any_strips=False, strips=(named_strip("Z"),)))
    assert as_stored(named, plan, HARDWARE) is None


def named_strip(name: str, lugs: int | None = None, feet: tuple[int, ...] | None = None) -> OpenStrip:
    return OpenStrip(name, lugs, feet, None, "strip 9.5")


def test_what_is_stated_stays_and_the_open_strip_finds_its_place_beside_it() -> None:
    kept = STATED.strips[:-1]
    wanted = named_strip("Z", 7, (4,))
    build = replace(STATED, strips=kept, left_open=LeftOpen(strips=(wanted,)))
    found, plan = planned(build)
    assert found.strips[:-1] == kept
    assert found.buses == STATED.buses
    (strip,) = plan.strips
    assert (strip.name, strip.lugs, strip.feet) == ("Z", 7, (4,))
    assert check_plan(found, plan, joint_volts=VOLTS) == []
    assert [use.proposed for use in strip_uses(found, plan)] == [False] * len(kept) + [True]


def test_a_bus_alone_left_open_is_placed_between_stated_strips() -> None:
    build = replace(STATED, buses=(), left_open=LeftOpen(buses=(OpenBus("zero", "ground", 14.0),)))
    found, plan = planned(build)
    assert found.strips == STATED.strips
    assert [bus.name for bus in plan.buses] == ["zero"]
    assert plan.strips == ()
    assert check_plan(found, plan, joint_volts=VOLTS) == []


def test_no_bus_is_proposed_where_no_part_would_end_on_it() -> None:
    build = replace(STATED, buses=(), left_open=LeftOpen(buses=(OpenBus("spare", "nothing here", 14.0),)))
    assert place(build).buses == ()


def refusal(build: Build) -> tuple[str, str, str, str]:
    with pytest.raises(PlanError) as caught:
        place(build)
    error = caught.value
    return error.what, error.found, error.wanted, error.do


def test_a_chassis_without_any_room_is_told_so() -> None:
    build = replace(OPEN, chassis=Chassis(330.0, 19.0, 64.0))
    assert refusal(build) == (
        "no room for a terminal strip",
        "on a plate of 330 x 19 mm no three lugs in a row stand clear of walls, sockets, cans and panel parts",
        "39 x 20 mm of plate with nothing on, over or just beside it",
        "make the chassis larger, or move what stands on it together",
    )


def test_too_little_room_counts_the_lugs_there_are_and_the_least_there_must_be() -> None:
    what, found, wanted, do = refusal(replace(OPEN, chassis=Chassis(100.0, 60.0, 64.0)))
    assert what == "too little room for terminal strips"
    assert found == "3 lugs fit into the free area of a plate of 100 x 60 mm"
    least = int(wanted.split()[2].rstrip(":"))
    assert wanted == f"at least {least}: one for every joint whose parts have no pin, pot lug or bus to go to"
    assert least > 3
    assert do == "make the chassis larger, or move what stands on it together"


def test_lugs_all_over_the_plate_that_do_not_suffice_are_told_what_is_left_over() -> None:
    what, found, wanted, do = refusal(replace(OPEN, chassis=Chassis(120.0, 70.0, 64.0)))
    assert what == "no strips found on which everything fits"
    assert found.startswith("no seat for ")
    assert found.endswith("; no free place to wire joint ground whole with 9 lugs all over the free area of a plate "
                          "of 120 x 70 mm")  # fmt: skip
    assert wanted == "a seat for every part"
    assert do == "make the chassis larger, or move what stands on it together"


def test_a_strip_too_long_for_the_chassis_is_named() -> None:
    assert STATED.chassis is not None
    size = f"{STATED.chassis.width_mm:g} x {STATED.chassis.depth_mm:g}"
    build = replace(OPEN, left_open=replace(ALL_OPEN, any_strips=False, strips=(named_strip("LONG", 90),)))
    assert refusal(build) == (
        "no room for strip LONG",
        f"nowhere on a plate of {size} mm do its 90 lugs in a row and a foot stand clear",
        "a place clear of walls, sockets, cans, leads, panel parts and other strips",
        "make it shorter, say nothing of its lugs and feet, or make room for it",
    )


def test_named_strips_that_do_not_suffice_are_told_what_is_left_over() -> None:
    build = replace(OPEN, left_open=replace(ALL_OPEN, any_strips=False, strips=(named_strip("A", 3),)))
    what, found, wanted, do = refusal(build)
    assert what == "strips A are not enough, wherever they stand"
    assert found.startswith("no seat for ")
    assert found.endswith(" with 2 lugs")
    assert wanted == "a seat for every part"
    assert do == "leave another strip open (X = {}), or take [strips] out to have as many as the build needs"


def test_a_build_of_very_many_parts_is_refused_before_any_search(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(strip_room, "MOST_PARTS", 5)
    count = strip_room.hanging_parts(OPEN)
    assert refusal(OPEN) == (
        "too many parts to find strips for",
        f"{count} parts with two leads",
        "5 or fewer",
        "write the strips and the bus under [strips] and [bus]",
    )


def test_strips_of_the_price_are_dearer_than_the_same_plan_without_one() -> None:
    build = place(OPEN)
    task_trial = strip_placing.try_strips(build, HARDWARE, strip_placing.joint_facts(OPEN, VOLTS), share=0.02)
    more = replace(build, strips=(*build.strips, Strip("Z", 3, (2,), (1.0, 1.0), 0.0, "strip 9.5")))
    other = replace(task_trial, build=more)
    assert strip_placing.price(other) == strip_placing.price(task_trial) + strip_placing.STRIP_COST
