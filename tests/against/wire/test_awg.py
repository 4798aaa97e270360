"""Wire sizes and resistances against the gauge standard."""

from __future__ import annotations

import math
from typing import Any

import pytest

from lugwright.catalogue.load import wire_types
from lugwright.catalogue.wire import awg_diameter_mm, awg_resistance_ohm_per_m


def test_diameter_and_area_of_every_gauge_of_the_table(rows: list[dict[str, str]], tolerance: dict[str, Any]) -> None:
    assert len(rows) == 6
    for row in rows:
        diameter = awg_diameter_mm(int(row["awg"]))
        printed = 0.5 * 10.0 ** -len(row["diameter_mm"].partition(".")[2])
        assert abs(diameter - float(row["diameter_mm"])) <= max(tolerance["diameter"] * diameter, printed)
        assert math.pi / 4 * diameter**2 == pytest.approx(float(row["area_mm2"]), rel=0.003)


def test_resistance_of_every_gauge_of_the_table(rows: list[dict[str, str]], tolerance: dict[str, Any]) -> None:
    for row in rows:
        per_km = 1000 * awg_resistance_ohm_per_m(int(row["awg"]))
        assert per_km == pytest.approx(float(row["ohm_per_km"]), rel=tolerance["resistance"])


def test_six_gauges_up_halve_the_diameter(tolerance: dict[str, Any]) -> None:
    for awg in range(10, 34):
        ratio = awg_diameter_mm(awg) / awg_diameter_mm(awg + 6)
        assert ratio == pytest.approx(2.0050, abs=tolerance["ratio"])


def test_22_awg_at_60_c(tolerance: dict[str, Any]) -> None:
    assert 1000 * awg_resistance_ohm_per_m(22, temperature_c=60.0) == pytest.approx(
        61.29, rel=tolerance["resistance_warm"]
    )


def test_36_awg_and_4_0_are_the_anchors_of_the_size_law() -> None:
    assert awg_diameter_mm(36) == 0.127
    assert awg_diameter_mm(-3) == pytest.approx(11.684)


def test_heater_drop_of_one_meter_of_20_awg_at_3_a() -> None:
    assert 3.0 * awg_resistance_ohm_per_m(20) == pytest.approx(0.0999, rel=0.01)


def test_that_drop_is_1_6_percent_of_a_6_3_v_heater() -> None:
    assert 3.0 * awg_resistance_ohm_per_m(20) / 6.3 == pytest.approx(0.0159, rel=0.01)


def test_charging_pulses_in_100_mm_of_22_awg_ground(tolerance: dict[str, Any]) -> None:
    ohm = 0.1 * awg_resistance_ohm_per_m(22)
    assert 1000 * ohm == pytest.approx(5.296, rel=tolerance["resistance"])
    assert 1000 * 0.6 * ohm == pytest.approx(3.18, rel=tolerance["resistance"])
    assert 20.0 * math.log10(0.6 * ohm / 0.005) == pytest.approx(-3.9, abs=0.05)  # beside 5 mV of input signal


def test_600_v_and_1000_v_wire_is_built_as_its_style_says() -> None:
    """UL 1015: 600 V, 105 C, wall 0.76 mm; MIL-W-16878 type EE: 1000 V, 200 C, wall 0.38 mm."""
    insulated = [w for w in wire_types() if w.kind in ("solid", "stranded", "mains")]
    walls = {w.name: (w.outside_mm - w.conductor_mm) / 2.0 for w in insulated}
    styles = {600.0: (105.0, 0.76), 1000.0: (200.0, 0.38)}
    assert {w.insulation_v for w in insulated} == set(styles)
    for wire in insulated:
        temperature, wall = styles[wire.insulation_v]
        assert wire.temperature_c == temperature
        assert walls[wire.name] == pytest.approx(wall, abs=0.01)
    (usual,) = [w for w in insulated if w.name == "22 AWG stranded 600 V"]
    assert 2.3 <= usual.outside_mm <= 2.4


@pytest.mark.parametrize(("area_mm2", "most_ohm_per_km", "awg"), [(0.75, 26.0, 18), (1.0, 19.5, 16)])
def test_next_larger_gauge_stays_below_iec_60228_class_5(area_mm2: float, most_ohm_per_km: float, awg: int) -> None:
    assert math.pi / 4 * awg_diameter_mm(awg) ** 2 >= area_mm2
    assert 1000 * awg_resistance_ohm_per_m(awg) <= most_ohm_per_km


def test_every_solid_wire_of_the_catalogue_has_its_gauge_s_diameter(tolerance: dict[str, Any]) -> None:
    solid = [wire for wire in wire_types() if wire.kind in ("solid", "bare")]
    assert len(solid) >= 4
    for wire in solid:
        assert wire.conductor_mm == pytest.approx(awg_diameter_mm(wire.awg), rel=tolerance["diameter"])
        assert wire.outside_mm >= wire.conductor_mm * 0.9999 - 0.0005
