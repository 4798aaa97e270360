from __future__ import annotations

from dataclasses import replace

import pytest

from lugwright.bringup.results import Reading, Step
from lugwright.bringup.voltage_chart import power_up_steps
from lugwright.buildfile.build import Build
from lugwright.circuit.edits import Edit, ScaleValue
from lugwright.circuit.network import Circuit
from lugwright.solve.idle import solve_columns, solve_idle
from lugwright.solve.readout import read_idle

Steps = tuple[Step, ...]


def at(step: Step, point: str) -> Reading:
    (found,) = [r for r in step.readings if r.point == point]
    return found


def words(step: Step) -> str:
    return " ".join((*step.do, *step.stop_if, *step.cautions))


def test_cathode_bias_silicon_has_three_stages_each_behind_the_lamp_first(dunlin_steps: Steps) -> None:
    assert [(s.number, s.title, s.mains) for s in dunlin_steps] == [
        (1, "Every tube out", "through the 40 W lamp"),
        (2, "Every tube out", "full mains"),
        (3, "Small tubes in", "through the 40 W lamp"),
        (4, "Small tubes in", "full mains"),
        (5, "Output tubes in", "through the 40 W lamp"),
        (6, "Output tubes in", "full mains"),
    ]


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
    before = next(s for s in curlew_steps if s.title == "Every tube out" and s.mains == "full mains")
    after = next(s for s in curlew_steps if s.title == "Rectifier tube in" and s.mains == "full mains")
    assert at(before, "B+1 to ground").expected == 0.0
    assert at(before, "B+1 to ground").note == "nothing feeds it yet"
    assert at(after, "B+1 to ground").expected > 300.0
    assert at(before, "T1 lead rectifier.1 to rectifier.2").expected == pytest.approx(6.6, abs=0.4)


def test_heater_volts_are_read_at_empty_and_at_fitted_sockets(dunlin_steps: Steps) -> None:
    empty, fitted = dunlin_steps[1], dunlin_steps[5]
    pins = "V2 pin 2 (heater1) to pin 7 (heater2)"
    assert at(empty, pins).unit == "V"
    assert at(empty, pins).quantity == "V ac"
    assert at(empty, pins).expected == pytest.approx(6.66, abs=0.02)  # no load
    assert at(fitted, pins).expected == pytest.approx(6.3, rel=0.05)
    assert at(fitted, pins).low == pytest.approx(0.95 * at(fitted, pins).expected)


def test_last_step_is_the_idle_itself(dunlin: tuple[Build, Circuit], dunlin_steps: Steps) -> None:
    (idle,) = solve_idle(dunlin[1])
    last = dunlin_steps[-1]
    assert last.mains_a == pytest.approx(idle.mains_rms_a, rel=1e-3)
    for point in ("V1 pin 1 (plate a)", "V2 pin 3 (plate)", "V2 pin 8 (cathode)"):
        assert at(last, point).expected == pytest.approx(idle.joints[at(last, point).joint].volts, rel=1e-4)


def test_supply_falls_as_tubes_go_in(dunlin_steps: Steps) -> None:
    none, small, every = (at(dunlin_steps[k], "B+1 to ground").expected for k in (1, 3, 5))
    assert none > small + 1.0 > every + 20.0


def test_the_lamp_takes_volts_and_widens_the_window(godwit_steps: Steps) -> None:
    lamp, full = (s for s in godwit_steps if s.title == "Output tubes in")
    low, high = at(lamp, "B+1 to ground"), at(full, "B+1 to ground")
    assert low.expected < 0.8 * high.expected
    assert (low.high - low.low) / low.expected > 2.0 * (high.high - high.low) / high.expected
    assert "100 W lamp" in lamp.lamp
    assert full.lamp == ""
    assert "heaters stand as low as" in words(lamp)
    assert "heaters stand" not in words(full)


def test_plates_of_empty_sockets_are_shown_to_be_live(dunlin_steps: Steps) -> None:
    reading = at(dunlin_steps[1], "V2 pin 3 (plate)")
    assert reading.expected > 250.0
    assert reading.note == "empty socket: B+ is present"


def test_most_telling_readings_come_first(godwit_steps: Steps) -> None:
    points = [r.point for r in godwit_steps[-1].readings]
    order = [
        "T1 lead primary.1 to primary.2",
        "V1 pin 4 (heater1) to pin 9 (heater tap)",
        "V5 pin 5 (grid)",
        "B+1 to ground",
        "V1 pin 1 (plate a)",
    ]
    assert [p for p in points if p in order] == order


def test_a_window_holds_its_reading_and_a_wrong_resistor_leaves_it(
    dunlin: tuple[Build, Circuit], dunlin_steps: Steps
) -> None:
    assert [r.point for s in dunlin_steps for r in s.readings if not r.low <= r.expected <= r.high] == []
    name = next(e.name for e in dunlin[1].elements if getattr(e, "ohm", 0.0) == 330.0)
    (wrong,) = solve_idle(dunlin[1], [Edit("ten times", (ScaleValue(name, "ohm", 10.0),))])
    reading = at(dunlin_steps[-1], "V2 pin 8 (cathode)")
    assert not reading.low <= wrong.joints[reading.joint].volts <= reading.high


def test_every_step_says_how_to_stay_alive(godwit_steps: Steps) -> None:
    for step in godwit_steps:
        said = words(step)
        for must in ("One hand", "below 60 V on every filter capacitor", "plug out", "licensed electrician"):
            assert must in said, (step.number, must)
        assert ("bright and stays bright: switch off" in said) == bool(step.lamp)


def test_output_tubes_want_a_speaker_bias_and_the_right_feedback(godwit_steps: Steps, curlew_steps: Steps) -> None:
    said = words(godwit_steps[-1])
    assert said.index("Connect the speaker") < said.index("fit V5, V6")
    assert "only after negative bias was measured" in said
    assert "swap the two plate leads of the output transformer" in said
    assert "negative bias" not in words(curlew_steps[-1])


def test_build_without_a_mains_inlet_has_no_power_up(dunlin: tuple[Build, Circuit]) -> None:
    build, circuit = dunlin
    cut = replace(circuit, elements=tuple(e for e in circuit.elements if e.name not in ("mains", "limiter")))
    (solved,) = solve_columns(cut)
    assert power_up_steps(build, solved, read_idle(solved)) == ()
