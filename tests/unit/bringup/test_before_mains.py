from __future__ import annotations

import math
from dataclasses import replace

import pytest

from lugwright.bringup.before_mains import COUNT, before_mains
from lugwright.bringup.look_list import NO_PLAN, mains_joints
from lugwright.bringup.ohms_chart import ohms_chart
from lugwright.bringup.ohms_sections import SECTIONS
from lugwright.bringup.results import PLUG_OUT, Reading, Step
from lugwright.buildfile.build import Build, Inlet
from lugwright.circuit.network import Circuit
from lugwright.layout.results import Plan, PlanTerminal, SeatedPart
from lugwright.solve.idle import solve_idle


def terminal(key: str, joint: str, x_mm: float, label: str) -> PlanTerminal:
    return PlanTerminal(key, key.partition(".")[0], "lug", x_mm, 0.0, 10.0, joint, 4, label)


PLAN = Plan(
    "small",
    {t.key: t for t in (
        terminal("A.1", "B+1", 0.0, "strip A lug 1"), terminal("A.2", "ground", 9.5, "strip A lug 2"),
        terminal("A.3", "B+2", 19.0, "strip A lug 3"), terminal("A.4", "V1a.cathode", 60.0, "strip A lug 4"),
    )},
    (
        SeatedPart("C5", ("A.1", "A.2"), ("1", "2"), 1, 30.0, 12.0, 8.0, 9.5),
        SeatedPart("CR1", ("A.2", "A.1"), ("anode", "cathode"), 1, 5.0, 3.0, 8.0, 9.5),
    ),
    (), (), {},
)  # fmt: skip


@pytest.fixture(scope="module")
def dunlin_before(dunlin: tuple[Build, Circuit]) -> tuple[Step, ...]:
    return steps_of(dunlin, PLAN)


def steps_of(built: tuple[Build, Circuit], plan: Plan | None) -> tuple[Step, ...]:
    build, circuit = built
    (idle,) = solve_idle(circuit)
    volts = {joint: level.volts for joint, level in idle.joints.items()}
    return before_mains(build, circuit, idle, ohms_chart(build, circuit), plan=plan, joint_volts=volts)


def at(step: Step, point: str) -> Reading:
    (found,) = [r for r in step.readings if r.point == point]
    return found


def test_four_steps_come_before_the_plug(dunlin_before: tuple[Step, ...]) -> None:
    assert [(s.number, s.key, s.title) for s in dunlin_before] == [
        (1, "look", "Look it over"),
        (2, "earth", "Earth bond"),
        (3, "polarity", "Electrolytics the right way round"),
        (4, "ohms", "Ohms chart"),
    ]
    assert len(dunlin_before) == COUNT
    for step in dunlin_before:
        assert step.mains == PLUG_OUT
        assert step.stop_if
        assert "measured below 60 V" in step.cautions[0]


def test_without_an_inlet_there_is_nothing_to_plug_in(dunlin: tuple[Build, Circuit]) -> None:
    build, circuit = dunlin
    bare = replace(build, parts=tuple(p for p in build.parts if not isinstance(p.values, Inlet)))
    (idle,) = solve_idle(circuit)
    assert before_mains(bare, circuit, idle, ohms_chart(build, circuit), plan=None, joint_volts={}) == ()


def test_the_look_names_places_of_this_plan(dunlin_before: tuple[Step, ...]) -> None:
    do = dunlin_before[0].do
    assert "Every job card done: 0 wires, 2 parts, no lead left over." in do
    assert "CR1: the band at strip A lug 1 (B+1)." in do
    assert any(w.startswith("Nothing between strip A lug 1 (B+1) and strip A lug 2 (ground): 9.5 mm apart") for w in do)
    assert "F1: 0.5 A slow, read on the fuse itself, not on the holder." in do
    assert "Circuit ground touches the metal nowhere but at W2." in do
    assert do[-1] == "No wire pulled tight over an edge of metal, no strand outside its hole, no sleeve melted back."


def test_without_a_plan_the_look_asks_for_one(dunlin: tuple[Build, Circuit]) -> None:
    look, _, polarity, _ = steps_of(dunlin, None)
    assert NO_PLAN in look.do
    assert not any(words.startswith("Nothing between") for words in look.do)
    assert any(
        words.startswith("C6.a: + at C6 a (B+1), the end marked minus at C6 minus (ground)") for words in polarity.do
    )


def test_mains_is_followed_through_fuse_and_switch_to_the_primary(godwit: tuple[Build, Circuit]) -> None:
    assert mains_joints(godwit[0]) == {"F1.1", "S1.1.common", "S1.2.common", "T1.primary.1", "T1.primary.2"}


def test_the_earth_bond_reaches_every_metal_part_and_no_mains_reaches_it(godwit: tuple[Build, Circuit]) -> None:
    _, earth, _, _ = steps_of(godwit, None)
    points = [r.point for r in earth.readings]
    for wanted in (
        "P1 earth pin to bare chassis metal beside the earth bolt",
        "P1 earth pin to the core of T1",
        "P1 earth pin to the shaft of R10 Volume",
        "P1 earth pin to the lever or bushing of S1 Mains",
        "P1 earth pin to the sleeve of J1",
    ):
        assert wanted in points
    assert at(earth, "P1 earth pin to the core of T1").high == 0.1
    live = at(earth, "P1 line to P1 earth, fuse in, mains switch on")
    assert math.isinf(live.expected)
    assert live.guards == "the metal is live as soon as the plug is in"
    assert all(r.deadly for r in earth.readings)


def test_every_electrolytic_is_named_with_its_plus(dunlin_before: tuple[Step, ...]) -> None:
    polarity = dunlin_before[2]
    (words,) = [w for w in polarity.do if w.startswith("C5:")]
    assert words == (
        "C5: + at strip A lug 1 (V2.cathode), the end marked minus at strip A lug 2 (ground); 14 V of its 50 V stand "
        "across it."
    )
    assert "may burst in your face" in polarity.stop_if[0]


def test_red_on_minus_reads_through_the_rectifier_of_a_first_filter(godwit: tuple[Build, Circuit]) -> None:
    _, _, polarity, _ = steps_of(godwit, None)
    plus, minus = at(polarity, "C23.a, red on plus"), at(polarity, "C23.a, red on minus")
    assert minus.expected < 0.1 * plus.expected
    assert minus.note == "through a diode: depends on the meter"
    assert plus.note == "wait until it stands still; a short here is no capacitor"
    assert (plus.red, plus.black) == (minus.black, minus.red) == ("C23.a", "C23.minus")


def test_ohms_go_section_by_section_and_b_plus_is_a_guard(godwit: tuple[Build, Circuit]) -> None:
    _, _, _, ohms = steps_of(godwit, None)
    sections = [r.section for r in ohms.readings]
    assert list(dict.fromkeys(sections)) == list(SECTIONS)
    assert sections == sorted(sections, key=SECTIONS.index)
    first = at(ohms, "B+1 to ground")
    assert first.guards == "a short on B+ takes rectifier, fuse and transformer with it"
    assert first.note == "climbs for about 40 s while C23.a and C23.b charge"
    assert at(ohms, "V5 pin 5 (grid)").section == "bias"
    assert at(ohms, "V5 pin 5 (grid)").guards == "an output grid without its path to the bias lets its tube run away"
    assert at(ohms, "T1 lead heater.1").section == "heaters"
    assert at(ohms, "P1 line to neutral, power switch as in the build file").section == "mains side"
    assert at(ohms, "C23 lug minus").section == "grounds"
