"""Averages of an output stage at full sine drive, from the law alone: what a sheet prints as maximum-signal figures.

A class A stage works on a transformer without winding resistance, so its plate averages the supply; a push-pull
pair on a quarter of the plate-to-plate load per half, in ultralinear connection with each screen on a tap of its
half. Both are solved at fixed phases by Newton steps that
approach from the side where they cannot overshoot.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
from numpy.typing import NDArray

from lugwright.circuit.tubes.pentode import PentodeCurrents

Floats = NDArray[np.float64]
Currents = Callable[[Floats, Floats, Floats], PentodeCurrents]  # plate, screen and grid volts
PHASES, NEWTON_STEPS, MEAN_STEPS, HARMONICS = 24, 14, 4, 10


def full_drive_figures(currents: Currents, rows: Sequence[dict[str, object]]) -> dict[str, Floats]:
    """Return averages of one tube and the output and distortion of the stage, for every row.

    The keys are plate_a, screen_a, cathode_a, power_w (of the fundamental) and distortion (harmonics over it).
    """
    found = {name: np.zeros(len(rows)) for name in ("plate_a", "screen_a", "power_w", "distortion")}
    for modes, solve in ((("single",), _single), (("push-pull", "ultralinear"), _pair)):
        chosen = [n for n, row in enumerate(rows) if row["mode"] in modes]
        if chosen:
            columns = [
                np.array([[float(rows[n].get(key, 0.0))] for n in chosen])  # type: ignore[arg-type]
                for key in ("plate_v", "screen_v", "grid_v", "drive_v", "load_ohm", "tap")
            ]
            for name, values in zip(found, solve(currents, *columns), strict=True):
                found[name][chosen] = values
    return found | {"cathode_a": found["plate_a"] + found["screen_a"]}


def _single(
    currents: Currents, plate: Floats, screen: Floats, grid: Floats, drive: Floats, load: Floats, _tap: Floats
) -> tuple[Floats, Floats, Floats, Floats]:
    phase = (np.arange(PHASES) + 0.5) * 2.0 * np.pi / PHASES
    swing = grid + drive * np.sin(phase)
    mean = currents(plate, screen, grid).plate_a
    for _ in range(MEAN_STEPS):
        v = np.full(swing.shape, 2.0)
        for _ in range(NEWTON_STEPS):
            now = currents(v, screen, swing)
            v = v - (v - plate + load * (now.plate_a - mean)) / (1.0 + load * now.plate_by_plate)
        mean = now.plate_a.mean(axis=1, keepdims=True)
    swung = now.plate_a - mean
    fundamental = 2.0 * (swung * np.sin(phase)).mean(axis=1)
    power_w = 0.5 * load[:, 0] * fundamental**2
    return now.plate_a.mean(axis=1), now.screen_a.mean(axis=1), power_w, _distortion(swung)


def _pair(
    currents: Currents, plate: Floats, screen: Floats, grid: Floats, drive: Floats, load: Floats, tap: Floats
) -> tuple[Floats, Floats, Floats, Floats]:
    phase = (np.arange(PHASES // 2) + 0.5) * 2.0 * np.pi / PHASES
    half, push = load / 4.0, drive * np.sin(phase)
    u = np.broadcast_to(plate - 2.0, push.shape).copy()
    for _ in range(NEWTON_STEPS):
        one = currents(plate - u, screen - tap * u, grid + push)
        two = currents(plate + u, screen + tap * u, grid - push)
        pull = _turns(one, tap) - _turns(two, tap)
        u = u - (u - half * pull) / (1.0 + half * (_slope(one, tap) + _slope(two, tap)))
    fundamental = 2.0 * (u * np.sin(phase)).mean(axis=1)
    plate_a, screen_a = (
        (a + b).mean(axis=1) / 2.0 for a, b in ((one.plate_a, two.plate_a), (one.screen_a, two.screen_a))
    )
    return plate_a, screen_a, 0.5 * fundamental**2 / half[:, 0], _distortion(np.concatenate([u, -u], axis=1))


def _turns(c: PentodeCurrents, tap: Floats) -> Floats:
    """Return the current that, through the whole half winding, would magnetize as plate and tap do. [A]"""
    return c.plate_a + tap * c.screen_a


def _slope(c: PentodeCurrents, tap: Floats) -> Floats:
    """Return how fast that current rises with the volts of the plate, the tap moving along. [A/V]"""
    return c.plate_by_plate + tap * (c.plate_by_screen + c.screen_by_plate) + tap**2 * c.screen_by_screen


def _distortion(wave: Floats) -> Floats:
    """Return the harmonics over the fundamental of waves over a whole cycle, a row each."""
    heights = np.abs(np.fft.rfft(wave, axis=1))
    return np.sqrt((heights[:, 2 : HARMONICS + 1] ** 2).sum(axis=1)) / np.maximum(heights[:, 1], 1e-30)
