"""A center tap that reaches ground through a fuse and a standby switch."""

from __future__ import annotations

from dataclasses import replace

from lugwright.buildfile.build import Build, Capacitor, Fuse, Part, Placement, Switch, Terminal
from lugwright.catalogue import load
from lugwright.findings import Place
from lugwright.layout.charging_loop import center_taps, reservoirs
from lugwright.layout.joint_classes import joint_classes, joint_facts
from lugwright.layout.lug_plan import plan_lugs
from lugwright.layout.rules.case import case_of
from lugwright.layout.rules.charging_loop import charging_loop

from .amplifier import amplifier

PLAIN, VOLTS = amplifier(1, old_style=True)


def _with(build: Build, parts: tuple[Part, ...]) -> Build:
    joints: dict[str, list[Terminal]] = {}
    for part in parts:
        for terminal in part.terminals:
            if terminal.joint:
                joints.setdefault(terminal.joint, []).append(terminal)
    return replace(build, parts=parts, joints={name: tuple(found) for name, found in joints.items()})


def _fused() -> Build:
    """Return the amplifier with a fuse and a standby switch between the center tap and ground."""
    moved = [
        replace(p, terminals=tuple(replace(t, joint="tap") if t.name == "hv.ct" else t for t in p.terminals))
        for p in PLAIN.parts
    ]
    fuse = (Terminal("F9", "1", "tap"), Terminal("F9", "2", "fused tap"))
    poles = (Terminal("S9", "1.common", "fused tap"), Terminal("S9", "1.1", ""), Terminal("S9", "1.2", "ground"))
    more = (
        Part("F9", "fuse", "supply", Fuse(0.5, "slow", 250.0, 0.2), fuse, Place("amp.toml", 90)),
        Part("S9", "switch", "supply", Switch(1, ("off", "on"), "on", "Standby", 600.0, 3.0), poles,
             Place("amp.toml", 91)),
    )  # fmt: skip
    width = PLAIN.chassis.width_mm if PLAIN.chassis else 0.0
    placements = {
        **PLAIN.placements,
        "F9": Placement((width - 140.0, 30.0), panel="front"),
        "S9": Placement((width - 110.0, 30.0), panel="front"),
    }
    return _with(replace(PLAIN, placements=placements), (*moved, *more))


def test_what_lies_between_the_winding_and_ground_is_b_plus_and_swings_with_it() -> None:
    build = _fused()
    classes = joint_classes(build, VOLTS)
    assert [classes[joint] for joint in ("hv1", "tap", "fused tap", "ground")] == ["B+", "B+", "B+", "ground"]
    facts = joint_facts(build, VOLTS)
    # With the switch open nothing holds the tap: the whole winding may stand between it and ground.
    assert facts["tap"].ac_v == facts["fused tap"].ac_v == 550.0
    assert joint_facts(PLAIN, VOLTS)["hv1"].ac_v == 275.0


def test_a_winding_for_the_bias_alone_is_bias_and_no_signal() -> None:
    (power,) = (p for p in PLAIN.parts if p.name == "T1")
    named = {"five.1": "bias ac", "five.2": "ground"}
    moved = replace(power, terminals=tuple(replace(t, joint=named.get(t.name, t.joint)) for t in power.terminals))
    build = _with(PLAIN, tuple(moved if p is power else p for p in PLAIN.parts if p.name != "V91"))
    assert joint_classes(build, VOLTS)["bias ac"] == "bias"


def test_the_tap_is_found_where_the_last_contact_meets_ground() -> None:
    assert center_taps(PLAIN) == [("T1.hv.ct", {"hv1", "hv2"})]
    assert center_taps(_fused()) == [("S9.1.2", {"hv1", "hv2"})]
    dead_end = _with(_fused(), tuple(p for p in _fused().parts if p.name != "S9"))
    assert center_taps(dead_end) == []


def test_the_switched_tap_closes_its_loop_on_the_can() -> None:
    build = _fused()
    plan = plan_lugs(build, joint_volts=VOLTS)
    assert any(set(w.terminals) == {"S9.1.2", "C90.minus"} for w in plan.wires)
    assert not charging_loop(case_of(build, plan, VOLTS)).findings


def test_a_spike_catcher_is_no_reservoir() -> None:
    body = load.body_row("film capacitor", farad=1e-8, volts=1000.0).body
    ends = (Terminal("C98", "1", "B+1"), Terminal("C98", "2", "ground"))
    catcher = Part("C98", "capacitor", "supply", Capacitor(1e-8, 0.1, 1000.0, False, body), ends, Place("amp.toml", 92))
    build = _with(PLAIN, (*PLAIN.parts, catcher))
    assert [part.name for part in reservoirs(build, {"hv1", "hv2"})] == ["C90"]
