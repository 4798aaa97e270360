from __future__ import annotations

import math
from dataclasses import replace

import pytest

from lugwright.bringup.ohms_chart import ohms_between, ohms_chart
from lugwright.bringup.reading_points import ReadingPoints
from lugwright.bringup.results import OhmsChart, Reading
from lugwright.buildfile.build import Build, Tube
from lugwright.circuit.elements import Junction, Resistor
from lugwright.circuit.network import Circuit

Amplifier = tuple[Build, Circuit]


@pytest.fixture(scope="module")
def chart(dunlin: Amplifier) -> OhmsChart:
    return ohms_chart(*dunlin)


@pytest.fixture(scope="module")
def fixed_bias_chart(godwit: Amplifier) -> OhmsChart:
    return ohms_chart(*godwit)


def at(chart: OhmsChart, point: str) -> Reading:
    (found,) = [r for r in chart.readings if r.point == point]
    return found


def test_every_pin_in_use_is_listed_once(dunlin: Amplifier, chart: OhmsChart) -> None:
    pins = [
        f"{part.name} pin {pin} ("
        for part in dunlin[0].parts
        if isinstance(part.values, Tube)
        for t in part.terminals
        for pin in t.pins
    ]
    assert len(pins) == 9 + 6
    for start in pins:
        assert sum(r.point.startswith(start) for r in chart.readings) == 1


def test_cathode_resistor_reads_its_own_value_within_tolerance_and_meter(chart: OhmsChart) -> None:
    reading = at(chart, "V2 pin 8 (cathode)")
    assert reading.expected == pytest.approx(330.0, rel=1e-4)
    # 5 percent parts, then 1 percent and 0.2 ohm of the meter
    assert reading.low == pytest.approx(330.0 * 0.95 * 0.99 - 0.2, rel=0.004)
    assert reading.high == pytest.approx(330.0 * 1.05 * 1.01 + 0.2, rel=0.004)


def test_window_holds_the_expected_value_everywhere(chart: OhmsChart, fixed_bias_chart: OhmsChart) -> None:
    readings = [*chart.readings, *fixed_bias_chart.readings]
    assert len(readings) > 150
    assert [r.point for r in readings if not r.low <= r.expected <= r.high] == []


def test_primary_is_over_range_to_ground_and_copper_from_end_to_end(chart: OhmsChart) -> None:
    assert math.isinf(at(chart, "T1 lead primary.1").expected)
    assert at(chart, "T1 lead primary.1").low == 20e6
    assert at(chart, "T1 primary.1 to primary.2").expected == pytest.approx(8.0, rel=1e-3)


def test_earth_pin_to_metal_is_a_dead_short(chart: OhmsChart) -> None:
    assert at(chart, "P1 earth to chassis metal").high < 0.5


def test_halves_of_the_output_transformer_are_read_apart(fixed_bias_chart: OhmsChart) -> None:
    assert at(fixed_bias_chart, "T2 primary.1 to primary.2").expected == pytest.approx(62.0, rel=1e-3)
    assert at(fixed_bias_chart, "T2 primary.2 to primary.3").expected == pytest.approx(68.0, rel=1e-3)


def test_filter_capacitor_is_said_to_climb_and_a_grid_is_not(chart: OhmsChart) -> None:
    assert "climbs for about 20 s while C6.a charges" in at(chart, "B+1 to ground").note
    assert "climbs" not in at(chart, "V1 pin 2 (grid a)").note


def test_a_reading_through_a_diode_is_marked(dunlin: Amplifier, chart: OhmsChart) -> None:
    build, circuit = dunlin
    leaky = circuit.with_elements([Junction("CR9", "T1.primary.1", circuit.ground)])
    assert "depends on the meter" in at(ohms_chart(build, leaky), "T1 lead primary.1").note
    assert "depends on the meter" not in at(chart, "T1 lead primary.1").note


def test_supply_behind_silicon_reads_its_bleeders_because_the_red_lead_blocks_the_diodes(
    fixed_bias_chart: OhmsChart,
) -> None:
    bleeders = 1.0 / (1.0 / 220e3 + 1.0 / (110.0 + 3.3e3 + 6.8e3 + 470e3))
    assert at(fixed_bias_chart, "B+1 to ground").expected == pytest.approx(bleeders, rel=0.01)


def test_bias_capacitor_reads_through_its_rectifier_far_below_its_resistors(fixed_bias_chart: OhmsChart) -> None:
    reading = at(fixed_bias_chart, "C21 lead 2 (bias raw)")
    assert "through a diode: depends on the meter" in reading.note
    assert reading.expected < 0.25 * (18e3 + 15e3 + 7.5e3)
    assert reading.high > 2.9 * reading.expected > 8.0 * reading.low


def test_a_halved_cathode_resistor_falls_out_of_its_window(dunlin: Amplifier, chart: OhmsChart) -> None:
    build, circuit = dunlin
    halved = [replace(e, ohm=165.0) if isinstance(e, Resistor) and e.ohm == 330.0 else e for e in circuit.elements]
    wrong = replace(circuit, elements=tuple(halved))
    reading = at(ohms_chart(build, wrong), "V2 pin 8 (cathode)").expected
    assert reading < at(chart, "V2 pin 8 (cathode)").low


def test_same_build_same_chart(dunlin: Amplifier, chart: OhmsChart) -> None:
    assert ohms_chart(*dunlin) == chart


def test_between_two_points_is_read_what_lies_between_them(dunlin: Amplifier) -> None:
    held = [ReadingPoints(dunlin[0]).held(words) for words in ("V1 pin 6 to V1 pin 1", "R12", "B+1 to B+2")]
    plates, across, supply = ohms_between(*dunlin, held).readings
    assert plates.expected == pytest.approx(200e3, rel=1e-3)  # two plate resistors meet at B+3
    assert (plates.red, plates.black, plates.quantity) == ("V1.6", "V1.1", "ohms")
    assert across.expected == pytest.approx(330.0, rel=1e-4)
    assert supply.low < supply.expected < supply.high
    assert "climbs" in across.note
