"""Shielded wires: which, where the braid goes, how much jacket comes off, what the checker says."""

from __future__ import annotations

from dataclasses import replace

import pytest

from lugwright.buildfile.build import GROUND, Build, Part, Tank, Terminal, Wishes
from lugwright.catalogue.load import wire_types
from lugwright.errors import PlanError
from lugwright.findings import Place
from lugwright.layout.check_shields import check_shields
from lugwright.layout.checker import check_plan
from lugwright.layout.hardware import hardware_for
from lugwright.layout.joint_classes import joint_classes
from lugwright.layout.lug_plan import plan_lugs
from lugwright.layout.results import Plan, PlanTerminal, Wire
from lugwright.layout.shielding import Run, braids, jackets_mm, quiet_joints, tail_mm
from lugwright.layout.wire_choice import choose_wire

from .amplifier import amplifier

BUILD, VOLTS = amplifier(1)
FORCED = replace(BUILD, wishes=Wishes(shield={"in": True}))


def terminal(key: str, kind: str, x: float, joint: str, capacity: int = 3) -> PlanTerminal:
    return PlanTerminal(key, key.split(".")[0], kind, x, 0.0, 10.0, joint, capacity, key)


def table(*found: PlanTerminal) -> dict[str, PlanTerminal]:
    return {t.key: t for t in found}


TIP, SLEEVE, LUG = (
    terminal("J1.tip", "jack", 0, "in"),
    terminal("J1.sleeve", "jack", 12, GROUND),
    terminal("A.1", "lug", 100, "in"),
)


def input_build(**wishes: bool) -> Build:
    return replace(BUILD, wishes=Wishes(shield=wishes))


def run(length_mm: float, name: str = "signal", joint: str = "in") -> Run:
    return Run(joint, ("J1.tip", "A.1"), name, length_mm)


def test_the_tip_of_an_input_jack_is_a_quiet_joint() -> None:
    assert quiet_joints(BUILD) == {"in"}


@pytest.mark.parametrize(("length_mm", "wanted"), [(60.0, {}), (61.0, {("J1.tip", "A.1"): "J1.sleeve"})])
def test_an_input_wire_longer_than_60_mm_is_shielded_at_its_jack(length_mm, wanted) -> None:
    assert braids(input_build(), table(TIP, SLEEVE, LUG), (), [("J1.tip", "A.1")], [run(length_mm)]) == wanted


def test_the_builder_has_the_last_word_on_a_shield() -> None:
    points = table(TIP, SLEEVE, LUG)
    assert braids(input_build(**{"in": False}), points, (), [], [run(200.0)]) == {}
    assert braids(input_build(**{"in": True}), points, (), [], [run(20.0)]) == {("J1.tip", "A.1"): "J1.sleeve"}


@pytest.mark.parametrize("name", ["heater", "mains", "ground"])
def test_heaters_mains_and_ground_are_never_shielded(name) -> None:
    assert braids(input_build(**{"in": True}), table(TIP, SLEEVE, LUG), (), [], [run(200.0, name)]) == {}


def test_a_full_sleeve_gives_the_braid_to_the_nearest_ground_with_room() -> None:
    full = replace(SLEEVE, capacity=2)
    near, far = terminal("A.3", "lug", 119, GROUND), terminal("A.4", "lug", 128.5, GROUND)
    links = [("J1.sleeve", "x"), ("J1.sleeve", "y"), ("J1.tip", "A.1")]
    assert braids(input_build(), table(TIP, full, LUG, far, near), (), links, [run(90.0)]) == {("J1.tip", "A.1"): "A.3"}
    assert braids(input_build(), table(TIP, full, LUG, far), (), links, [run(90.0)]) == {}


def test_a_braid_leaves_room_for_the_next_one() -> None:
    one = replace(SLEEVE, capacity=1)
    runs = [run(90.0), Run("in", ("J1.tip", "A.2"), "signal", 80.0)]
    other = terminal("A.2", "lug", 109.5, "in")
    assert braids(input_build(), table(TIP, one, LUG, other), (), [], runs) == {("J1.tip", "A.1"): "J1.sleeve"}


def test_jacket_comes_off_for_the_tail_at_one_end_and_for_10_mm_of_core_at_the_other() -> None:
    found = jackets_mm(to_braid_mm=(12.0, 80.0), strip_mm=(6.0, 8.0), braid_strip_mm=6.0)
    assert found == (28.0, 18.0)
    assert jackets_mm(to_braid_mm=(80.0, 12.0), strip_mm=(6.0, 8.0), braid_strip_mm=6.0) == (16.0, 28.0)


def test_the_tail_is_cut_longer() -> None:
    wire = Wire(1, "in", ("J1.tip", "A.1"), "signal", "26 AWG shielded", "white", (), 100.0, (6.0, 8.0), "", ())
    assert tail_mm(wire) == 0.0
    assert tail_mm(replace(wire, shield="J1.sleeve", jacket_mm=(28.0, 18.0))) == 12.0


def test_the_thinnest_shielded_wire_is_taken_and_one_for_amps_there_is_not() -> None:
    assert choose_wire(wire_types(), name="signal", volts=0.0, amps=0.1, shielded=True).name == "26 AWG shielded"
    with pytest.raises(PlanError) as caught:
        choose_wire(wire_types(), name="signal", volts=0.0, amps=9.0, shielded=True)
    assert caught.value.what == "no shielded wire in the catalogue for signal"


@pytest.fixture(scope="module")
def planned() -> Plan:
    return plan_lugs(FORCED, joint_volts=VOLTS)


def test_a_plan_with_a_shield_passes_the_checker_and_the_braid_is_a_lead_at_its_lug(planned) -> None:
    shielded = [w for w in planned.wires if w.shield]
    assert shielded
    assert {w.joint for w in shielded} == {"in"}
    for wire in shielded:
        assert planned.terminals[wire.shield].joint == GROUND
        assert f"W{wire.number} braid" in planned.leads_at(wire.shield)
        assert wire.type == "26 AWG shielded"
    assert check_plan(FORCED, planned, joint_volts=VOLTS) == []


def broken(plan: Plan, **change: object) -> Plan:
    """Return the plan with its first shielded wire changed."""
    first = next(w for w in plan.wires if w.shield)
    return replace(plan, wires=tuple(replace(w, **change) if w is first else w for w in plan.wires))


def said(plan: Plan) -> list[str]:
    return [str(f) for f in check_shields(plan, hardware_for(FORCED))]


def test_the_checker_tells_of_a_braid_that_is_soldered_nowhere(planned) -> None:
    number = next(w.number for w in planned.wires if w.shield)
    assert said(broken(planned, shield="")) == [
        f"fault: the braid of W{number} and its type do not agree [shield-open]\n"
        "  found:  26 AWG shielded, braid soldered nowhere\n"
        "  wanted: a shielded wire with its braid soldered at one end\n"
        "  do:     plan again"
    ]


def test_the_checker_tells_of_a_braid_on_a_terminal_that_is_not_there(planned) -> None:
    number = next(w.number for w in planned.wires if w.shield)
    assert said(broken(planned, shield="Z9.1")) == [
        f"fault: the braid of W{number} is soldered to nothing [terminal-unknown]\n"
        "  found:  no terminal Z9.1\n  wanted: a terminal of this build\n  do:     plan again"
    ]


def test_the_checker_tells_of_a_braid_too_far_away_and_of_too_little_jacket(planned) -> None:
    number = next(w.number for w in planned.wires if w.shield)
    far = next(t for t in planned.terminals.values() if t.owner == "bus" and t.x_mm > 150.0)
    reach, jacket = said(broken(planned, shield=far.key, jacket_mm=(5.0, 20.0)))
    assert reach.startswith(f"fault: the braid of W{number} does not reach {far.label} [shield-reach]\n  found:  ")
    assert reach.endswith(" mm from the nearer end\n  wanted: 45 mm or less\n  do:     solder it to a nearer ground")
    assert jacket == (
        f"fault: the braid of W{number} would touch its core [shield-jacket]\n  found:  5 mm of jacket off\n"
        "  wanted: more jacket off than insulation\n  do:     plan again"
    )


def test_a_braid_on_another_joint_is_a_short_to_ground(planned) -> None:
    wrong = next(t.key for t in planned.terminals.values() if t.joint == "V1a.plate")
    rules = [f.rule for f in check_plan(FORCED, broken(planned, shield=wrong), joint_volts=VOLTS)]
    assert "joints-shorted" in rules


def test_what_comes_back_from_the_springs_is_a_signal_and_what_drives_them_is_not() -> None:
    tank = Part(
        "DL1", "tank", "gain 1", Tank(8.0, 2250.0),
        (Terminal("DL1", "in", "send"), Terminal("DL1", "in_ground", GROUND), Terminal("DL1", "out", "return"),
         Terminal("DL1", "out_ground", GROUND)),
        Place("amp.toml", 1),
    )  # fmt: skip
    joints = BUILD.joints | {"send": (tank.terminal("in"),), "return": (tank.terminal("out"),)}
    build = replace(BUILD, parts=(*BUILD.parts, tank), joints=joints)
    classes = joint_classes(build, VOLTS)
    assert (classes["send"], classes["return"]) == ("speaker", "signal")
    assert quiet_joints(build) == {"in", "return"}
