"""Worked examples of setting an idle, each put to the program as the readings its author took."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from lugwright.bringup.idle.at_edit import AtEdit
from lugwright.bringup.idle.currents import tube_at_idle
from lugwright.bringup.idle.measured import Bench, bench_of, idle_measured, taken_at
from lugwright.bringup.idle.ohms import WARM_COPPER
from lugwright.bringup.idle.readings import Reader
from lugwright.bringup.idle.stage import output_stage
from lugwright.bringup.idle_results import IdleMeasured, TubeAtIdle
from lugwright.bringup.reading_points import ReadingPoints
from lugwright.buildfile.read import read_text
from lugwright.circuit.from_build import circuit_from_build
from lugwright.solve.idle import solve_columns
from lugwright.solve.readout import read_idle

EXAMPLES = Path(__file__).parents[3] / "examples"


def bench_at(name: str, *changes: tuple[str, str]) -> Bench:
    """Return the output stage of an example, pieces of its text replaced."""
    text = (EXAMPLES / f"{name}.toml").read_text()
    for old, new in changes:
        assert old in text, old
        text = text.replace(old, new)
    build = read_text(text).build
    assert build is not None
    (solved,) = solve_columns(circuit_from_build(build))
    idle = read_idle(solved)
    stage = output_stage(build, solved.system.circuit, idle)
    assert stage is not None
    return bench_of(build, stage, AtEdit(solved, idle), idle, {})


def el34(primary_ohm: float = 54.0) -> Bench:
    """Return two EL34 in fixed bias whose halves of the primary have these ohms."""
    return bench_at("redshank_50", ("ohms = [50, 54], ends = [\"V7.plate\"",
                                    f"ohms = [{primary_ohm:g}, {primary_ohm:g}], ends = [\"V7.plate\""))  # fmt: skip


def shared(ohm: float) -> Bench:
    """Return two EL84 on one cathode resistor."""
    return bench_at(
        "curlew_18",
        ('R26 = { value = "270"', f'R26 = {{ value = "{ohm:g}"'),
        ('R27 = { value = "270", watts = 3, ends = ["V5.cathode", "ground"] }\n', ""),
        ('C10 = { value = "220u", volts = 25, ends = ["V5.cathode", "ground"] }\n', ""),
        ("[stage.output]\n", '[stage.output]\njoined = [["V4.cathode", "V5.cathode"]]\n'),
    )


def reader_of(bench: Bench) -> Reader:
    return Reader(bench.stage, ReadingPoints(bench.stage.build))


def said(bench: Bench, *texts: str) -> IdleMeasured:
    return idle_measured(bench, reader_of(bench).of_all(texts), "middle")


def tubes(bench: Bench, *texts: str) -> tuple[TubeAtIdle, ...]:
    taken = taken_at(bench, reader_of(bench).of_all(texts))
    return tuple(tube_at_idle(taken, tube) for tube in bench.stage.tubes)


def first(bench: Bench, *texts: str) -> TubeAtIdle:
    return tubes(bench, *texts)[0]


def row_of(rows: list[dict[str, str]], name: str) -> dict[str, float]:
    found = next(row for row in rows if row["example"] == name)
    return {key: float(value) for key, value in found.items() if key not in ("example", "tube", "reading") and value}


def test_a_winder_s_page_on_volts_over_the_winding(rows: list[dict[str, str]], tolerance: dict[str, Any]) -> None:
    """1.59 V over 41 ohm: 38.8 mA, at 450 V 17.5 W, 70 % of 25 W."""
    row = row_of(rows, "winder_41_ohm")
    tube = first(el34(41.0), "V6 primary = 1.590 V", "V6 plate to cathode = 450.0 V", "V6 primary ohms = 41.00 ohm")
    assert 1e3 * tube.plate_a.value * WARM_COPPER == pytest.approx(row["plate_ma"], rel=tolerance["exact"])
    assert tube.plate_w.value * WARM_COPPER == pytest.approx(row["plate_w"], rel=tolerance["exact"])
    assert tube.share.value * WARM_COPPER == pytest.approx(row["share"], rel=tolerance["exact"])


@pytest.mark.parametrize(("name", "volts", "ohm"), [("guide_side_a", 5, 70), ("guide_side_b", 4, 72)])
def test_a_guide_to_the_transformer_method(
    rows: list[dict[str, str]], tolerance: dict[str, Any], name: str, volts: int, ohm: int
) -> None:
    """5 V over 70 ohm are 71 mA, 4 V over 72 ohm 56 mA: each half by its own ohms."""
    found = first(el34(ohm), f"V6 primary = {volts}.00 V")
    assert found.plate_from == "volts over T2 primary"
    expected = row_of(rows, name)["plate_ma"]
    assert 1e3 * found.plate_a.value * WARM_COPPER == pytest.approx(expected, rel=tolerance["two_figures"])


def test_volts_over_a_winding_of_105_ohm(rows: list[dict[str, str]], tolerance: dict[str, Any]) -> None:
    """F-6: 4.1 V over 105 ohm with 425 V from plate to cathode: 39.0 mA, 16.6 W."""
    row = row_of(rows, "F-6")
    tube = first(el34(105.0), "V6 primary = 4.100 V", "V6 plate to cathode = 425.0 V")
    assert 1e3 * tube.plate_a.value * WARM_COPPER == pytest.approx(row["plate_ma"], rel=tolerance["exact"])
    assert tube.plate_w.value * WARM_COPPER == pytest.approx(row["plate_w"], rel=tolerance["exact"])


def test_screen_current_taken_off_a_one_ohm_reading(rows: list[dict[str, str]], tolerance: dict[str, Any]) -> None:
    """F-4: 45 mV over 1 ohm, 6 mA of screen (6 V over 1k), 430 V: 39 mA, 16.8 W, 67 %; 77 % without taking it off."""
    row = row_of(rows, "F-4")
    tube = first(el34(), "V6 = 45.00 mV", "V6 screen resistor = 6.000 V", "V6 plate to cathode = 430.0 V")
    assert 1e3 * tube.plate_a.value == pytest.approx(row["plate_ma"], rel=tolerance["exact"])
    assert tube.plate_w.value == pytest.approx(row["plate_w"], rel=tolerance["exact"])
    assert tube.share.value == pytest.approx(row["share"], rel=tolerance["exact"])
    trap = tube.cathode_a.value * tube.plate_to_cathode_v.value / tube.plate_limit_w
    assert trap == pytest.approx(0.77, rel=tolerance["exact"])


def test_service_notes_of_a_maker(rows: list[dict[str, str]], tolerance: dict[str, Any]) -> None:
    """EL34, 25 W, 485 V on the plate: 36 mA for 70 %."""
    row = row_of(rows, "notes_el34")
    volts = 0.036 * 54.0 * WARM_COPPER
    tube = first(el34(), f"V6 primary = {volts:.4f} V", "V6 plate to cathode = 485.0 V")
    assert 1e3 * tube.plate_a.value == pytest.approx(row["plate_ma"], rel=tolerance["two_figures"])
    assert tube.share.value == pytest.approx(row["share"], rel=tolerance["two_figures"])


def test_a_forum_s_25_millivolts(rows: list[dict[str, str]], tolerance: dict[str, Any]) -> None:
    """25 mV over 1 ohm at 400 V are 10 W of plate and screen together; this program's plate makes less."""
    row = row_of(rows, "forum_6v6")
    tube = first(el34(), "V6 = 25.00 mV", "V6 plate to cathode = 400.0 V")
    both_w = tube.cathode_a.value * tube.plate_to_cathode_v.value
    assert both_w == pytest.approx(row["plate_w"], rel=tolerance["two_figures"])
    assert both_w / row["limit_w"] == pytest.approx(row["share"], rel=tolerance["two_figures"])
    assert tube.plate_w.value < 0.97 * both_w


def test_a_repairer_s_pair_on_one_cathode_resistor(tolerance: dict[str, Any]) -> None:
    """11.6 V on 220 ohm: 52.7 mA for two EL84; 334 V to ground leave 322.4 V: 8.50 W each, screens counted in."""
    found = tubes(shared(220.0), "V4 = 11.600 V", "V4 plate = 334.0 V", "V5 plate = 334.0 V")
    assert 1e3 * sum(t.cathode_a.value for t in found) == pytest.approx(52.7, rel=tolerance["exact"])
    for tube in found:
        assert tube.plate_to_cathode_v.value == pytest.approx(322.4, rel=tolerance["exact"])
    both_w = sum(t.cathode_a.value * t.plate_to_cathode_v.value for t in found) / 2.0
    assert both_w == pytest.approx(8.495, rel=tolerance["exact"])
    assert found[0].plate_w.value < 0.95 * both_w


def test_total_current_of_a_cathode_resistor(tolerance: dict[str, Any]) -> None:
    """7.3 V on 135 ohm: 54.1 mA, of both tubes and of their screens too."""
    found = tubes(shared(135.0), "V4 = 7.300 V")
    assert 1e3 * sum(t.cathode_a.value for t in found) == pytest.approx(54.1, rel=tolerance["exact"])
    assert all(t.plate_a.value < t.cathode_a.value for t in found)


def test_a_shared_resistor_with_screens_taken_off(tolerance: dict[str, Any]) -> None:
    """F-7: 19 V on 250 ohm are 76 mA; 2.5 mA of screen each (0.55 V over 220 ohm), 345 V: 35.5 mA, 11.6 W each."""
    screens = [f"{name} screen resistor = 0.5500 V" for name in ("V4", "V5")]
    plates = [f"{name} plate = 345.0 V" for name in ("V4", "V5")]
    found = tubes(shared(250.0), "V4 = 19.000 V", *screens, *plates)
    assert 1e3 * sum(t.cathode_a.value for t in found) == pytest.approx(76.0, rel=tolerance["exact"])
    for tube in found:
        assert 1e3 * tube.plate_a.value == pytest.approx(35.5, rel=tolerance["exact"])
        assert tube.plate_w.value == pytest.approx(11.6, rel=tolerance["exact"])


def test_small_resistors_measured_with_two_wires(tolerance: dict[str, Any]) -> None:
    """Ten of 1 ohm: 1.089 ohm with two wires, 0.980 with four. The first is doubted and the printed value goes."""
    bench = bench_at(
        "godwit_40", ('R41 = { value = "1", watts = 1, tolerance = 1', 'R41 = { value = "1", watts = 1, tolerance = 5')
    )
    two, four = (said(bench, "V5 = 44.00 mV", f"V5 resistor ohms = {ohm} ohm") for ohm in ("1.089", "0.980"))
    assert [f.rule for f in two.findings] == ["idle-lead-resistance"]
    assert four.findings == ()
    true_a = 0.044 / 0.980
    assert four.tubes[0].cathode_a.value == pytest.approx(true_a, rel=1e-9)
    assert two.tubes[0].cathode_a.value == pytest.approx(true_a, rel=tolerance["leads"])
    assert pytest.approx(0.90 * true_a, rel=tolerance["exact"]) == 0.044 / 1.089  # what it spares


def test_an_ammeter_beside_a_winding_misses_a_twentieth_to_a_tenth() -> None:
    """A thread: a hand meter has 2 to 11 ohm, so that 5, perhaps 10 % stays in the winding."""
    shunt = first(bench_at("godwit_40"), "V5 shunt = 40.0 mA")
    assert shunt.plate_from == "ammeter across T2 primary"
    missed = 1.0 - 0.040 / shunt.plate_a.value
    assert 0.05 <= missed <= 0.10
    ends = [1.0 - 1.0 / (1.0 + ohm / 68.0) for ohm in (2.0, 10.7)]
    assert shunt.plate_a.off >= 0.040 / (1.0 - max(ends)) - shunt.plate_a.value
