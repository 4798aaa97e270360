"""What a plan costs, and the lugs that no plan can do without."""

from __future__ import annotations

from dataclasses import replace

import pytest

from lugwright.buildfile.build import Wishes
from lugwright.layout.chassis import fixed_terminals
from lugwright.layout.explain_results import LugCount
from lugwright.layout.hardware import hardware_for
from lugwright.layout.lug_plan import plan_lugs
from lugwright.layout.objective import TERMS
from lugwright.layout.price import least_lugs, lug_count, term_shares

from .amplifier import amplifier

BUILD, VOLTS = amplifier(1)
PLAN = plan_lugs(BUILD, joint_volts=VOLTS)
HARDWARE = hardware_for(BUILD)


def test_every_term_of_a_plan_has_its_weight_and_reason_in_the_table():
    assert set(PLAN.cost) <= {term.name for term in TERMS}
    assert all(term.weight and term.reason for term in TERMS)
    assert len({term.name for term in TERMS}) == len(TERMS)


def test_shares_come_in_the_order_of_the_table_and_make_the_whole():
    shares = term_shares(BUILD, PLAN)
    order = [term.name for term in TERMS]
    assert [s.name for s in shares] == sorted((s.name for s in shares), key=order.index)
    assert sum(s.cost for s in shares) == pytest.approx(sum(PLAN.cost.values()), abs=1e-6)
    assert sum(s.share for s in shares) == pytest.approx(1.0, abs=1e-9)


def test_a_term_the_builder_dislikes_says_by_how_much():
    build = replace(BUILD, wishes=Wishes(weights={"wires": 3.0, "leads": 2.0, "layers": 4.0, "lugs": 1.0}))
    said = {s.name: dict(s.dislikes) for s in term_shares(build, PLAN)}
    assert said["wires"] == said["detours"] == {"wires": 3.0}
    assert said["seats"] == {"leads": 2.0, "layers": 4.0}
    assert said["layers"] == {"layers": 4.0}
    assert said["lugs"] == {}


def test_a_term_of_another_edition_is_shown_without_a_reason():
    (share,) = term_shares(BUILD, replace(PLAN, cost={"dust": 5.0, "wires": 0.0}))
    assert (share.name, share.cost, share.share, share.reason) == ("dust", 5.0, 1.0, "")


def test_used_and_spare_lugs_are_all_the_lugs():
    count = lug_count(BUILD, PLAN, HARDWARE)
    assert count.used + count.spare == sum(1 for t in PLAN.terminals.values() if t.kind == "lug")
    assert count.least <= count.used + sum(1 for t in PLAN.terminals.values() if t.kind == "pin")
    assert isinstance(count, LugCount)


def test_a_joint_with_a_bus_needs_no_lug():
    terminals = fixed_terminals(BUILD)
    parts = tuple(p for p in BUILD.parts if p.name == "R2")  # from the input jack to ground
    assert least_lugs(replace(BUILD, parts=parts), terminals, HARDWARE) == 0


def test_a_joint_of_parts_alone_needs_a_lug_and_a_second_one_beyond_four_leads():
    terminals = {k: t for k, t in fixed_terminals(BUILD).items() if t.owner != "R101"}
    feed = next(p for p in BUILD.parts if {t.joint for t in p.terminals} == {"B+3", "V1a.plate"})
    for count, lugs in ((1, 1), (4, 1), (5, 2), (6, 2), (7, 3)):
        parts = tuple(replace(feed, name=f"R{900 + k}") for k in range(count))
        plates = {k: replace(t, capacity=99) if t.joint == "V1a.plate" else t for k, t in terminals.items()}
        assert least_lugs(replace(BUILD, parts=parts), plates, HARDWARE) == lugs


def test_a_pin_that_is_full_needs_lugs_for_the_rest():
    terminals = fixed_terminals(BUILD)
    pin = next(t for t in terminals.values() if t.joint == "V1a.plate")
    feed = next(p for p in BUILD.parts if {t.joint for t in p.terminals} == {"B+3", "V1a.plate"})
    ground = replace(feed, terminals=(replace(feed.terminals[0], joint="ground"), feed.terminals[1]))
    for count in range(1, pin.capacity + 1):
        parts = tuple(replace(ground, name=f"R{900 + k}") for k in range(count))
        assert least_lugs(replace(BUILD, parts=parts), terminals, HARDWARE) == 0
    parts = tuple(replace(ground, name=f"R{900 + k}") for k in range(pin.capacity + 1))
    assert least_lugs(replace(BUILD, parts=parts), terminals, HARDWARE) == 1
