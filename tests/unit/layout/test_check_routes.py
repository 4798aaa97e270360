"""Wires that cannot be cut or laid as the plan says, word for word."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from lugwright.buildfile.read import read_text
from lugwright.layout.check_routes import check_routes
from lugwright.layout.hardware import hardware_for
from lugwright.layout.results import Plan, PlanTerminal, Wire

BUILD = read_text((Path(__file__).parents[3] / "examples" / "dunlin_5.toml").read_text()).build
assert BUILD is not None
HARDWARE = hardware_for(BUILD)
TERMINALS = {
    key: PlanTerminal(key, key.split(".")[0], kind, x, 0.0, 10.0, joint, 4, key)
    for key, kind, x, joint in (
        ("A.1", "lug", 0.0, "drive"), ("A.2", "lug", 100.0, "drive"), ("A.3", "lug", 200.0, "drive"),
        ("ground.1", "bus", 0.0, "ground"), ("ground.2", "bus", 100.0, "ground"),
    )
}  # fmt: skip


def wire(number: int, a: str, b: str, **changes: object) -> Wire:
    ends = TERMINALS[a], TERMINALS[b]
    route = tuple((t.x_mm, t.y_mm, t.z_mm) for t in ends)
    plain = Wire(
        number, ends[0].joint, (a, b), "signal", "22 AWG solid 600 V", "white", route, 300.0, (6.0, 6.0), "", ()
    )
    return replace(plain, **changes)


def said(*wires: Wire) -> list[str]:
    plan = Plan("Dunlin 5", TERMINALS, (), wires, (), {})
    return [str(finding) for finding in check_routes(BUILD, plan, HARDWARE)]


def test_wires_that_are_right() -> None:
    assert said(wire(1, "A.1", "A.2"), wire(2, "A.2", "A.3")) == []


def test_one_number_twice() -> None:
    assert said(wire(7, "A.1", "A.2"), wire(7, "A.2", "A.3")) == [
        "fault: 2 wires are called W7 [wire-number]\n"
        "  found:  A.1 to A.2, A.2 to A.3\n"
        "  wanted: each number once\n"
        "  do:     plan again"
    ]


def test_a_type_of_no_reel() -> None:
    assert said(wire(1, "A.1", "A.2", type="bell wire")) == [
        "fault: W1 is of a type no reel has [wire-unknown]\n"
        "  found:  bell wire\n"
        "  wanted: a wire type of the catalogue\n"
        "  do:     plan again"
    ]


def test_green_and_yellow_is_the_earth_and_nothing_else() -> None:
    assert said(wire(1, "A.1", "A.2", color="green-yellow")) == [
        "danger: W1 (drive) has the wrong color [earth-color]\n"
        "  found:  green-yellow\n"
        "  wanted: any color but green-yellow\n"
        "  do:     plan again"
    ]
    earth = wire(1, "A.1", "A.2", color="green-yellow", bond="W1", joint="earth")
    assert said(earth) == []
    assert said(replace(earth, color="black")) == [
        "danger: W1 (earth) has the wrong color [earth-color]\n"
        "  found:  black\n"
        "  wanted: green-yellow\n"
        "  do:     plan again"
    ]


def test_a_wire_too_short_to_be_remade() -> None:
    assert said(wire(1, "A.1", "A.2", length_mm=115.0)) == []
    assert said(wire(1, "A.1", "A.2", length_mm=114.0)) == [
        "fault: W1 is cut too short to be remade [wire-slack]\n"
        "  found:  114 mm for a way of 100 mm\n"
        "  wanted: 115 mm or more\n"
        "  do:     plan again"
    ]


def test_a_twist_takes_up_wire() -> None:
    """18 AWG solid 600 V is 2.55 mm thick: 115 mm times the root of 1 + (2.55 pi / 10) squared."""
    one = wire(1, "A.1", "A.2", type="18 AWG solid 600 V", twist="pair", length_mm=120.0)
    assert said(one) == []
    assert said(one, replace(one, number=2, terminals=("A.3", "A.2"), length_mm=148.0)) == [
        "fault: W1 is cut too short to be remade [wire-slack]\n"
        "  found:  120 mm for a way of 100 mm\n"
        "  wanted: 147 mm or more, twist included\n"
        "  do:     plan again"
    ]


def test_a_ring_of_wires() -> None:
    ring = wire(1, "A.1", "A.2"), wire(2, "A.2", "A.3"), wire(3, "A.3", "A.1")
    assert said(*ring) == [
        "fault: W3 closes a ring of wires [wire-ring]\n"
        "  found:  A.3 to A.1, joined already\n"
        "  wanted: one way between any two points\n"
        "  do:     leave the wire out"
    ]
    assert [text.splitlines()[0] for text in said(wire(4, "ground.1", "ground.2"))] == [
        "fault: W4 closes a ring of wires [wire-ring]"
    ]
    assert [text.splitlines()[0] for text in said(wire(5, "A.1", "A.1"))] == [
        "fault: W5 closes a ring of wires [wire-ring]"
    ]


def test_twins_that_part() -> None:
    along = ((0.0, 0.0, 3.0), (0.0, 5.0, 3.0), (200.0, 5.0, 3.0), (200.0, 0.0, 3.0))
    astray = ((0.0, 0.0, 3.0), (0.0, 30.0, 3.0), (200.0, 30.0, 3.0), (200.0, 0.0, 3.0))
    one = wire(1, "A.1", "A.3", twist="T1-V1 heater", route=along, length_mm=400.0)
    two = wire(2, "A.3", "A.2", twist="T1-V1 heater", route=along, length_mm=400.0)
    assert said(one, two) == []
    assert said(one, replace(two, route=astray, length_mm=500.0)) == [
        "fault: the two wires of twist T1-V1 heater run apart [twins-part]\n"
        "  found:  25 mm\n"
        "  wanted: at most 12 mm, but at their ends\n"
        "  do:     plan again"
    ]
