"""Fuses, switches, bonds and speakers: what the rules say of them, word for word."""

from __future__ import annotations

from dataclasses import replace

import pytest

from lugwright.buildfile.build import Bond, Build, Fuse, Inlet, Jack, Part, Speaker, Switch

from .rating_bench import build_of, idle_of, part, resistor, told, transformer, winding


def primary(line: str, neutral: str) -> Part:
    """Return a power transformer on two joints."""
    return transformer("T1", "power", (winding("primary", (120.0,), ohm=5.0),), line, neutral)


INLET = part("P1", "inlet", Inlet(False), line="L", neutral="N", earth="earth")
EARTH_BOND = part("W1", "bond", Bond("protective earth"), _1="chassis", _2="earth")
GROUND_BOND = part("W2", "bond", Bond("circuit ground"), _1="ground", _2="chassis")


def fuse(first: str, second: str, *, amps: float = 2.0, speed: str = "slow") -> Part:
    """Return a fuse between two joints."""
    return part("F1", "fuse", Fuse(amps, speed, 250.0, 0.2), _1=first, _2=second)


def power_switch(poles: int) -> Part:
    """Return a power switch in the line behind the fuse, with two poles in the neutral too."""
    joints = {"_1_common": "L1", "_1_2": "L2"} | ({"_2_common": "N", "_2_2": "N2"} if poles == 2 else {})
    return part("S1", "switch", Switch(poles, ("off", "on"), "on", "Power", 250.0, 3.0), **joints)


def good(*more: Part, amps: float = 2.0, speed: str = "slow") -> Build:
    """Return a mains side as it should be."""
    first = fuse("L", "L1", amps=amps, speed=speed)
    return build_of(INLET, first, power_switch(2), primary("L2", "N2"), EARTH_BOND, GROUND_BOND, *more)


MAINS_RULES = ("no-mains-fuse", "fuse-in-neutral", "single-pole-mains-switch", "ground-not-on-chassis",
               "second-ground-bond")  # fmt: skip


def test_a_mains_side_as_it_should_be_has_no_finding() -> None:
    build = good()
    assert told(build, idle_of(build), rules=MAINS_RULES) == []


def test_no_fuse_is_a_danger() -> None:
    build = build_of(INLET, primary("L", "N"), EARTH_BOND, GROUND_BOND)
    assert told(build, idle_of(build), rules=MAINS_RULES) == [
        "amp.toml:7: danger: no fuse between the mains line and the power transformer [no-mains-fuse]",
        "found:  L reaches the primary without a fuse",
        "wanted: a slow fuse in the line, before the switch",
        "do:     put a fuse at the inlet: without it a shorted winding sets fire to the transformer",
    ]


def test_a_fuse_in_the_neutral_leaves_the_line_without() -> None:
    build = build_of(INLET, fuse("N", "N1"), primary("L", "N1"), EARTH_BOND, GROUND_BOND)
    assert told(build, idle_of(build), rules=MAINS_RULES) == [
        "amp.toml:7: danger: no fuse between the mains line and the power transformer [no-mains-fuse]",
        "found:  L reaches the primary without a fuse",
        "wanted: a slow fuse in the line, before the switch",
        "do:     put a fuse at the inlet: without it a shorted winding sets fire to the transformer",
        "amp.toml:7: fault: fuse F1 is in the neutral [fuse-in-neutral]",
        "found:  F1 is joined to N",
        "wanted: a fuse in the line: when one in the neutral blows, everything inside stays live",
        "do:     move F1 between the inlet's line and the switch",
    ]


def test_a_switch_in_the_line_alone_is_a_note() -> None:
    build = build_of(INLET, fuse("L", "L1"), power_switch(1), primary("L2", "N"), EARTH_BOND, GROUND_BOND)
    assert told(build, idle_of(build), rules=MAINS_RULES) == [
        "amp.toml:7: note: switch S1 opens only the line [single-pole-mains-switch]",
        "found:  1 pole in the line, the other conductor always joined",
        "wanted: a switch that opens line and neutral",
        "do:     use a double-pole switch: a wall outlet wired the wrong way round then harms nobody",
    ]


def test_ground_that_is_not_on_the_metal_is_a_fault() -> None:
    build = build_of(INLET, fuse("L", "L1"), primary("L1", "N"), EARTH_BOND)
    assert told(build, idle_of(build), rules=MAINS_RULES) == [
        "amp.toml:7: fault: circuit ground is not joined to the metal [ground-not-on-chassis]",
        "found:  no bond from ground to chassis",
        'wanted: W2 = { purpose = "circuit ground", ends = ["ground", "chassis"] }',
        "do:     bond it once, at the input jack: it floats, hums, and a fault may lift it to B+",
    ]


def test_ground_on_the_metal_through_a_loop_breaker_is_a_note() -> None:
    build = build_of(INLET, fuse("L", "L1"), primary("L1", "N"), EARTH_BOND, resistor("R1", 10.0, "ground", "chassis"))
    assert told(build, idle_of(build), rules=MAINS_RULES) == [
        "amp.toml:7: note: circuit ground reaches the metal through resistance only [ground-not-on-chassis]",
        "found:  10.0 Ω from ground to chassis",
        "wanted: a loop breaker that carries a fault: two power diodes across the resistor",
        "do:     make sure that a short from B+ to the metal blows a fuse",
    ]


def test_a_jack_that_is_not_isolated_is_a_second_bond() -> None:
    jack = part("J1", "jack", Jack(False, False, False, "Input"), tip="in", sleeve="ground")
    build = good(jack)
    assert told(build, idle_of(build), rules=MAINS_RULES) == [
        "amp.toml:7: doubt: J1 is a second bond of ground to the metal [second-ground-bond]",
        "found:  the sleeve of J1 touches the metal by its bushing",
        "wanted: one bond, W2: two make a loop that picks up hum",
        "do:     insulate the jack with shoulder washers (isolated = true)",
    ]


def test_an_isolated_jack_is_none() -> None:
    build = good(part("J1", "jack", Jack(True, False, False, "Input"), tip="in", sleeve="ground"))
    assert told(build, idle_of(build), rules=MAINS_RULES) == []


def test_a_second_bond_wire() -> None:
    build = good(part("W3", "bond", Bond("circuit ground"), _1="chassis", _2="ground"))
    assert told(build, idle_of(build), rules=MAINS_RULES) == [
        "amp.toml:7: doubt: W3 is a second bond of ground to the metal [second-ground-bond]",
        "found:  W3 joins ground to chassis once more",
        "wanted: one bond, W2: two make a loop that picks up hum",
        "do:     leave it out",
    ]


FUSE_RULES = ("fuse-size", "fuse-speed")


@pytest.mark.parametrize("amps", [0.81, 1.0, 1.5])
def test_a_fuse_that_fits(amps: float) -> None:
    build = good()
    assert len(told(build, idle_of(build, parts={"F1": {"rms_a": amps}}), rules=FUSE_RULES)) == 1


def test_a_fuse_that_may_blow() -> None:
    build = good()
    assert told(build, idle_of(build, parts={"F1": {"rms_a": 1.6}}), rules=FUSE_RULES) == [
        "F1: current through the fuse, RMS: 1.60 A of 2.00 A",
        "amp.toml:7: doubt: fuse F1 may blow without a fault [fuse-size]",
        "found:  1.60 A RMS at idle through a fuse of 2 A",
        "wanted: a fuse of 2.08 A to 4.00 A",
        "do:     use the next size up, slow",
    ]


def test_a_fuse_that_blows() -> None:
    build = good()
    assert told(build, idle_of(build, parts={"F1": {"rms_a": 2.1}}), rules=FUSE_RULES) == [
        "F1: current through the fuse, RMS: 2.10 A of 2.00 A",
        "amp.toml:7: fault: fuse F1 blows without a fault [fuse-size]",
        "found:  2.10 A RMS at idle through a fuse of 2 A",
        "wanted: a fuse of 2.73 A to 5.25 A",
        "do:     use the next size up, slow",
    ]


def test_a_fuse_that_blows_on_an_overloaded_winding_is_not_to_be_made_larger() -> None:
    build = good()
    hv = transformer("T9", "power", (winding("primary", (120.0,)), winding("hv", (200.0,), amps=0.1)), *"abcd")
    build = build_of(*build.parts[:-1], hv)
    idle = idle_of(build, parts={"F1": {"rms_a": 2.1}}, windings={"T9.hv": 0.66})
    assert told(build, idle, rules=FUSE_RULES)[-3:] == [
        "found:  2.10 A RMS at idle through a fuse of 2 A",
        "wanted: a load that the windings can carry",
        "do:     find what overloads T9.hv before any larger fuse goes in: it would carry the fault",
    ]


def test_of_an_amplifier_that_is_switched_off_no_fuse_is_judged() -> None:
    build = good(amps=5.0)
    assert told(build, replace(idle_of(build), mains_rms_a=1e-10), rules=FUSE_RULES) == []


def test_a_fuse_too_large_to_protect() -> None:
    build = good(amps=5.0)
    assert told(build, idle_of(build, parts={"F1": {"rms_a": 0.8}}), rules=FUSE_RULES) == [
        "F1: current through the fuse, RMS: 800 mA of 5.00 A",
        "amp.toml:7: doubt: fuse F1 is too large to protect [fuse-size]",
        "found:  800 mA RMS at idle through a fuse of 5 A",
        "wanted: a fuse of 1.04 A to 2.00 A",
        "do:     use a smaller one, slow",
    ]


def test_a_fast_fuse_before_a_transformer() -> None:
    build = good(speed="fast")
    assert told(build, idle_of(build, parts={"F1": {"rms_a": 1.0}}), rules=FUSE_RULES) == [
        "F1: current through the fuse, RMS: 1.00 A of 2.00 A",
        "amp.toml:7: doubt: fuse F1 is a fast one before a transformer [fuse-speed]",
        'found:  speed = "fast"',
        'wanted: speed = "slow": the transformer takes many times its current for some cycles at switch-on',
        "do:     use a slow fuse of the same amps",
    ]


def output_to(*joints: str, speaker: str) -> Build:
    """Return an output transformer whose secondary ends on joints, and a speaker on another."""
    windings = (winding("primary", (25.0,)), winding("speaker", (1.0,)))
    return build_of(
        transformer("T2", "output", windings, "B+", "plate", *joints),
        part("LS1", "speaker", Speaker(8.0, 15.0), plus=speaker, minus="ground"),
    )


def test_a_speaker_on_the_winding() -> None:
    build = output_to("ground", "hot", speaker="hot")
    assert told(build, idle_of(build), rules=("speaker-not-joined",)) == []


def test_no_speaker_on_the_winding() -> None:
    build = output_to("ground", "hot", speaker="elsewhere")
    assert told(build, idle_of(build), rules=("speaker-not-joined",)) == [
        "amp.toml:7: doubt: no speaker is joined to T2 [speaker-not-joined]",
        "found:  LS1 not reached from ground, hot",
        "wanted: a speaker on the winding, as the switches stand",
        "do:     join it, or set the speaker switch; without load the transformer makes voltages that destroy it",
    ]
