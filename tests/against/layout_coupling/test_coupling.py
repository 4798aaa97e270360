"""Capacitance between wires side by side and crossing, against closed forms and field solutions."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

from lugwright.layout.objective import CROSSING_UNFRIENDLY
from lugwright.layout.pickup import PAIR_APART_MM, capacitances_f_per_m, heater_hum_v, picked_up_v
from lugwright.layout.rules.heater_near_grid import WITHIN_MM
from lugwright.layout.shielding import SHIELD_FROM_MM
from lugwright.layout.side_by_side import (
    HEIGHT_MM,
    REACH_MM,
    TOUCHING_MM,
    crossing_capacitance_f,
    mutual_capacitance_f_per_m,
    plate_capacitance_f_per_m,
    run_share,
)
from lugwright.layout.ways import LANE_MM


def test_one_wire_and_the_plate(rows, tolerance):
    found = [row for row in rows if row["kind"] == "plate"]
    assert len(found) == 2
    for row in found:
        value = 1e12 * plate_capacitance_f_per_m(height_mm=float(row["first_mm"]))
        assert value == pytest.approx(float(row["closed_form_pf"]), rel=tolerance["parallel"])


def test_wires_20_mm_apart_couple_3_8_times_as_much_when_lifted_from_5_to_20_mm(tolerance):
    low, high = (mutual_capacitance_f_per_m(apart_mm=20.0, height_mm=height) for height in (5.0, 20.0))
    assert high / low == pytest.approx(3.8, rel=tolerance["two_figures"])


def test_parallel_wires_per_meter(rows, tolerance):
    found = [row for row in rows if row["kind"] == "parallel"]
    assert len(found) == 4
    for row in found:
        height, apart = float(row["first_mm"]), float(row["second_mm"])
        value = 1e12 * mutual_capacitance_f_per_m(apart_mm=apart, height_mm=height)
        assert value == pytest.approx(float(row["closed_form_pf"]), rel=tolerance["parallel"])
        if row["field_pf"]:
            assert value == pytest.approx(float(row["field_pf"]), rel=tolerance["near"])


def test_crossing_wires(rows, tolerance):
    found = [row for row in rows if row["kind"] == "crossing"]
    assert len(found) == 2
    for row in found:
        value = 1e12 * crossing_capacitance_f(lower_mm=float(row["first_mm"]), upper_mm=float(row["second_mm"]))
        assert value == pytest.approx(float(row["closed_form_pf"]), rel=tolerance["crossing"])
        assert value == pytest.approx(float(row["field_pf"]), rel=tolerance["field"])


def test_a_crossing_5_and_10_mm_up_is_as_75_mm_side_by_side(tolerance):
    crossing = crossing_capacitance_f(lower_mm=5.0, upper_mm=10.0)
    per_mm = mutual_capacitance_f_per_m(apart_mm=10.0, height_mm=5.0) / 1000.0
    assert crossing / per_mm == pytest.approx(75.0, rel=tolerance["equivalent"])


def test_the_weight_of_a_crossing_is_what_lanes_beside_each_other_couple():
    beside = mutual_capacitance_f_per_m(apart_mm=TOUCHING_MM, height_mm=HEIGHT_MM) / 1000.0
    lanes = [("heater", "grid"), ("output plate", "signal"), ("B+", "grid"), ("plate", "grid")]
    found = [crossing_capacitance_f(lower_mm=LANE_MM[a], upper_mm=LANE_MM[b]) / beside for a, b in lanes]
    assert 0.9 * min(found) <= CROSSING_UNFRIENDLY <= max(found)


def test_a_ninth_is_left_where_counting_ends():
    assert run_share(0.0) == run_share(TOUCHING_MM) == 1.0
    assert run_share(REACH_MM) == pytest.approx(1.0 / 9.0, rel=0.05)


def _beside_pair(rows, kind):
    """Return the row of a kind, and picofarads a meter of a wire 10 mm from a heater pair to its far and near wire."""
    (row,) = (row for row in rows if row["kind"] == kind)
    pair, grid = float(row["first_mm"]), float(row["second_mm"])
    table = capacitances_f_per_m([(0.0, pair), (PAIR_APART_MM, pair), (PAIR_APART_MM + 10.0, grid)])
    return float(row["closed_form_pf"]), 1e12 * table[2][0], 1e12 * table[2][1]


def test_a_grid_wire_beside_a_heater_pair_on_the_metal(rows, tolerance):
    wanted, far, _ = _beside_pair(rows, "grid beside pair far")
    assert far == pytest.approx(wanted, rel=tolerance["three_figures"])
    wanted, _, near = _beside_pair(rows, "grid beside pair near")
    assert near == pytest.approx(wanted, rel=tolerance["three_figures"])


@pytest.mark.parametrize(
    ("kind", "exact"), [("grid beside lifted pair net", "three_figures"), ("grid over pair net", "two_figures")]
)
def test_what_is_left_of_a_balanced_pair(rows, tolerance, kind, exact):
    wanted, far, near = _beside_pair(rows, kind)
    assert near - far == pytest.approx(wanted, rel=tolerance[exact])


def test_two_wires_come_out_as_by_the_formula_for_two():
    table = capacitances_f_per_m([(0.0, 5.0), (10.0, 5.0)])
    assert table[0][1] == pytest.approx(mutual_capacitance_f_per_m(apart_mm=10.0, height_mm=5.0), rel=1e-9)


def test_hum_through_a_capacitance(request, tolerance):
    with (Path(request.path).parent / "hum.csv").open(encoding="utf-8", newline="") as file:
        found = list(csv.DictReader(file))
    assert len(found) == 5
    for row in found:
        value = picked_up_v(
            capacitance_f=1e-12 * float(row["capacitance_pf"]), source_v=float(row["source_v"]), source_hz=50.0,
            grid_ohm=float(row["grid_ohm"]),
        )  # fmt: skip
        assert value == pytest.approx(float(row["hum_v"]), rel=tolerance["three_figures"]), row["what"]


def test_a_wire_as_long_as_goes_without_shield_picks_up_some_20_microvolts_beside_a_heater_pair():
    assert 1e6 * heater_hum_v(run_mm=SHIELD_FROM_MM, apart_mm=WITHIN_MM) == pytest.approx(20.0, abs=5.0)
