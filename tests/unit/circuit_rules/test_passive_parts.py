"""Resistors, pots, capacitors, chokes, contacts: what the rules say of them, word for word."""

from __future__ import annotations

import pytest

from lugwright.buildfile.build import Can, Capacitor, Choke, Pot, Switch

from .rating_bench import BODY, build_of, idle_of, part, resistor, told


def test_a_cool_resistor_is_a_figure_and_no_finding() -> None:
    build = build_of(resistor("R3", 100e3, "B+", "plate"))
    idle = idle_of(build, parts={"R3": {"watts": 0.1, "peak_v": 100.0}})
    assert told(build, idle, rules=("resistor-watts", "resistor-volts"))[:2] == [
        "R3: heat, at idle: 100 mW of 500 mW",
        "R90: heat, at idle: 0 W of 500 mW",
    ]


def test_a_resistor_above_half_its_watts_runs_hot() -> None:
    build = build_of(resistor("R3", 100e3, "B+", "plate"))
    idle = idle_of(build, parts={"R3": {"watts": 0.3}})
    assert told(build, idle, rules=("resistor-watts",)) == [
        "R3: heat, at idle: 300 mW of 500 mW",
        "R90: heat, at idle: 0 W of 500 mW",
        "amp.toml:7: doubt: resistor R3 runs hot at idle [resistor-watts]",
        "found:  300 mW in a 0.5 W part",
        "wanted: at most 250 mW, half of its rating",
        "do:     use a part for 600 mW or more, and keep it clear of capacitors",
    ]


def test_a_resistor_above_its_watts_with_cold_tubes_is_overloaded() -> None:
    build = build_of(resistor("R3", 100e3, "B+", "plate"))
    cold = idle_of(build, parts={"R3": {"watts": 0.75}})
    assert told(build, idle_of(build), cold, rules=("resistor-watts",)) == [
        "R3: heat, with cold tubes: 750 mW of 500 mW",
        "R90: heat, at idle: 0 W of 500 mW",
        "amp.toml:7: fault: resistor R3 is overloaded with cold tubes [resistor-watts]",
        "found:  750 mW in a 0.5 W part",
        "wanted: at most 250 mW, half of its rating",
        "do:     use a part for 1.50 W or more, and keep it clear of capacitors",
    ]


def test_exactly_half_the_watts_is_allowed() -> None:
    build = build_of(resistor("R3", 100e3, "B+", "plate"))
    idle = idle_of(build, parts={"R3": {"watts": 0.25}})
    assert not any("resistor R3" in line for line in told(build, idle, rules=("resistor-watts",)))


def test_limiting_volts_are_passed_on_high_mains_only() -> None:
    build = build_of(resistor("R3", 1e6, "B+", "plate"))
    cold = idle_of(build, parts={"R3": {"peak_v": 340.0}})
    assert told(build, idle_of(build), cold, rules=("resistor-volts",)) == [
        "R3: volts, with cold tubes, mains +10 %: 374 V of 350 V",
        "R90: volts, at idle, mains +10 %: 0 V of 350 V",
        "amp.toml:7: doubt: resistor R3 stands at more than its limiting voltage with cold tubes [resistor-volts]",
        "found:  340 V, 374 V on high mains",
        "wanted: at most 350 V",
        "do:     use a larger body, or two in series",
    ]


def test_limiting_volts_are_passed_always() -> None:
    build = build_of(resistor("R3", 1e6, "B+", "plate"))
    idle = idle_of(build, parts={"R3": {"peak_v": 400.0}})
    assert told(build, idle, rules=("resistor-volts",)) == [
        "R3: volts, at idle, mains +10 %: 440 V of 350 V",
        "R90: volts, at idle, mains +10 %: 0 V of 350 V",
        "amp.toml:7: fault: resistor R3 stands at more than its limiting voltage at idle [resistor-volts]",
        "found:  400 V, 440 V on high mains",
        "wanted: at most 350 V",
        "do:     use a larger body, or two in series",
    ]


def test_a_pot_is_judged_as_if_its_whole_track_carried_the_current() -> None:
    pot = part("R7", "pot", Pot(10e3, 0.2, "linear", 0.5, 0.5, "Bias"), _1="low", _2="wiper", _3="high")
    build = build_of(pot)
    idle = idle_of(build, parts={"R7.1-2": {"rms_a": 6e-3, "peak_v": 30.0}})
    assert told(build, idle, rules=("pot-watts",)) == [
        "R7: heat, at idle: 360 mW of 500 mW",
        "amp.toml:7: doubt: pot R7 runs hot at idle [pot-watts]",
        "found:  360 mW in a 0.5 W part",
        "wanted: at most 250 mW, half of its rating",
        "do:     use a part for 720 mW or more, and keep it clear of capacitors",
    ]


def test_the_end_stop_of_a_pot_is_not_its_track() -> None:
    pot = part("R7", "pot", Pot(10e3, 0.2, "linear", 1.0, 0.5, "Bias"), _1="low", _2="wiper", _3="high")
    build = build_of(pot)
    idle = idle_of(build, parts={"R7.1-2": {"rms_a": 4e-3}, "R7.2-3": {"rms_a": 20e-3, "peak_v": 0.28}})
    assert told(build, idle, rules=("pot-watts",)) == ["R7: heat, at idle: 160 mW of 500 mW"]


def test_a_film_capacitor_above_its_volts_when_cold() -> None:
    build = build_of(part("C2", "capacitor", Capacitor(22e-9, 0.1, 400.0, "film", BODY), _1="plate", _2="grid"))
    idle, cold = (idle_of(build, parts={"C2": {"peak_v": v}}) for v in (200.0, 380.0))
    assert told(build, idle, cold, rules=("capacitor-volts",)) == [
        "C2: volts, with cold tubes, mains +10 %: 418 V of 400 V",
        "amp.toml:7: fault: capacitor C2 stands at too high a voltage with cold tubes [capacitor-volts]",
        "found:  418 V with mains 10 % high",
        "wanted: at most 400 V",
        "do:     use a part with a higher rating, or two in series with a resistor across each",
    ]


@pytest.fixture
def can() -> Can:
    return Can((40e-6, 20e-6), 0.2, 450.0, BODY)


def test_an_electrolytic_within_its_surge_voltage_is_a_doubt(can: Can) -> None:
    build = build_of(part("C9", "can", can, a="B+1", b="B+2", minus="ground"))
    idle, cold = (idle_of(build, parts={"C9.a": {"peak_v": v, "volts": v}}) for v in (400.0, 440.0))
    assert told(build, idle, cold, rules=("capacitor-volts",)) == [
        "C9.a: volts, with cold tubes, mains +10 %: 484 V of 450 V",
        "C9.b: volts, at idle, mains +10 %: 0 V of 450 V",
        "amp.toml:7: doubt: capacitor C9.a stands at its surge voltage with cold tubes [capacitor-volts]",
        "found:  484 V with mains 10 % high",
        "wanted: at most 450 V (495 V for seconds only)",
        "do:     use a part with a higher rating, or two in series with a resistor across each",
    ]


def test_an_electrolytic_above_its_surge_voltage_is_a_fault(can: Can) -> None:
    build = build_of(part("C9", "can", can, a="B+1", b="B+2", minus="ground"))
    cold = idle_of(build, parts={"C9.a": {"peak_v": 460.0, "volts": 460.0}})
    assert told(build, idle_of(build), cold, rules=("capacitor-volts",)) == [
        "C9.a: volts, with cold tubes, mains +10 %: 506 V of 450 V",
        "C9.b: volts, at idle, mains +10 %: 0 V of 450 V",
        "amp.toml:7: fault: capacitor C9.a stands at too high a voltage with cold tubes [capacitor-volts]",
        "found:  506 V with mains 10 % high",
        "wanted: at most 450 V (495 V for seconds only)",
        "do:     use a part with a higher rating, or two in series with a resistor across each",
    ]


def test_an_electrolytic_the_wrong_way_round_is_a_danger() -> None:
    build = build_of(
        part("C8", "capacitor", Capacitor(47e-6, 0.2, 100.0, "electrolytic", BODY), _1="bias", _2="ground")
    )
    idle = idle_of(build, parts={"C8": {"volts": -48.0, "peak_v": 48.0}})
    assert told(build, idle, rules=("capacitor-reversed",)) == [
        "amp.toml:7: danger: electrolytic C8 stands the wrong way round [capacitor-reversed]",
        "found:  -48.0 V from bias to ground at idle",
        "wanted: its positive end (written first) on the more positive joint",
        "do:     swap its ends in the file; wired like this it bursts",
    ]


def test_a_film_capacitor_has_no_wrong_way_round() -> None:
    build = build_of(part("C8", "capacitor", Capacitor(47e-9, 0.1, 100.0, "film", BODY), _1="bias", _2="ground"))
    idle = idle_of(build, parts={"C8": {"volts": -48.0, "peak_v": 48.0}})
    assert told(build, idle, rules=("capacitor-reversed",)) == []


def test_a_choke_above_its_amps() -> None:
    build = build_of(part("L1", "choke", Choke(10.0, 200.0, 0.09), _1="B+1", _2="B+2"))
    idle = idle_of(build, parts={"L1": {"amps": 0.12}})
    assert told(build, idle, rules=("choke-current",)) == [
        "L1: direct current: 120 mA of 90.0 mA",
        "amp.toml:7: fault: choke L1 carries too much direct current [choke-current]",
        "found:  120 mA",
        "wanted: at most 90.0 mA: above it the core saturates, only wire is left",
        "do:     use a choke for more current",
    ]


def test_a_contact_above_its_amps() -> None:
    switch = part("S1", "switch", Switch(1, ("off", "on"), "on", "Power", 250.0, 3.0), _1_common="a", _1_2="b")
    build = build_of(switch)
    idle = idle_of(build, parts={"S1.1.common-2": {"rms_a": 3.5}})
    assert told(build, idle, rules=("contact-current",)) == [
        "S1: contact current, RMS: 3.50 A of 3.00 A",
        "amp.toml:7: fault: the contacts of switch S1 carry too much [contact-current]",
        "found:  3.50 A RMS",
        "wanted: at most 3.00 A",
        "do:     use a stronger switch",
    ]
