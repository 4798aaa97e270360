"""Amplifying tubes and their grids, heaters and unknown limits, word for word."""

from __future__ import annotations

from dataclasses import replace

from lugwright.buildfile.build import Build
from lugwright.catalogue.records import Specimen

from .rating_bench import build_of, idle_of, resistor, told, transformer, tube, winding, with_ripple

CATHODE_BIAS = {"k": 14.0}
FIXED_BIAS = {"g": -35.0}


def el34(grid_ohm: float = 220e3) -> Build:
    """Return an EL34 with a grid leak and a cathode resistor."""
    return build_of(
        tube("V3", "EL34", plate="p", grid="g", screen="s", cathode="k", heater1="h1", heater2="h2"),
        resistor("R1", grid_ohm, "g", "ground"),
        resistor("R2", 470.0, "k", "ground"),
    )


def output(plate_w: float = 10.0, **figures: float) -> dict[str, dict[str, float | None]]:
    """Return the idle of V3."""
    return {"V3": {"plate_to_cathode_v": 400.0, "screen_to_cathode_v": 390.0, "plate_w": plate_w, **figures}}


def test_a_plate_that_nothing_feeds_is_a_fault() -> None:
    build = el34()
    unfed = {"V3": {"plate_to_cathode_v": -1.2, "screen_to_cathode_v": 390.0}}
    assert told(build, idle_of(build, {"k": 3.0, "s": 393.0}, tubes=unfed), rules=("tube-unfed",)) == [
        "amp.toml:7: fault: nothing feeds the plate of V3 [tube-unfed]",
        "found:  -1.20 V plate to cathode",
        "wanted: a resistor, a choke or a winding from its supply to V3.plate",
        "do:     look for an end that is missing or written otherwise at p",
    ]
    assert told(build, idle_of(build, {"k": 3.0, "s": 393.0}, tubes=output()), rules=("tube-unfed",)) == []
    assert told(build, idle_of(build, {"s": 0.5}, tubes=unfed), rules=("tube-unfed",)) == []  # the supply is off


def test_a_triode_used_as_a_diode_is_fed_by_its_signal() -> None:
    build = build_of(tube("V1", "12AX7", a_plate="k", a_cathode="k", a_grid="g"))
    figures = {"V1a": {"plate_to_cathode_v": 0.0, "screen_to_cathode_v": None}}
    assert told(build, idle_of(build, {"B+": 300.0}, tubes=figures), rules=("tube-unfed",)) == []


def test_a_plate_above_its_watts_is_a_fault() -> None:
    build = el34()
    assert told(build, idle_of(build, CATHODE_BIAS, tubes=output(26.0)), rules=("plate-watts",)) == [
        "V3: plate heat: 26.0 W of 25.0 W",
        "amp.toml:7: fault: the plate of V3 is overloaded [plate-watts]",
        "found:  26.0 W (104%)",
        "wanted: at most 25 W (EL34)",
        "do:     use a larger cathode resistor, or make its screen volts lower",
    ]


def test_a_plate_above_its_watts_with_fixed_bias_wants_more_bias() -> None:
    build = el34()
    said = told(build, idle_of(build, FIXED_BIAS, tubes=output(26.0)), rules=("plate-watts",))
    assert said[-1] == "do:     make its bias more negative, or make its screen volts lower"


def test_an_output_tube_that_is_nearly_cut_off_idles_cold() -> None:
    build = el34()
    assert told(build, idle_of(build, FIXED_BIAS, tubes=output(7.6)), rules=("idle-cold",)) == []
    assert told(build, idle_of(build, FIXED_BIAS, tubes=output(2.0)), rules=("idle-cold",)) == [
        "amp.toml:7: doubt: V3 idles cold [idle-cold]",
        "found:  8% of its plate limit",
        "wanted: 30% or more: below, soft notes are rough (crossover distortion)",
        "do:     make its bias less negative",
    ]
    said = told(build, idle_of(build, CATHODE_BIAS, tubes=output(2.0)), rules=("idle-cold",))
    assert said[-1] == "do:     use a smaller cathode resistor"


def test_a_small_pentode_may_idle_at_a_few_percent() -> None:
    build = build_of(tube("V1", "EF86", plate="p", screen="s", grid="g", suppressor="k", cathode="k"))
    figures = {"V1": {"plate_to_cathode_v": 90.0, "screen_to_cathode_v": 100.0, "plate_w": 0.07}}
    assert told(build, idle_of(build, {"k": 2.0}, tubes=figures), rules=("idle-cold",)) == []


def test_an_overloaded_triode_has_no_screen_to_lower() -> None:
    build = build_of(tube("V1", "12AX7", a_plate="p", a_cathode="k", a_grid="g"))
    figures = {"V1a": {"plate_to_cathode_v": 300.0, "screen_to_cathode_v": None, "plate_w": 1.2}}
    said = told(build, idle_of(build, {"k": 1.5}, tubes=figures), rules=("plate-watts",))
    assert said[-1] == "do:     use a larger cathode resistor, or make its plate volts lower"


def test_a_plate_above_75_percent_with_fixed_bias_is_a_doubt() -> None:
    build = el34()
    assert told(build, idle_of(build, FIXED_BIAS, tubes=output(20.0)), rules=("plate-watts",)) == [
        "V3: plate heat: 20.0 W of 25.0 W",
        "amp.toml:7: doubt: V3 idles hot [plate-watts]",
        "found:  20.0 W of 25 W (80%)",
        "wanted: at most 75% with fixed bias",
        "do:     make its bias more negative",
    ]


def test_the_same_plate_with_cathode_bias_is_well() -> None:
    build = el34()
    assert told(build, idle_of(build, CATHODE_BIAS, tubes=output(20.0)), rules=("plate-watts",)) == [
        "V3: plate heat: 20.0 W of 25.0 W",
    ]


def test_a_plate_above_the_wise_share_with_cathode_bias_is_a_doubt() -> None:
    build = el34()
    assert told(build, idle_of(build, CATHODE_BIAS, tubes=output(24.5)), rules=("plate-watts",)) == [
        "V3: plate heat: 24.5 W of 25.0 W",
        "amp.toml:7: doubt: V3 idles hot [plate-watts]",
        "found:  24.5 W of 25 W (98%)",
        "wanted: at most 90% with cathode bias",
        "do:     use a larger cathode resistor",
    ]


def test_a_screen_above_its_watts() -> None:
    build = el34()
    assert told(build, idle_of(build, CATHODE_BIAS, tubes=output(screen_w=9.0)), rules=("screen-watts",)) == [
        "V3: screen heat: 9.00 W of 8.00 W",
        "amp.toml:7: fault: the screen of V3 is overloaded [screen-watts]",
        "found:  9.00 W (112%)",
        "wanted: at most 8 W (EL34)",
        "do:     use a larger cathode resistor, or make its screen volts lower",
    ]


def test_a_screen_above_its_volts() -> None:
    build = el34()
    idle = idle_of(build, CATHODE_BIAS, tubes=output(screen_to_cathode_v=440.0))
    assert told(build, idle, rules=("tube-volts",)) == [
        "V3: plate volts at idle: 400 V of 800 V",
        "V3: screen volts at idle: 440 V of 425 V",
        "amp.toml:7: fault: the screen of V3 stands too high at idle [tube-volts]",
        "found:  440 V screen to cathode",
        "wanted: at most 425 V",
        "do:     lower its supply, or use a type that stands more",
    ]


def test_a_plate_above_its_volts_with_cold_tubes() -> None:
    build = build_of(tube("V1", "12AX7", a_plate="p", a_cathode="k", a_grid="g"))
    idle = idle_of(build, {"k": 1.5}, tubes={"V1a": {"plate_to_cathode_v": 200.0, "screen_to_cathode_v": None}})
    cold = idle_of(build, tubes={"V1a": {"plate_to_cathode_v": 560.0, "screen_to_cathode_v": None}})
    assert told(build, idle, cold, rules=("tube-volts", "tube-volts-cold")) == [
        "V1a: plate volts at idle: 200 V of 300 V",
        "V1a: plate volts, tubes cold: 560 V of 550 V",
        "amp.toml:7: fault: the plate of V1a stands too high, tubes cold [tube-volts-cold]",
        "found:  560 V plate to cathode",
        "wanted: at most 550 V",
        "do:     lower its supply, or use a type that stands more",
    ]


def test_a_design_maximum_limit_is_held_on_high_mains() -> None:
    build = build_of(tube("V3", "6L6GC", plate="p", grid="g", screen="s", cathode="k"))
    idle = idle_of(build, FIXED_BIAS, tubes=output(plate_to_cathode_v=470.0))
    assert told(build, idle, rules=("tube-volts",)) == [
        "V3: plate volts at idle, mains +10 %: 517 V of 500 V",
        "V3: screen volts at idle, mains +10 %: 429 V of 450 V",
        "amp.toml:7: fault: the plate of V3 stands too high at idle, mains +10 % [tube-volts]",
        "found:  517 V plate to cathode",
        "wanted: at most 500 V",
        "do:     lower its supply, or use a type that stands more",
    ]


def test_a_cathode_above_its_current() -> None:
    build = el34()
    idle = idle_of(build, CATHODE_BIAS, tubes=output(plate_a=0.14, screen_a=0.02))
    assert told(build, idle, rules=("cathode-current",)) == [
        "V3: cathode current: 160 mA of 150 mA",
        "amp.toml:7: fault: the cathode of V3 gives too much current [cathode-current]",
        "found:  160 mA",
        "wanted: at most 150 mA (EL34)",
        "do:     make its bias more negative, or its load larger",
    ]


def test_a_cathode_follower_too_far_above_its_heater() -> None:
    build = build_of(tube("V1", "6SN7GT", a_cathode="ka", b_cathode="kb", heater1="h1", heater2="h2"))
    idle = with_ripple(idle_of(build, {"kb": 150.0, "h1": 40.0, "h2": 40.0}), "h1", rms_v=3.15, peak_to_peak_v=8.9)
    assert told(build, idle, rules=("heater-cathode-volts",)) == [
        "V1: heater to cathode, at idle: 114 V of 90.0 V",
        "amp.toml:7: fault: too much between heater and cathode of V1 at idle [heater-cathode-volts]",
        "found:  114 V peak between the heater and V1b.cathode",
        "wanted: at most 90.0 V (6SN7GT)",
        "do:     lift the heater winding on a direct voltage nearer to the cathode, or use a winding of its own",
    ]


def test_a_lifted_heater_winding_saves_it() -> None:
    build = build_of(tube("V1", "6SN7GT", a_cathode="ka", b_cathode="kb", heater1="h1", heater2="h2"))
    idle = idle_of(build, {"kb": 150.0, "ka": 2.0, "h1": 70.0, "h2": 70.0})
    assert told(build, idle, rules=("heater-cathode-volts",)) == [
        "V1: heater to cathode, at idle: 80.0 V of 90.0 V",
    ]


def test_too_much_resistance_in_a_grid_circuit() -> None:
    build = el34(1e6)
    assert told(build, idle_of(build, CATHODE_BIAS, tubes=output()), rules=("grid-resistance",)) == [
        "V3: grid circuit, cathode bias: 1.00 MΩ of 700 kΩ",
        "amp.toml:7: fault: too much resistance in the grid circuit of V3 [grid-resistance]",
        "found:  1.00 MΩ from grid to its bias",
        "wanted: at most 700 kΩ with cathode bias (EL34)",
        "do:     use a smaller grid leak and a larger coupling capacitor, or cathode bias",
    ]


def test_fixed_bias_allows_less() -> None:
    build = el34(600e3)
    assert told(build, idle_of(build, FIXED_BIAS, tubes=output()), rules=("grid-resistance",)) == [
        "V3: grid circuit, fixed bias: 600 kΩ of 500 kΩ",
        "amp.toml:7: fault: too much resistance in the grid circuit of V3 [grid-resistance]",
        "found:  600 kΩ from grid to its bias",
        "wanted: at most 500 kΩ with fixed bias (EL34)",
        "do:     use a smaller grid leak and a larger coupling capacitor, or cathode bias",
    ]


def test_the_grid_limit_itself_is_allowed() -> None:
    build = el34(500e3)
    assert told(build, idle_of(build, FIXED_BIAS, tubes=output()), rules=("grid-resistance",)) == [
        "V3: grid circuit, fixed bias: 500 kΩ of 500 kΩ",
    ]


def test_a_heater_that_gets_too_little() -> None:
    build = el34()
    idle = idle_of(build, parts={"V3.heater": {"rms_a": 1.5 * 5.5 / 6.3}})
    assert told(build, idle, rules=("heater-volts",)) == [
        "V3: heater volts: 5.50 V of 6.93 V",
        "amp.toml:7: fault: the heater of V3 gets too little [heater-volts]",
        "found:  5.50 V (-12.7%)",
        "wanted: 6.30 V within 5%, never off by more than 10%",
        "do:     look for a thin or long heater wire, a wrong winding, or halves wired in series",
    ]


def test_a_heater_that_gets_a_little_too_much() -> None:
    build = el34()
    idle = idle_of(build, parts={"V3.heater": {"rms_a": 1.5 * 6.75 / 6.3}})
    assert told(build, idle, rules=("heater-volts",)) == [
        "V3: heater volts: 6.75 V of 6.93 V",
        "amp.toml:7: doubt: the heater of V3 gets too much [heater-volts]",
        "found:  6.75 V (+7.1%)",
        "wanted: 6.30 V within 5%, never off by more than 10%",
        "do:     put a small resistor in the heater line",
    ]


def test_a_heater_that_gets_twice_its_volts_wants_no_resistor() -> None:
    build = el34()
    said = told(build, idle_of(build, parts={"V3.heater": {"rms_a": 3.0}}), rules=("heater-volts",))
    assert said[-3:] == [
        "found:  12.6 V (+100.0%)",
        "wanted: 6.30 V within 5%, never off by more than 10%",
        "do:     look at the primary, the winding and the tube's own heater volts: no resistor mends this much",
    ]


def test_limits_nobody_published_are_named_and_not_invented() -> None:
    build = build_of(tube("V1", "6SL7GT", a_plate="p", a_grid="g", a_cathode="k"))
    idle = idle_of(build, {"k": 1.5}, tubes={"V1a": {"plate_to_cathode_v": 200.0, "screen_to_cathode_v": None}})
    cold = idle_of(build, tubes={"V1a": {"plate_to_cathode_v": 350.0, "screen_to_cathode_v": None}})
    assert told(build, idle, cold, rules=("limit-unknown",)) == [
        "amp.toml:7: note: 3 limits of the 6SL7GT could not be checked [limit-unknown]",
        "found:  no figure for cold plate volts, cathode current, grid circuit with cathode bias",
        "wanted: the figure from a maker's sheet",
        "do:     look it up, and add it to the data file of the 6SL7GT",
    ]


def test_a_measured_tube_is_noted() -> None:
    build = el34()
    valve = build.parts[0]
    measured = replace(valve, values=replace(valve.values, measured={"": Specimen(emission=0.92)}))
    build = replace(build, parts=(measured, *build.parts[1:]))
    assert told(build, idle_of(build, CATHODE_BIAS, tubes=output()), rules=("measured-tube",)) == [
        "amp.toml:7: note: V3 is computed as one measured EL34, not as an average one [measured-tube]",
        "found:  emission 0.92",
        "wanted: that very tube in the socket of V3",
        "do:     take the measured figures out, or write those of the new tube, when another goes in; set the idle "
        "again",
    ]


def test_a_tube_with_too_few_published_rows_promises_no_power() -> None:
    build = build_of(
        tube("V1", "KT66", plate="p", screen="s", grid="g", cathode="k"),
        tube("V2", "KT66", plate="p", screen="s", grid="g", cathode="k"),
    )
    assert told(build, idle_of(build), rules=("power-unproven",)) == [
        "amp.toml:7: note: the law of the KT66 promises no power [power-unproven]",
        "found:  too few published rows: a low-current row is missing",
        "wanted: rows of a maker's sheet that pin it down",
        "do:     rely on its heater, pins and limits, and measure the rest; or add rows to its data file and fit it",
    ]


def test_a_small_pentode_that_only_carries_the_signal_promises_as_much_as_a_triode() -> None:
    build = build_of(tube("V1", "EF86", plate="p", screen="s", grid="g", suppressor="k", cathode="k"))
    assert told(build, idle_of(build), rules=("power-unproven",)) == []


def test_a_small_pentode_on_an_output_transformer_gives_the_power() -> None:
    speaker = (winding("primary", (50.0,)), winding("speaker", (1.0,)))
    build = build_of(
        tube("V1", "EF86", plate="p", screen="s", grid="g", suppressor="k", cathode="k"),
        transformer("T2", "output", speaker, "B+1", "p", "ground", "out"),
    )
    assert told(build, idle_of(build), rules=("power-unproven",))[0] == (
        "amp.toml:7: note: the law of the EF86 promises no power [power-unproven]"
    )


def test_a_rectifier_without_an_operating_row_promises_no_volts_under_load() -> None:
    build = build_of(tube("V4", "5V4G", plate1="a", plate2="b", cathode="B+1"))
    assert told(build, idle_of(build), rules=("power-unproven",)) == [
        "amp.toml:7: note: the law of the 5V4G promises no supply volts under load [power-unproven]",
        "found:  too few published rows: an operating row with its first capacitor is missing",
        "wanted: rows of a maker's sheet that pin it down",
        "do:     rely on its heater, pins and limits, and measure the rest; or add rows to its data file and fit it",
    ]


def test_a_tube_with_its_three_rows_gets_no_such_note() -> None:
    build = build_of(tube("V3", "EL34", plate="p", screen="s", grid="g", suppressor="k", cathode="k"))
    assert told(build, idle_of(build), rules=("power-unproven",)) == []
