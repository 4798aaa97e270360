"""Capacitance between wires side by side and crossing, against closed forms and field solutions."""

from __future__ import annotations

import pytest

from lugwright.layout.objective import CROSSING_UNFRIENDLY
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
