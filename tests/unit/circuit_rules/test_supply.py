"""Windings, diodes, rectifier tubes and bleeders: what the rules say of them, word for word."""

from __future__ import annotations

from dataclasses import replace

import pytest

from lugwright.buildfile.build import Bridge, Build, Capacitor, Diode, Lamp, Part, Switch
from lugwright.circuit.operating import Idle

from .rating_bench import BODY, build_of, idle_of, part, resistor, told, transformer, tube, winding, with_ripple

WINDING_RULES = ("heater-winding-load", "supply-winding-load", "winding-rating-unknown")
RECTIFIER_RULES = (
    "rectifier-reservoir", "rectifier-peak-current", "rectifier-output-current", "rectifier-inverse-volts",
    "rectifier-supply-resistance",
)  # fmt: skip


def power(*, hv_a: float | None = 0.1, hv_ohm: float = 50.0, primary_ohm: float = 5.0) -> Part:
    """Return a power transformer with a center-tapped supply winding and a heater winding."""
    windings = (
        winding("primary", (120.0,), ohm=primary_ohm),
        winding("hv", (300.0, 300.0), amps=hv_a, ohm=hv_ohm),
        winding("heater", (6.3,), amps=2.0, ohm=0.1),
    )
    return transformer("T1", "power", windings, "line", "neutral", "hv1", "ground", "hv2", "h1", "h2")


def test_a_heater_winding_with_too_many_heaters() -> None:
    build = build_of(power(), tube("V3", "EL34", heater1="h1", heater2="h2"))
    assert told(build, idle_of(build, windings={"T1.heater": 2.4}), rules=WINDING_RULES) == [
        "T1.hv: winding current, RMS: 0 A of 100 mA",
        "T1.heater: heater load, RMS: 2.40 A of 2.00 A",
        "amp.toml:7: fault: winding T1.heater is overloaded [heater-winding-load]",
        "found:  2.40 A RMS",
        "wanted: at most 2.00 A",
        "do:     use a transformer with a stronger winding, or fewer tubes on this one",
    ]


@pytest.mark.parametrize(("load_a", "finding"), [
    (2.0, ""),
    (2.06, "amp.toml:7: doubt: winding T1.heater is overloaded a little [heater-winding-load]"),
    (2.11, "amp.toml:7: fault: winding T1.heater is overloaded [heater-winding-load]"),
])  # fmt: skip
def test_a_winding_a_little_beyond_its_label_is_a_doubt(load_a: float, finding: str) -> None:
    """A winding of 5 V, 2 A gives the tube of 5 V, 2 A that it is made for more where little else loads its core."""
    build = build_of(power(), tube("V3", "EL34", heater1="h1", heater2="h2"))
    lines = told(build, idle_of(build, windings={"T1.heater": load_a}), rules=WINDING_RULES)
    assert [line for line in lines if "amp.toml" in line] == ([finding] if finding else [])
    feel = "after an hour, plug out, feel the transformer: too hot for a hand wants a stronger winding"
    assert (f"do:     {feel}" in lines) == ("doubt" in finding)


def test_a_lamp_makes_a_heater_winding_too() -> None:
    build = build_of(power(), part("DS1", "lamp", Lamp(6.3, 0.15), _1="h1", _2="h2"))
    assert told(build, idle_of(build, windings={"T1.heater": 0.15}), rules=WINDING_RULES) == [
        "T1.hv: winding current, RMS: 0 A of 100 mA",
        "T1.heater: heater load, RMS: 150 mA of 2.00 A",
    ]


def test_a_supply_winding_with_too_much_current() -> None:
    build = build_of(power())
    assert told(build, idle_of(build, windings={"T1.hv": 0.13}), rules=("supply-winding-load",)) == [
        "T1.hv: winding current, RMS: 130 mA of 100 mA",
        "T1.heater: winding current, RMS: 0 A of 2.00 A",
        "amp.toml:7: fault: winding T1.hv is overloaded [supply-winding-load]",
        "found:  130 mA RMS",
        "wanted: at most 100 mA",
        "do:     use a transformer with a stronger winding; the RMS current is 1.2 to 2.3 times the direct current",
    ]


def test_a_winding_without_a_rating_is_a_note() -> None:
    build = build_of(power(hv_a=None))
    assert told(build, idle_of(build, windings={"T1.hv": 0.13}), rules=("winding-rating-unknown",)) == [
        "amp.toml:7: note: T1.hv has no stated rating, its load was not checked [winding-rating-unknown]",
        "found:  130 mA at idle",
        "wanted: amps of the winding, from the maker's label",
        "do:     write amps for winding hv of T1",
    ]


@pytest.mark.parametrize(("peak_v", "grade"), [(169.7, ""), (182.4, "doubt"), (325.3, "fault"), (84.9, "fault")])
def test_a_primary_for_another_mains(peak_v: float, grade: str) -> None:
    build = build_of(power())
    lines = told(build, idle_of(build, parts={"T1.primary.1-2": {"peak_v": peak_v}}), rules=("primary-volts",))
    finding = f"amp.toml:7: {grade}: the primary of T1 is not wound for this mains [primary-volts]"
    assert [line for line in lines if "amp.toml" in line] == ([finding] if grade else [])


def test_a_primary_on_twice_its_mains() -> None:
    build = build_of(power())
    idle = idle_of(build, parts={"T1.primary.1-2": {"peak_v": 339.41}})
    assert told(build, idle, rules=("primary-volts",)) == [
        "T1.primary: mains on the primary, RMS: 240 V of 132 V",
        "amp.toml:7: fault: the primary of T1 is not wound for this mains [primary-volts]",
        "found:  240 V on a winding for 120 V",
        "wanted: within 6% of 120 V",
        "do:     use the tap for this mains: every other voltage of the amplifier scales with it",
    ]


def silicon(inverse_v: float = 1000.0) -> Build:
    """Return a build with one silicon diode."""
    return build_of(part("CR1", "diode", Diode(inverse_v, 1.0, None, 0.0, BODY), anode="a", cathode="k"))


def test_a_diode_with_little_to_spare() -> None:
    build = silicon()
    assert told(build, idle_of(build, parts={"CR1": {"inverse_v": 800.0}}), rules=("diode-inverse-volts",)) == [
        "CR1: inverse volts, mains +10 %: 880 V of 1.00 kV",
        "amp.toml:7: doubt: diode CR1 has little to spare backward [diode-inverse-volts]",
        "found:  800 V peak, 880 V on high mains",
        "wanted: a diode for 1.10 kV or more, this one stands 1.00 kV",
        "do:     use a diode with a higher rating, or two in series",
    ]


def test_a_diode_that_breaks_down_on_high_mains() -> None:
    build = silicon()
    assert told(build, idle_of(build, parts={"CR1": {"inverse_v": 950.0}}), rules=("diode-inverse-volts",)) == [
        "CR1: inverse volts, mains +10 %: 1.04 kV of 1.00 kV",
        "amp.toml:7: fault: diode CR1 breaks down backward [diode-inverse-volts]",
        "found:  950 V peak, 1.04 kV on high mains",
        "wanted: a diode for 1.31 kV or more, this one stands 1.00 kV",
        "do:     use a diode with a higher rating, or two in series",
    ]


def test_a_diode_with_a_fifth_to_spare() -> None:
    build = silicon()
    assert told(build, idle_of(build, parts={"CR1": {"inverse_v": 727.0}}), rules=("diode-inverse-volts",)) == [
        "CR1: inverse volts, mains +10 %: 800 V of 1.00 kV",
    ]


def test_a_diode_of_a_bridge_with_too_much_current() -> None:
    build = build_of(part("CR5", "bridge", Bridge(1000.0, 1.0), ac1="x", ac2="y", plus="p", minus="ground"))
    idle = idle_of(build, parts={"CR5.ac1-plus": {"amps": 1.2}})
    assert told(build, idle, rules=("diode-current",)) == [
        "CR5.ac1-plus: mean current: 1.20 A of 1.00 A",
        "CR5.ac2-plus: mean current: 0 A of 1.00 A",
        "CR5.minus-ac1: mean current: 0 A of 1.00 A",
        "CR5.minus-ac2: mean current: 0 A of 1.00 A",
        "amp.toml:7: fault: diode CR5.ac1-plus carries too much [diode-current]",
        "found:  1.20 A mean",
        "wanted: at most 1.00 A",
        "do:     use a stronger diode",
    ]


@pytest.mark.parametrize(
    ("watts", "what"),
    [(0.5, ""), (0.6, "doubt: Zener diode CR2 runs hot"), (1.1, "fault: Zener diode CR2 is overloaded")],
)
def test_a_zener_diode(watts: float, what: str) -> None:
    build = build_of(part("CR2", "diode", Diode(0.0, 0.0, 62.0, 1.0, BODY), anode="ground", cathode="k"))
    lines = told(build, idle_of(build, parts={"CR2": {"watts": watts}}), rules=("zener-watts",))
    assert [line for line in lines if "amp.toml" in line] == (
        [f"amp.toml:7: {what} at idle [zener-watts]"] if what else []
    )


def rectifier(farad: float = 20e-6, *, lead_ohm: float = 100.0, winding_ohm: float = 50.0) -> Build:
    """Return a 5Y3GT between a winding and its first capacitor."""
    return build_of(
        power(hv_ohm=winding_ohm, primary_ohm=0.1 * winding_ohm),
        resistor("R1", lead_ohm, "hv1", "p1"),
        resistor("R2", lead_ohm, "hv2", "p2"),
        tube("V5", "5Y3GT", plate1="p1", plate2="p2", cathode="B+1", heater1="f1", heater2="B+1"),
        part("C1", "capacitor", Capacitor(farad, 0.2, 500.0, "electrolytic", BODY), _1="B+1", _2="ground"),
    )


def carrying(build: Build, *, amps: float, peak_a: float, inverse_v: float) -> Idle:
    """Return the idle of the rectifier, both plates alike, 300 V on each."""
    figures = {"amps": amps, "peak_a": peak_a, "inverse_v": inverse_v}
    idle = idle_of(build, parts={"V5.plate1": figures, "V5.plate2": figures})
    for plate in ("p1", "p2"):
        idle = with_ripple(idle, plate, rms_v=300.0, peak_to_peak_v=848.0)
    return idle


def test_a_rectifier_within_all_its_limits() -> None:
    build = rectifier()
    idle = carrying(build, amps=0.04, peak_a=0.2, inverse_v=800.0)
    assert told(build, idle, rules=RECTIFIER_RULES) == [
        "V5: peak current of a plate: 200 mA of 440 mA",
        "V5: direct current: 80.0 mA of 125 mA",
        "V5: inverse volts, mains +10 %: 880 V of 1.40 kV",
        "V5: first capacitor: 20.0 µF of 20.0 µF",
        "V5: resistance before a plate: 181 Ω at least 50.0 Ω",
    ]


def test_a_rectifier_beyond_all_its_limits() -> None:
    build = rectifier(50e-6, lead_ohm=1.0, winding_ohm=0.1)
    idle = carrying(build, amps=0.07, peak_a=0.5, inverse_v=1300.0)
    assert told(build, idle, rules=RECTIFIER_RULES) == [
        "V5: peak current of a plate: 500 mA of 440 mA",
        "V5: direct current: 140 mA of 125 mA",
        "V5: inverse volts, mains +10 %: 1.43 kV of 1.40 kV",
        "V5: first capacitor: 50.0 µF of 20.0 µF",
        "V5: resistance before a plate: 1.16 Ω at least 50.0 Ω",
        "amp.toml:7: fault: rectifier V5: inverse volts, mains +10 % above its limit [rectifier-inverse-volts]",
        "found:  1.43 kV",
        "wanted: at most 1.40 kV (5Y3GT)",
        "do:     use a type that stands more, or a winding with fewer volts",
        "amp.toml:7: fault: rectifier V5: direct current above its limit [rectifier-output-current]",
        "found:  140 mA",
        "wanted: at most 125 mA (5Y3GT)",
        "do:     use a stronger rectifier, or draw less",
        "amp.toml:7: fault: rectifier V5: peak current of a plate above its limit [rectifier-peak-current]",
        "found:  500 mA",
        "wanted: at most 440 mA (5Y3GT)",
        "do:     more resistance in each plate lead, or a smaller first capacitor",
        "amp.toml:7: fault: rectifier V5: first capacitor above its limit [rectifier-reservoir]",
        "found:  50.0 µF",
        "wanted: at most 20.0 µF (5Y3GT)",
        "do:     use a smaller first capacitor; smooth behind a resistor or choke instead",
        "amp.toml:7: fault: too little resistance before the plates of V5 [rectifier-supply-resistance]",
        "found:  1.16 Ω in one plate, winding and primary counted",
        "wanted: at least 50.0 Ω at 300 V (5Y3GT)",
        "do:     put 48.8 Ω or more in each plate lead",
    ]


def filter_capacitor(farad: float = 100e-6) -> Part:
    """Return a filter capacitor on B+."""
    return part("C1", "capacitor", Capacitor(farad, 0.2, 500.0, "electrolytic", BODY), _1="B+", _2="ground")


def charged(build: Build, volts: float = 450.0) -> Idle:
    """Return an idle with C1 at some volts."""
    return idle_of(build, parts={"C1": {"volts": volts, "peak_v": volts}})


def test_a_bleeder_that_is_quick_enough() -> None:
    build = build_of(filter_capacitor(), resistor("R1", 220e3, "B+", "ground"))
    assert told(build, charged(build), rules=("bleeder-time",)) == [
        "C1: time to 60 V after switch-off: 44.3 s of 60.0 s",
    ]


def test_a_bleeder_that_is_slow() -> None:
    build = build_of(filter_capacitor(), resistor("R1", 470e3, "B+", "ground"))
    assert told(build, charged(build), rules=("bleeder-time",)) == [
        "C1: time to 60 V after switch-off: 94.7 s of 60.0 s",
        "amp.toml:7: doubt: C1 stays dangerous for long after switch-off [bleeder-time]",
        "found:  450 V (10 J) with 95 s to 60 V while the tubes are cold",
        "wanted: 60 V or less within 60 s",
        "do:     put a bleeder resistor across it, or a smaller one",
    ]


def test_no_bleeder_is_a_danger() -> None:
    build = build_of(filter_capacitor(), resistor("R1", 220e3, "B+", "plate"))
    assert told(build, charged(build), rules=("bleeder-time",)) == [
        "C1: time to 60 V after switch-off: 36.0 ks of 60.0 s",
        "amp.toml:7: danger: C1 stays charged after switch-off [bleeder-time]",
        "found:  450 V (10 J) with no path that empties it",
        "wanted: 60 V or less within 60 s",
        "do:     put a bleeder resistor across it",
    ]


def test_a_bleeder_behind_the_standby_switch_does_not_count() -> None:
    standby = part("S2", "switch", Switch(1, ("off", "on"), "on", "Standby", 250.0, 3.0), _1_common="B+", _1_2="B+2")
    build = build_of(filter_capacitor(), standby, resistor("R1", 220e3, "B+2", "ground"))
    idle = idle_of(build, {"B+": 450.0, "B+2": 450.0}, parts={"C1": {"volts": 450.0, "peak_v": 450.0}})
    assert told(build, idle, rules=("bleeder-time",)) == [
        "C1: time to 60 V after switch-off: 36.0 ks of 60.0 s",
        "amp.toml:7: danger: C1 stays charged after switch-off [bleeder-time]",
        "found:  450 V (10 J) with no path that empties it, with S2 open",
        "wanted: 60 V or less within 60 s",
        "do:     put a bleeder on its side of the switch",
    ]


@pytest.mark.parametrize(("farad", "volts"), [(0.5e-6, 450.0), (100e-6, 59.0)])
def test_small_and_harmless_capacitors_are_not_timed(farad: float, volts: float) -> None:
    build = build_of(filter_capacitor(farad), resistor("R1", 220e3, "B+", "plate"))
    assert told(build, charged(build, volts), rules=("bleeder-time",)) == []


def test_two_capacitors_share_the_bleeder_of_one() -> None:
    second = part("C2", "capacitor", Capacitor(100e-6, 0.2, 500.0, "electrolytic", BODY), _1="B+2", _2="ground")
    build = build_of(
        filter_capacitor(), second, resistor("R1", 1e3, "B+", "B+2"), resistor("R2", 100e3, "B+2", "ground")
    )
    both = {name: {"volts": 450.0, "peak_v": 450.0} for name in ("C1", "C2")}
    lines = told(build, idle_of(build, parts=both), rules=("bleeder-time",))
    # 200 uF through about 100k: 0.2 mF * 100 kohm * ln(7.5) = 40.3 s.
    assert lines == [
        "C1: time to 60 V after switch-off: 40.4 s of 60.0 s",
        "C2: time to 60 V after switch-off: 40.3 s of 60.0 s",
    ]


def test_the_volt_amperes_of_all_secondaries_stand_against_those_of_the_label() -> None:
    build = build_of(power(), tube("V3", "EL34", heater1="h1", heater2="h2"))
    idle = idle_of(build, windings={"T1.hv": 0.08, "T1.heater": 1.5})
    volts = {"T1.primary": 120.0, "T1.hv": 600.0, "T1.heater": 6.0}
    lit = replace(idle, windings={n: replace(w, rms_v=volts[n]) for n, w in idle.windings.items()})
    assert told(build, lit, rules=("transformer-load",)) == ["T1: volt-amperes of all secondaries: 57.0 VA of 72.0 VA"]


def test_a_winding_without_amps_leaves_the_volt_amperes_unknown() -> None:
    build = build_of(power(hv_a=None), tube("V3", "EL34", heater1="h1", heater2="h2"))
    assert told(build, idle_of(build, windings={"T1.heater": 1.5}), rules=("transformer-load",)) == []
