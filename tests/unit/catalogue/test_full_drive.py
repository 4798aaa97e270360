"""The averages at full drive that laws are fitted to: limits in which they must agree with simpler sums."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

import numpy as np
import pytest

sys.path.insert(0, str(Path(__file__).parents[3] / "tools"))

import full_drive
from law_figures import data_of, driven_figures, figures

LAW = {n: v for n, v in data_of("6l6gc")["law"].items() if isinstance(v, float)}  # type: ignore[attr-defined]
PAIR: dict[str, Any] = {
    "mode": "push-pull", "plate_v": 360.0, "screen_v": 270.0, "grid_v": -22.5, "drive_v": 22.5, "load_ohm": 6600.0,
}  # fmt: skip


def _one(**changed: object) -> dict[str, float]:
    return {name: float(values[0]) for name, values in driven_figures(LAW, [PAIR | changed]).items()}


@pytest.mark.parametrize("mode", ["single", "push-pull", "ultralinear"])
def test_without_drive_the_averages_are_the_idle(mode: str) -> None:
    found = _one(mode=mode, drive_v=0.0, tap=0.4)
    idle = figures(LAW, [PAIR])
    assert found["plate_a"] == pytest.approx(float(idle["plate_a"][0]), rel=1e-6)
    assert found["screen_a"] == pytest.approx(float(idle["screen_a"][0]), rel=1e-6)
    assert found["power_w"] == pytest.approx(0.0, abs=1e-9)


def test_a_pair_with_its_screens_on_the_center_tap_is_an_ordinary_pair() -> None:
    assert _one(mode="ultralinear", tap=0.0) == _one()


def test_a_small_drive_gives_the_power_of_the_slopes() -> None:
    gm, rp = (float(figures(LAW, [PAIR])[q][0]) for q in ("gm_s", "rp_ohm"))
    half = 6600.0 / 4.0
    swing = 0.01 * 2.0 * gm / (1.0 / half + 2.0 / rp)
    assert _one(drive_v=0.01)["power_w"] == pytest.approx(0.5 * swing**2 / half, rel=1e-4)


def test_screens_on_the_plates_have_the_slopes_of_the_triode_connection() -> None:
    tied = PAIR | {"screen_v": 360.0, "grid_v": -40.0, "connection": "triode"}
    gm, rp = (float(figures(LAW, [tied])[q][0]) for q in ("gm_s", "rp_ohm"))
    half = 6600.0 / 4.0
    swing = 0.01 * 2.0 * gm / (1.0 / half + 2.0 / rp)
    found = _one(mode="ultralinear", tap=1.0, screen_v=360.0, grid_v=-40.0, drive_v=0.01)
    assert found["power_w"] == pytest.approx(0.5 * swing**2 / half, rel=1e-4)


def test_a_pair_delivers_between_half_and_the_class_b_share_of_what_it_takes() -> None:
    found = _one()
    assert 0.5 < found["power_w"] / (2.0 * found["plate_a"] * PAIR["plate_v"]) < np.pi / 4.0


def test_more_phases_and_steps_change_nothing_that_matters(monkeypatch: pytest.MonkeyPatch) -> None:
    single = {
        "mode": "single",
        "plate_v": 350.0,
        "screen_v": 250.0,
        "grid_v": -18.0,
        "drive_v": 18.0,
        "load_ohm": 4200.0,
    }
    stages: list[dict[str, object]] = [{**single}, {"mode": "push-pull"}, {"mode": "ultralinear", "tap": 0.4}]
    coarse = [_one(**stage) for stage in stages]
    for name, value in (("PHASES", 240), ("NEWTON_STEPS", 50), ("MEAN_STEPS", 20)):
        monkeypatch.setattr(full_drive, name, value)
    fine = [_one(**stage) for stage in stages]
    for one, other in zip(coarse, fine, strict=True):
        assert one == pytest.approx(other, rel=0.005)


def test_a_pair_has_no_even_harmonics_and_a_single_tube_has() -> None:
    wave = np.sin((np.arange(24) + 0.5) * 2.0 * np.pi / 24)
    both = full_drive._distortion(np.stack([wave, wave + 0.1 * wave**2]))
    assert both == pytest.approx([0.0, 0.05], abs=1e-6)
    assert _one(drive_v=1.0)["distortion"] < 0.1 * _one(mode="single", drive_v=1.0, load_ohm=1650.0)["distortion"]
