"""What hangs on which terminal, and what falls off with a wire: against a graph search of another make."""

from __future__ import annotations

from collections.abc import Mapping

import pytest
from tests.planned_examples import NAMES, example

from lugwright.bringup.wired import TOUCH_OHM, Piece, Wired
from lugwright.circuit.rewiring import Bridge, Moved, ends_of, rewired

from .faults.one_stage import number_of, one_stage


@pytest.fixture(scope="module")
def wired() -> Wired:
    return Wired(*one_stage())


def demo(name: str) -> Wired:
    opened = example(name)
    return Wired(opened.build, opened.circuit, opened.plan)


def wire(one: str, other: str) -> str:
    return f"W{number_of(one, other)}"


def test_every_end_hangs_on_one_terminal_of_its_own_joint(wired: Wired) -> None:
    hanging = [end for piece in wired.pieces.values() for end in piece.ends]
    loose = {("mains", "a"), ("limiter", "a")}  # behind the wall
    assert len(hanging) == len(set(hanging))
    assert {(e, f) for e, f, _ in ends_of(wired.circuit.elements)} - set(hanging) == loose
    for piece in wired.pieces.values():
        for key in piece.keys:
            assert {wired.joint_of[end] for end in piece.ends} <= {wired.plan.terminals[key].joint}


@pytest.mark.parametrize("name", NAMES)
def test_every_end_of_a_demo_hangs_on_one_terminal_of_its_own_joint(name: str) -> None:
    found = demo(name)
    hanging = [end for piece in found.pieces.values() for end in piece.ends]
    assert len(hanging) == len(set(hanging))
    behind = {("mains", "a"), ("limiter", "a")}
    assert {(e, f) for e, f, _ in ends_of(found.circuit.elements)} - set(hanging) == behind
    for piece in found.pieces.values():
        for key in piece.keys:
            assert {found.joint_of[end] for end in piece.ends} <= {found.plan.terminals[key].joint}


def test_leads_pins_and_lugs_carry_the_ends_of_their_elements(wired: Wired) -> None:
    assert wired.pieces["R3.1"] == Piece("R3.1", ("A.2",), (("R3", "a"),))
    assert wired.pieces["V1.1"] == Piece("V1.1", ("V1.1",), (("V1a", "plate"),))
    assert wired.pieces["R5.2"] == Piece("R5.2", ("R5.2",), (("R5.1-2", "b"), ("R5.2-3", "a")))
    assert wired.pieces["J1.tip_switch"].ends == (("J1.tip-tip_switch", "b"),)
    assert wired.pieces["metal"].keys == ("A.5", "chassis.1", "chassis.2")
    assert wired.at["B.4"] == (wire("T1.hv.2", "B.4"), wire("B.4", "ground.5"), "C3.2", "C4.2", "R9.2")


def test_a_wire_to_a_plate_takes_the_far_side_along(wired: Wired) -> None:
    found = wired.without([wire("V1.1", "A.3")])
    assert found.rewiring.moved == (Moved("C2", "a", "V1a.plate'"),)
    assert found.stands == {"A.3": "V1a.plate'"}


def test_a_ring_of_ground_wires_loses_nothing() -> None:
    build, circuit, plan = one_stage()
    wired = Wired(build, circuit, plan)
    ring = wired.otherwise("ring", {"more": (Piece("more", ("J1.tip_switch", "ground.4")),)})
    assert not ring
    both = {"more": (Piece("more", ("J1.tip_switch", "ground.4")),), wire("J1.sleeve", "ground.1"): ()}
    assert not wired.otherwise("ring", both)


def test_a_dry_joint_falls_apart_into_all_its_leads(wired: Wired) -> None:
    found = wired.dry("V1.3")
    # The electrode, a resistor and a capacitor: the first of three pieces with one end each keeps the name.
    assert {(m.element, m.end) for m in found.rewiring.moved} <= {("V1a", "cathode"), ("R4", "a"), ("C1", "a")}
    assert len(found.rewiring.moved) == 2
    assert len({m.to for m in found.rewiring.moved}) == 2


def test_a_wire_on_the_next_pin_joins_what_it_carries_to_it(wired: Wired) -> None:
    found = wired.shifted(wire("R5.2", "V1.7"), "V1.7", "V1.8")
    assert set(found.rewiring.moved) == {Moved("V1b", "grid", "V1b.grid'")}
    assert found.rewiring.bridges == (Bridge("V1b.cathode", "V1b.grid", TOUCH_OHM),)
    assert found.stands == {"V1.7": "V1b.grid'"}


def test_a_lead_on_a_spare_lug_hangs_free_and_the_lug_reads_it(wired: Wired) -> None:
    found = wired.shifted("C2.2", "A.4", "A.6")
    assert found.rewiring.moved == (Moved("C2", "b", "R5.3'"),)
    assert found.stands == {"A.6": "R5.3'"}


def test_touching_lugs_are_bridged_and_those_of_one_joint_are_not(wired: Wired) -> None:
    found = wired.joined("A.2", "A.3")
    assert found.rewiring.bridges == (Bridge("B+1", "V1a.plate", TOUCH_OHM),)
    assert not found.rewiring.moved
    assert not found.stands
    assert not wired.joined("V1.4", "V1.5")


def test_ground_keeps_its_name_where_it_is_bridged(wired: Wired) -> None:
    assert wired.joined("B.4", "B.5").rewiring.bridges == (Bridge("ground", "B+1", TOUCH_OHM),)


@pytest.mark.parametrize("name", ["one_stage", *NAMES])
def test_what_a_missing_wire_moves_is_what_hangs_off_its_joint(name: str) -> None:
    found = Wired(*one_stage()) if name == "one_stage" else demo(name)
    for one in found.plan.wires:
        if one.bond:
            continue
        missing = found.without([f"W{one.number}"])
        parts = _parted(found, one.number, one.joint)
        moved = {(m.element, m.end) for m in missing.rewiring.moved}
        assert len(parts) in (1, 2), one.terminals
        if len(parts) == 1:
            assert not missing
            continue
        smaller = min(parts, key=len)
        if len(parts[0]) != len(parts[1]):
            assert moved == smaller, one.terminals
        else:
            assert moved in parts
        assert len({m.to for m in missing.rewiring.moved}) <= 1
        rewired(found.circuit, missing.rewiring)


def _parted(found: Wired, without: int, joint: str) -> list[set[tuple[str, str]]]:
    """Return the ends of each part that a joint falls into: a flood from end to end over an incidence table."""
    table: Mapping[str, tuple[str, ...]] = {
        name: piece.keys
        for name, piece in found.pieces.items()
        if name != f"W{without}" and any(found.plan.terminals[k].joint == joint for k in piece.keys)
    }
    left = {key for key, t in found.plan.terminals.items() if t.joint == joint}
    parts = []
    while left:
        flood, edge = set(), {min(left)}
        while edge:
            flood |= edge
            edge = {k for keys in table.values() if edge & set(keys) for k in keys} - flood
        left -= flood
        parts.append({end for name, keys in table.items() if flood & set(keys) for end in found.pieces[name].ends})
    return parts
