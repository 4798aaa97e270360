"""Limits of tubes looked up in the catalogue, against the sheets."""

from __future__ import annotations

from typing import Any

import pytest

from lugwright.catalogue.load import tube_type
from lugwright.circuit.operating import Rating, TubeIdle


# A-39: largest first capacitor. 5Y3GT read, the others from memory: the makers' sheets.
@pytest.mark.parametrize(
    ("name", "farad"), [("5Y3GT", 20e-6), ("5U4GB", 40e-6), ("GZ34", 60e-6), ("EZ81", 50e-6), ("EZ80", 50e-6)]
)
def test_largest_first_capacitor(name: str, farad: float, tolerance: dict[str, Any]) -> None:
    assert tube_type(name).limits["reservoir_f"].value == pytest.approx(farad, rel=tolerance["limit"])


# C-8: heater to cathode. ECC83 180 V; EL34 and EL84 100 V.
@pytest.mark.parametrize(("name", "volts"), [("12AX7", 180.0), ("ECC83", 180.0), ("EL34", 100.0), ("EL84", 100.0)])
def test_largest_volts_between_heater_and_cathode(name: str, volts: float, tolerance: dict[str, Any]) -> None:
    assert tube_type(name).limits["heater_cathode_v"].value == pytest.approx(volts, rel=tolerance["limit"])


def test_direct_current_of_the_5y3gt(tolerance: dict[str, Any]) -> None:
    assert tube_type("5Y3GT").limits["output_a"].value == pytest.approx(0.125, rel=tolerance["limit"])


# F-1: 70 % of the plate watts at these volts, 6L6GC 46.7 mA and EL34 40.7 mA.
@pytest.mark.parametrize(("name", "plate_v", "amps"), [("6L6GC", 450.0, 0.0467), ("EL34", 430.0, 0.0407)])
def test_seventy_percent_idle(name: str, plate_v: float, amps: float, tolerance: dict[str, Any]) -> None:
    limit_w = tube_type(name).limits["plate_w"].value
    assert plate_v * amps / limit_w == pytest.approx(0.70, rel=tolerance["printed"])


# F-4: 45 mV across 1 ohm, 6 mA of it screen current, 430 V: 39 mA, 16.8 W, 67 % of an EL34; 77 % if forgotten.
def test_screen_current_is_no_plate_heat() -> None:
    idle = TubeIdle("V3", "V3", 430.0, -30.0, 430.0, 0.039, 0.006, 0.0, 0.039 * 430.0, 0.006 * 430.0, 0.0, 0.0)
    limit_w = tube_type("EL34").limits["plate_w"].value
    assert idle.cathode_a * 1.0 == pytest.approx(0.045, abs=1e-6)
    assert idle.plate_w == pytest.approx(16.8, abs=0.05)
    assert Rating("plate-watts", "V3", "plate heat", idle.plate_w, limit_w, "W").share == pytest.approx(0.67, abs=0.005)
    forgotten = Rating("plate-watts", "V3", "plate heat", idle.cathode_a * 430.0, limit_w, "W")
    assert forgotten.share == pytest.approx(0.77, abs=0.005)
