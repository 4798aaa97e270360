from __future__ import annotations

from dataclasses import replace

import pytest

from lugwright.bringup.limiter_words import _left_by_lamp
from lugwright.bringup.results import Reading, Step
from lugwright.bringup.voltage_chart import power_up_steps
from lugwright.buildfile.build import Build
from lugwright.circuit.edits import Edit, ScaleValue
from lugwright.circuit.network import Circuit
from lugwright.circuit.rewiring import Bridge, Rewiring, rewired
from lugwright.solve.idle import solve_columns, solve_idle
from lugwright.solve.readout import read_idle
from lugwright.solve.response_results import ResponseWish
from lugwright.solve.study import Study

from .conftest import built

Steps = tuple[Step, ...]


def at(step: Step, point: str) -> Reading:
    (found,) = [r for r in step.readings if r.point == point]
    return found


def taken(steps: Steps, key: str) -> Step:
    (found,) = [s for s in steps if s.key == key]
    return found


def words(step: Step) -> str:
    return " ".join((*step.do, *step.stop_if, *step.cautions))


def test_cathode_bias_silicon_goes_behind_the_lamp_first_and_reads_heaters_before_b_plus(dunlin_steps: Steps) -> None:
    assert [(s.number, s.title, s.mains) for s in dunlin_steps] == [
        (1, "Every tube out", "through the 40 W lamp"),
        (2, "Heater volts at every socket, tubes still out", "full mains"),
        (3, "Every tube out", "full mains"),
        (4, "Small tubes in", "through the 40 W lamp"),
        (5, "Small tubes in", "full mains"),
        (6, "Output tubes in", "through the 40 W lamp"),
        (7, "Output tubes in", "full mains"),
        (8, "Signal from input to speaker", "full mains"),
        (9, "After an hour", "full mains"),
    ]


def test_fixed_bias_puts_output_tubes_in_one_by_one_at_the_most_negative_bias(godwit_steps: Steps) -> None:
    assert [s.key for s in godwit_steps] == [
        "no tubes, lamp",
        "heaters",
        "no tubes",
        "bias",
        "small tubes, lamp",
        "small tubes",
        "output tube V5",
        "output tube V6",
        "all tubes cold, lamp",
        "all tubes cold",
        "all tubes",
        "feedback",
        "signal",
        "hot",
    ]
    alone, cold, idle = (taken(godwit_steps, key) for key in ("output tube V5", "all tubes cold", "all tubes"))
    assert alone.title == "V5 in, the other output tube out"
    assert "V6 stays out." in alone.do[1]
    assert "Ten seconds behind the limiter lamp first: it must not stay bright. Then plug into the wall." in alone.do
    assert at(alone, "V5 pin 8 (cathode)").expected < 0.5 * at(idle, "V5 pin 8 (cathode)").expected
    assert at(cold, "V5 pin 5 (grid)").expected < at(idle, "V5 pin 5 (grid)").expected - 5.0
    assert "Before switching on: R49 Bias full counterclockwise, where the bias is most negative." in idle.do
    assert "Turn R49 Bias slowly up from that end until the cathodes read what stands below" in words(idle)
    assert idle.title == "Idle set"


def test_a_tube_that_would_pass_its_plate_limit_alone_does_not_go_in_alone(curlew_steps: Steps) -> None:
    assert [s.key for s in curlew_steps if s.key.startswith("output tube")] == ["output tube V4", "output tube V5"]


def test_every_step_has_a_key_of_its_own(godwit_steps: Steps) -> None:
    keys = [s.key for s in godwit_steps]
    assert len(set(keys)) == len(keys)
    assert all(s.key.endswith(", lamp") == s.mains.endswith(" lamp") for s in godwit_steps)
    assert "small tubes" in keys
    assert "small tubes, lamp" in keys


def test_fixed_bias_is_measured_before_any_output_tube(godwit_steps: Steps) -> None:
    titles = [s.title for s in godwit_steps]
    bias = titles.index("Negative bias, before any output tube")
    assert bias < titles.index("Output tubes in")
    step = godwit_steps[bias]
    for tube in ("V5", "V6"):
        assert at(step, f"{tube} pin 5 (grid)").high < -30.0
        assert at(step, f"{tube} pin 5 (grid), R49 Bias full counterclockwise").expected < -50.0
    assert "Negative volts are missing" in " ".join(step.stop_if)
    assert "Keep V5, V6 out" in step.do[0]


def test_rectifier_tube_gets_its_own_stage_and_no_supply_before_it(curlew_steps: Steps) -> None:
    before, after = taken(curlew_steps, "no tubes"), taken(curlew_steps, "rectifier")
    assert at(before, "B+1 to ground").expected == 0.0
    assert at(before, "B+1 to ground").note == "nothing feeds it yet"
    assert at(after, "B+1 to ground").expected > 300.0
    heaters = taken(curlew_steps, "heaters")
    assert at(heaters, "T1 lead rectifier.1 to rectifier.2").expected == pytest.approx(6.6, abs=0.4)


def test_heater_volts_are_read_at_empty_and_at_fitted_sockets(dunlin_steps: Steps) -> None:
    empty, fitted = taken(dunlin_steps, "heaters"), taken(dunlin_steps, "all tubes")
    pins = "V2 pin 2 (heater1) to pin 7 (heater2)"
    assert at(empty, pins).unit == "V"
    assert at(empty, pins).quantity == "V ac"
    assert at(empty, pins).expected == pytest.approx(6.66, abs=0.02)  # no load
    assert at(fitted, pins).expected == pytest.approx(6.3, rel=0.05)
    assert at(fitted, pins).low == pytest.approx(0.95 * at(fitted, pins).expected)


def test_last_step_is_the_idle_itself(dunlin: tuple[Build, Circuit], dunlin_steps: Steps) -> None:
    (idle,) = solve_idle(dunlin[1])
    last = taken(dunlin_steps, "all tubes")
    assert last.mains_a == pytest.approx(idle.mains_rms_a, rel=1e-3)
    for point in ("V1 pin 1 (plate a)", "V2 pin 3 (plate)", "V2 pin 8 (cathode)"):
        loaded = 1.0 - 100e3 / 10e6 if "pin 1" in point else 1.0  # the meter beside a plate resistor of 100k
        volts = idle.joints[at(last, point).joint].volts
        assert loaded - 1e-3 < at(last, point).expected / volts < 1.0 + 1e-9


def test_supply_falls_as_tubes_go_in(dunlin_steps: Steps) -> None:
    none, small, every = (at(taken(dunlin_steps, key), "B+1 to ground").expected
                          for key in ("no tubes", "small tubes", "all tubes"))  # fmt: skip
    assert none > small + 1.0 > every + 20.0


def test_the_lamp_takes_volts_and_widens_the_window(godwit_steps: Steps) -> None:
    lamp, full = taken(godwit_steps, "all tubes cold, lamp"), taken(godwit_steps, "all tubes cold")
    low, high = at(lamp, "B+1 to ground"), at(full, "B+1 to ground")
    assert low.expected < 0.8 * high.expected
    assert (low.high - low.low) / low.expected > 2.0 * (high.high - high.low) / high.expected
    assert "100 W lamp" in lamp.lamp
    assert full.lamp == ""
    assert "heaters stand as low as" in words(lamp)
    assert "heaters stand" not in words(full)


def test_plates_of_empty_sockets_are_shown_to_be_live(dunlin_steps: Steps) -> None:
    reading = at(taken(dunlin_steps, "no tubes"), "V2 pin 3 (plate)")
    assert reading.expected > 250.0
    assert reading.note == "empty socket: B+ is present"


def test_guards_come_first_then_what_tells_most_then_the_rest_socket_by_socket(godwit_steps: Steps) -> None:
    step = taken(godwit_steps, "all tubes")
    guards = [r.point for r in step.readings if r.guards and r.quantity == "V dc"]
    assert guards == ["V5 pin 5 (grid)", "V6 pin 5 (grid)", *(f"B+{k} to ground" for k in range(1, 7))]
    assert [r.point for r in step.readings[: len(guards)]] == guards
    assert step.readings[len(guards)].tells >= 4  # the tail of the inverter: both halves, its resistors, its supply
    assert step.readings[-1].quantity == "V ac"


def test_what_a_point_tells_is_counted_in_parts_off_by_two(dunlin: tuple[Build, Circuit], dunlin_steps: Steps) -> None:
    reading = at(taken(dunlin_steps, "all tubes"), "V2 pin 8 (cathode)")
    told = 0
    names = [p.name for p in dunlin[0].parts if p.kind == "resistor"]
    for name in names:
        (wrong,) = solve_idle(dunlin[1], [Edit("twice", (ScaleValue(name, "ohm", 2.0),))])
        told += not reading.low <= wrong.joints[reading.joint].volts <= reading.high
    assert 1 <= told <= reading.tells + 2
    assert reading.tells <= told + 4  # tubes, which are counted too


def test_a_window_holds_its_reading_and_a_wrong_resistor_leaves_it(
    dunlin: tuple[Build, Circuit], dunlin_steps: Steps
) -> None:
    assert [r.point for s in dunlin_steps for r in s.readings if not r.low <= r.expected <= r.high] == []
    name = next(e.name for e in dunlin[1].elements if getattr(e, "ohm", 0.0) == 330.0)
    (wrong,) = solve_idle(dunlin[1], [Edit("ten times", (ScaleValue(name, "ohm", 10.0),))])
    reading = at(taken(dunlin_steps, "all tubes"), "V2 pin 8 (cathode)")
    assert not reading.low <= wrong.joints[reading.joint].volts <= reading.high


def test_every_step_says_how_to_stay_alive(godwit_steps: Steps) -> None:
    for step in godwit_steps:
        said = words(step)
        for must in ("One hand", "below 60 V on every filter capacitor", "plug out", "licensed electrician"):
            assert must in said, (step.number, must)
        assert ("bright and stays bright: switch off" in said) == bool(step.lamp)


def test_alternating_volts_at_empty_sockets_are_named_where_little_direct_current_stands(
    curlew_steps: Steps, godwit_steps: Steps
) -> None:
    heaters = taken(curlew_steps, "heaters").cautions
    assert (
        "Up to 560 V of alternating current stand in the chassis, at empty sockets and transformer leads too."
        in heaters
    )
    both = taken(godwit_steps, "all tubes").cautions
    (volts,) = [words for words in both if words.startswith("Up to ")]
    assert volts == (
        "Up to 408 V of direct current and 618 V of alternating current stand in the chassis, at empty sockets and "
        "transformer leads too."
    )
    for step in (*curlew_steps, *godwit_steps):
        assert any(words.startswith("Up to ") for words in step.cautions), step.key


def test_while_nothing_loads_the_transformer_its_volts_are_told_to_the_program(godwit_steps: Steps) -> None:
    assert taken(godwit_steps, "heaters").do[-1] == (
        'Nothing loads the transformer here: say what you read (lugwright as-built FILE mains VOLTS "T1 hv" VOLTS '
        '"T1 bias" VOLTS "T1 heater" VOLTS). Every window after this is narrower then, and none is off because of what '
        "the wall gives."
    )
    assert sum("as-built" in words(step) for step in godwit_steps) == 1


def test_where_the_idle_is_set_it_says_how_hot_and_who_tells_more(godwit_steps: Steps, dunlin_steps: Steps) -> None:
    line = (
        "So set, the hottest plate takes 57% of its limit. What yours takes, whether that is usual, and how far to "
        "turn for more or less: lugwright bias FILE."
    )
    assert line in taken(godwit_steps, "all tubes").do
    assert "lugwright bias" not in words(taken(dunlin_steps, "all tubes"))


def test_after_an_hour_it_is_plugged_in_again_with_its_load_and_watched_for_what_burns(godwit_steps: Steps) -> None:
    step = taken(godwit_steps, "hot")
    assert "Plug in again, switch on, and read as soon as the tubes are warm" in words(step)
    assert "Never switch on without the speaker or its load: the output transformer can arc through." in step.cautions
    assert at(step, "V5 pin 8 (cathode)").burns_above == "the plate of V5 takes more than its 30 W"
    assert at(step, "V6 pin 8 (cathode)").burns_above == "the plate of V6 takes more than its 30 W"


def test_what_draws_too_much_stands_first_in_the_box(godwit_steps: Steps) -> None:
    limits = [line for line in taken(godwit_steps, "all tubes").stop_if if " over " in line or " under " in line]
    assert [line.partition(" over ")[0] for line in limits[:2]] == ["V5 pin 8 (cathode)", "V6 pin 8 (cathode)"]


def test_a_tube_that_is_out_is_not_said_to_burn(godwit_steps: Steps) -> None:
    grid = at(taken(godwit_steps, "bias"), "V5 pin 5 (grid)")
    assert grid.burns_above == "with V5 in, its plate takes more than its 30 W"


def test_behind_the_lamp_low_bias_burns_nothing(godwit_steps: Steps) -> None:
    for step in godwit_steps:
        grids = [r for r in step.readings if r.point == "V5 pin 5 (grid)" and r.quantity == "V dc"]
        assert all(r.stop_above is None for r in grids) if step.lamp else all(r.burns_above for r in grids), step.key


def test_output_tubes_want_a_speaker_bias_and_the_right_feedback(godwit_steps: Steps, curlew_steps: Steps) -> None:
    said = words(taken(godwit_steps, "all tubes cold"))
    assert said.index("Connect the speaker") < said.index("fit V5, V6")
    assert "only after negative bias was measured" in said
    assert "swap the two plate leads of the output transformer" in said
    assert "negative bias" not in words(taken(curlew_steps, "all tubes"))


def test_the_step_says_at_which_reading_something_burns(godwit_steps: Steps, dunlin_steps: Steps) -> None:
    said = taken(godwit_steps, "output tube V5").stop_if
    assert "V5 pin 8 (cathode) over 74.2 mV: the plate of V5 takes more than its 30 W." in said
    assert "V5 pin 4 (screen) under 394 V: R43 gets more than its 2 W." in said
    assert "V5 pin 5 (grid) over -34.1 V: the plate of V5 takes more than its 30 W." in said
    bare = taken(dunlin_steps, "no tubes").stop_if
    assert "B+1 to ground under -1.00 V: C6 has its volts the wrong way round and may burst." in bare
    heaters = taken(dunlin_steps, "heaters").stop_if
    assert "V2 pin 2 (heater1) to pin 7 (heater2) over 7.13 V: the heater of V2 would stand over 6.93 V." in heaters


def test_no_limit_lies_inside_its_window(godwit_steps: Steps, dunlin_steps: Steps, curlew_steps: Steps) -> None:
    for step in (*godwit_steps, *dunlin_steps, *curlew_steps):
        for reading in step.readings:
            assert reading.stop_below is None or reading.stop_below < reading.low, (step.key, reading.point)
            assert reading.stop_above is None or reading.stop_above > reading.high, (step.key, reading.point)


def test_a_plate_left_open_is_caught_before_its_screen_burns(dunlin_steps: Steps) -> None:
    reading = at(taken(dunlin_steps, "all tubes"), "V2 pin 3 (plate)")
    assert reading.burns_below == "the screen of V2 takes the plate's current, more than its 2 W"
    assert reading.stop_below is not None
    assert 30.0 < reading.stop_below < 100.0


def test_lamp_and_variable_transformer_say_what_to_expect(godwit_steps: Steps) -> None:
    step = taken(godwit_steps, "no tubes, lamp")
    assert step.lamp == "a flash at switch-on, then a dull red glow; about 10 V (8 to 12 V) across the 100 W lamp"
    assert step.instead == (
        "At 40 V on its dial stop for a first look: B+1 reads about 147 V, and the current stays below 0.077 A.",
        "Turned to 117 V it stands in for the lamp: the readings below hold there too, at 0.19 to 0.24 A. More current "
        "than that: turn back to zero, plug out.",
    )
    low, high = step.mains_window_a or (0.0, 0.0)
    assert low < step.mains_a < high


def test_the_grid_of_an_output_tube_in_cathode_bias_is_read_before_the_tube_goes_in(dunlin_steps: Steps) -> None:
    """A coupling capacitor of 3 Mohm puts some 20 V there; a good one passes less than a microampere into 220 kohm."""
    reading = at(taken(dunlin_steps, "small tubes"), "V2 pin 5 (grid)")
    assert reading.note == "empty socket: a coupling capacitor that leaks shows here, before its tube is in"
    assert reading.guards == "a coupling capacitor that leaks lifts this grid, and the tube's plate glows"
    assert (reading.expected, reading.low, reading.high) == (
        0.0,
        pytest.approx(-0.23, abs=0.01),
        pytest.approx(0.23, abs=0.01),
    )


def test_the_cathode_of_an_output_tube_that_biases_itself_is_read_first(
    dunlin_steps: Steps, curlew_steps: Steps, godwit_steps: Steps
) -> None:
    told = (
        "Clip the meter on for the first reading before you plug in: it shows from the first second what a tube draws."
    )
    assert taken(dunlin_steps, "all tubes").readings[0].point == "V2 pin 8 (cathode)"
    assert [r.point for r in taken(curlew_steps, "all tubes").readings[:2]] == [
        "V4 pin 3 (cathode)",
        "V5 pin 3 (cathode)",
    ]
    assert told in taken(dunlin_steps, "all tubes").do
    for step in (taken(dunlin_steps, "small tubes"), taken(dunlin_steps, "all tubes, lamp"), *godwit_steps):
        assert told not in step.do
    assert (
        taken(godwit_steps, "all tubes").readings[0].point == "V5 pin 5 (grid)"
    )  # bias comes first where there is one


def test_the_heater_of_a_rectifier_tube_is_told_to_ride_on_its_supply(curlew_steps: Steps) -> None:
    heater = at(taken(curlew_steps, "all tubes"), "V6 pin 4 (heater1) to pin 5 (heater2)")
    b_plus = at(taken(curlew_steps, "all tubes"), "B+1 to ground").expected
    assert heater.note == f"both tips stand at {b_plus:.0f} V dc: clip on with the plug out"
    assert not any("both tips" in r.note for r in taken(curlew_steps, "heaters").readings)


def test_a_winding_that_nothing_feeds_says_nothing_of_the_variable_transformer(curlew_steps: Steps) -> None:
    """With the rectifier tube out the output transformer has no volts, but for what arithmetic leaves."""
    idle = read_idle(solve_columns(built("curlew_18")[1])[0])
    fed = next(iter(idle.windings.values()))
    dead = replace(
        idle, joints={}, windings={"T1.primary": replace(fed, rms_v=100.0), "T2.primary": replace(fed, rms_v=1e-9)}
    )
    full = replace(
        idle, joints={}, windings={"T1.primary": replace(fed, rms_v=120.0), "T2.primary": replace(fed, rms_v=1e-6)}
    )
    assert _left_by_lamp(dead, full) == pytest.approx(100.0 / 120.0)
    assert taken(curlew_steps, "no tubes, lamp").instead[-1].startswith("Turned to 221 V it stands in for the lamp")


def test_current_from_the_mains_lies_in_its_window_on_high_and_low_mains(
    godwit: tuple[Build, Circuit], godwit_steps: Steps
) -> None:
    step = taken(godwit_steps, "all tubes")
    edits = [Edit("mains", (ScaleValue("mains", "rms_v", share),)) for share in (0.97, 1.03)]
    low, high = step.mains_window_a or (0.0, 0.0)
    assert all(low < idle.mains_rms_a < high for idle in solve_idle(godwit[1], edits))


def test_the_meter_is_in_the_circuit(godwit: tuple[Build, Circuit], godwit_steps: Steps) -> None:
    step = taken(godwit_steps, "all tubes")
    for point in ("V4 pin 2 (grid a)", "V4 pin 7 (grid b)", "V1 pin 1 (plate a)"):
        reading = at(step, point)
        meter = Rewiring("meter", bridges=(Bridge(reading.joint, "ground", 10e6),))
        (loaded,) = solve_idle(rewired(godwit[1], meter))
        assert reading.expected == pytest.approx(loaded.joints[reading.joint].volts, rel=0.002), point
    (bare,) = solve_idle(godwit[1])
    reading = at(step, "V4 pin 2 (grid a)")
    assert reading.expected < 0.97 * bare.joints[reading.joint].volts


def test_heater_pins_of_one_joint_show_no_volts_between_them(godwit_steps: Steps) -> None:
    step = taken(godwit_steps, "heaters")
    reading = at(step, "V5 pin 2 (heater1) to V6 pin 2 (heater1)")
    assert (reading.expected, reading.high, reading.note) == (0.0, 0.3, "a crossed pair shows here, nowhere else")
    whole = at(step, "T1 lead hv.1 to hv.3")
    assert whole.expected == pytest.approx(2.0 * at(step, "T1 lead hv.1 to ground").expected, rel=0.02)
    assert whole.note.startswith("near zero if one half is turned round")


def test_setting_the_idle_takes_up_what_tubes_differ_by(godwit_steps: Steps) -> None:
    cold, idle = taken(godwit_steps, "all tubes cold"), taken(godwit_steps, "all tubes")
    reading = at(idle, "V5 pin 8 (cathode)")
    wide = (reading.high - reading.low) / reading.expected
    assert wide < 0.6  # two tubes apart by a quarter each, one control
    loose = at(cold, "V5 pin 8 (cathode)")
    assert (loose.high - loose.low) / loose.expected > 1.5 * wide
    assert reading.stop_above is not None
    assert reading.stop_above > reading.high


def test_the_sign_of_the_feedback_is_read_where_it_may_not_howl(godwit_steps: Steps) -> None:
    step = taken(godwit_steps, "feedback")
    out = at(step, "LS1 plus to ground")
    assert step.do[2] == (
        "The right sign shows 763 mV at the speaker; without feedback (R33 lifted) it would be 1.25 V, with the wrong "
        "sign 3.45 V."
    )
    assert step.do[3] == "A loop this weak need not howl when it is wrong: this reading decides, not the ear."
    assert out.quantity == "signal V ac"
    assert out.stop_above == pytest.approx(1.25, abs=0.005)
    assert "LS1 plus to ground over 1.25 V: the feedback adds instead of taking away" in " ".join(step.stop_if)
    assert "No signal without the speaker or its load" in " ".join(step.cautions)


def test_feedback_read_is_what_the_response_says(godwit: tuple[Build, Circuit], godwit_steps: Steps) -> None:
    (solved,) = solve_columns(godwit[1])
    response = Study(godwit[0], solved, ResponseWish(resistive_speaker=True)).response()
    gain = 10.0 ** (response.curves[0].gain_1khz_db / 20.0)
    out = at(taken(godwit_steps, "feedback"), "LS1 plus to ground")
    assert out.expected == pytest.approx(5e-3 * gain, rel=1e-3)
    assert response.loop is not None
    assert 10.0 ** (response.loop.reduction_db / 20.0) == pytest.approx(1.25 / 0.763, rel=0.01)


def test_the_signal_is_followed_along_the_plates(dunlin_steps: Steps) -> None:
    step = taken(dunlin_steps, "signal")
    assert [r.point for r in step.readings] == [
        "J1 tip to ground",
        "V1 pin 1 (plate a)",
        "V1 pin 6 (plate b)",
        "V2 pin 3 (plate)",
        "V2 pin 5 (grid)",
        "LS1 plus to ground",
    ]
    assert step.do[0] == (
        "10.0 mV at J1: small enough that nothing clips. A divider of 10k and 100 ohm at the plug makes that of 1.01 V "
        "from the generator, which a meter can read."
    )
    assert all(r.low < r.expected < r.high for r in step.readings)


def test_after_an_hour_copper_is_warm_and_the_window_holds_both(dunlin_steps: Steps) -> None:
    cold, hot = taken(dunlin_steps, "all tubes"), taken(dunlin_steps, "hot")
    before, after = at(cold, "B+1 to ground"), at(hot, "B+1 to ground")
    assert after.expected < before.expected
    assert after.low < before.low
    assert after.high >= before.high
    assert after.note == "was 281 V cold"


def test_build_without_a_mains_inlet_has_no_power_up(dunlin: tuple[Build, Circuit]) -> None:
    build, circuit = dunlin
    cut = replace(circuit, elements=tuple(e for e in circuit.elements if e.name not in ("mains", "limiter")))
    (solved,) = solve_columns(cut)
    assert power_up_steps(build, solved, read_idle(solved)) == ()
