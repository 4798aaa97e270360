"""The cards of a planned amplifier, executed to the letter: the plan comes from the planner, not from us."""

from __future__ import annotations

import math
import re

import pytest

from lugwright.buildfile.build import Build
from lugwright.layout.lug_plan import plan_lugs
from lugwright.layout.results import Plan
from lugwright.workorder.order import work_order
from lugwright.workorder.results import WorkOrder

from ..layout.amplifier import amplifier
from .obey import check_joints, check_solder, joints_wanted

Work = tuple[Build, Plan, WorkOrder]


@pytest.fixture(scope="module")
def work() -> Work:
    build, volts = amplifier(2)
    plan = plan_lugs(build, joint_volts=volts)
    return build, plan, work_order(build, plan)


def test_the_joints_built_are_the_joints_of_the_circuit(work: Work) -> None:
    build, plan, order = work
    assert len(joints_wanted(build, plan)) > 30
    check_joints(build, plan, order)


def test_each_used_terminal_is_soldered_once_after_its_last_lead(work: Work) -> None:
    build, plan, order = work
    check_solder(build, plan, order)


def test_every_part_and_wire_of_the_plan_is_on_a_card(work: Work) -> None:
    _, plan, order = work
    assert sorted(name for job in order.jobs if job.leads for name in job.parts) == sorted(s.part for s in plan.seats)
    assert sorted(number for job in order.jobs for number in job.wires) == [w.number for w in plan.wires]


def test_cards_are_short_and_the_earth_is_the_first_wire(work: Work) -> None:
    _, plan, order = work
    assert max(len(job.leads) for job in order.jobs) <= 8
    first = next(job for job in order.jobs if job.leads)
    assert [plan.wires[number - 1].kind for number in first.wires] == ["earth"]


def test_no_card_needs_a_lug_that_a_body_already_hides_unless_it_says_so(work: Work) -> None:
    _, plan, order = work
    seats = {seat.part: seat for seat in plan.seats}
    looked_at, lying = 0, []
    for job in order.jobs:
        for lead in job.leads:
            terminal = plan.terminals[lead.terminal]
            for seat in lying:
                looked_at += 1
                hidden = _under(plan, seat, terminal.x_mm, terminal.y_mm) and terminal.z_mm < seat.z_mm
                if hidden and terminal.kind != "exit" and lead.terminal not in seat.terminals:
                    said = [text for text in order.broken_rules if seat.part in text and terminal.label in text]
                    assert said, f"card {job.number}: {lead.what} to {lead.label} lies under {seat.part}"
            if lead.what in seats and seats[lead.what] not in lying:
                lying.append(seats[lead.what])
    assert looked_at > 1000


def _under(plan: Plan, seat: object, x_mm: float, y_mm: float) -> bool:
    """Return whether a point lies within the body's outline, sampled along its axis."""
    a, b = (plan.terminals[key] for key in seat.terminals)
    whole = math.dist((a.x_mm, a.y_mm), (b.x_mm, b.y_mm))
    half = min(1.0, seat.body_length_mm / whole) / 2.0
    for step in range(41):
        share = 0.5 + half * (step / 20.0 - 1.0)
        at = (a.x_mm + share * (b.x_mm - a.x_mm), a.y_mm + share * (b.y_mm - a.y_mm))
        if math.dist(at, (x_mm, y_mm)) < seat.body_diameter_mm / 2.0:
            return True
    return False


def test_every_wire_goes_in_after_what_it_lies_over_unless_the_order_says_so(work: Work) -> None:
    _, plan, order = work
    place = {}
    for job in order.jobs:
        for index, lead in enumerate(job.leads):
            place.setdefault(lead.what, (job.number, index))
    partner = {}
    for wire in plan.wires:
        if wire.twist:
            partner.setdefault(wire.twist, set()).add(f"W{wire.number}")
    crossings = [(f"W{w.number}", lower, w.twist) for w in plan.wires for lower in w.lies_over if lower in place]
    assert crossings
    for upper, lower, twist in crossings:
        if lower.startswith("W"):  # of two wires the later one goes over
            later, earlier = (upper, lower) if place[upper] >= place[lower] else (lower, upper)
            assert earlier in order.over[int(later[1:])]
        elif place[lower] > place[upper] and lower not in partner.get(twist, set()):
            said = [text for text in order.broken_rules if _says(text, upper, lower)]
            assert said, f"{upper} lies over {lower} but goes in first"


def _says(text: str, upper: str, lower: str) -> bool:
    """Return whether a sentence tells that a wire goes in before something it lies over."""
    low, _, rest = text.partition(" in after ")
    high, _, why = rest.partition(" although ")
    return all(re.search(rf"\b{name}\b", words) for name, words in ((lower, low), (upper, high), (lower, why)))
