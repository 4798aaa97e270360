"""Averages of an output stage at full sine drive, from the law alone: what a sheet prints as maximum-signal figures.

A class A stage works on a transformer without winding resistance, so its plate averages the supply; a push-pull
pair on a quarter of the plate-to-plate load per half. Both are solved at fixed phases by Newton steps that
approach from the side where they cannot overshoot.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
from numpy.typing import NDArray

from lugwright.circuit.tubes.pentode import PentodeCurrents

Floats = NDArray[np.float64]
Currents = Callable[[Floats, Floats, Floats], PentodeCurrents]  # plate, screen and grid volts
PHASES, NEWTON_STEPS, MEAN_STEPS = 24, 14, 4


def full_drive_figures(currents: Currents, rows: Sequence[dict[str, object]]) -> dict[str, Floats]:
    """Return average plate and screen current of one tube and the stage's output for every row. [A], [A], [W]"""
    found = {name: np.zeros(len(rows)) for name in ("plate_a", "screen_a", "power_w")}
    for mode, solve in (("single", _single), ("push-pull", _pair)):
        chosen = [n for n, row in enumerate(rows) if row["mode"] == mode]
        if chosen:
            columns = [
                np.array([[float(rows[n][key])] for n in chosen])  # type: ignore[arg-type]
                for key in ("plate_v", "screen_v", "grid_v", "drive_v", "load_ohm")
            ]
            for name, values in zip(found, solve(currents, *columns), strict=True):
                found[name][chosen] = values
    return found


def _single(
    currents: Currents, plate: Floats, screen: Floats, grid: Floats, drive: Floats, load: Floats
) -> tuple[Floats, Floats, Floats]:
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
    return now.plate_a.mean(axis=1), now.screen_a.mean(axis=1), 0.5 * load[:, 0] * fundamental**2


def _pair(
    currents: Currents, plate: Floats, screen: Floats, grid: Floats, drive: Floats, load: Floats
) -> tuple[Floats, Floats, Floats]:
    phase = (np.arange(PHASES // 2) + 0.5) * 2.0 * np.pi / PHASES
    half, push = load / 4.0, drive * np.sin(phase)
    u = np.broadcast_to(plate - 2.0, push.shape).copy()
    for _ in range(NEWTON_STEPS):
        one, two = currents(plate - u, screen, grid + push), currents(plate + u, screen, grid - push)
        slope = 1.0 + half * (one.plate_by_plate + two.plate_by_plate)
        u = u - (u - half * (one.plate_a - two.plate_a)) / slope
    fundamental = 2.0 * (u * np.sin(phase)).mean(axis=1)
    plate_a, screen_a = (
        (a + b).mean(axis=1) / 2.0 for a, b in ((one.plate_a, two.plate_a), (one.screen_a, two.screen_a))
    )
    return plate_a, screen_a, 0.5 * fundamental**2 / half[:, 0]
