"""Distortion of a resistance-coupled stage from its law alone: the grid driven by a sine, cathode and screen held.

The coupling capacitor holds its charge, so the plate works on the plate resistor from the supply and on the next
grid's resistor from its own mean. Solved at fixed phases by Newton steps.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from law_figures import KVB, Floats, Params, Row, coupled_point, number, pentode_parameters, triode_figures
from lugwright.circuit.tubes.pentode import pentode_currents_a

PHASES, NEWTON_STEPS, MEAN_STEPS, HALVINGS, HARMONICS, STEP_V, MOST_DRIVE_V = 48, 16, 4, 22, 10, 60.0, 20.0


class Idle(NamedTuple):
    """A stage without signal. [V]"""

    plate_v: float
    screen_v: float
    cathode_v: float


def distortion(law: Params, stage: Row, output_rms_v: float) -> float:
    """Return the harmonics over the fundamental when the stage gives that output. [-]"""
    idle, low, high = _idle(law, stage), 0.0, MOST_DRIVE_V
    for _ in range(HALVINGS):
        drive_v = (low + high) / 2.0
        fundamental_v, share = _driven(law, stage, idle, drive_v)
        low, high = (drive_v, high) if fundamental_v < output_rms_v else (low, drive_v)
    return share


def _idle(law: Params, stage: Row) -> Idle:
    point = coupled_point(law, stage)
    screen_a = point.get("screen_a", 0.0)
    supply = number(stage, "supply_v")
    screen_v = supply - screen_a * number(stage, "screen_ohm") if screen_a else 0.0
    cathode_v = (point["plate_a"] + screen_a) * number(stage, "cathode_ohm")
    return Idle(supply - point["plate_a"] * number(stage, "plate_ohm"), screen_v, cathode_v)


def _plate(law: Params, idle: Idle, plate_v: Floats, grid_v: Floats) -> tuple[Floats, Floats]:
    across, bias = plate_v - idle.cathode_v, grid_v - idle.cathode_v
    if "rho" in law:
        screen_v = idle.screen_v - idle.cathode_v
        c = pentode_currents_a(across, screen_v, bias, kvb=KVB["pentode"], **pentode_parameters(law))
        return c.plate_a, c.plate_by_plate
    said = triode_figures(law, across, bias)
    return said["plate_a"], 1.0 / said["rp_ohm"]


def _driven(law: Params, stage: Row, idle: Idle, drive_v: float) -> tuple[float, float]:
    """Return the RMS of the fundamental and the share of the harmonics."""
    phase = (np.arange(PHASES) + 0.5) * 2.0 * np.pi / PHASES
    grid_v, supply = drive_v * np.sin(phase), number(stage, "supply_v")
    load, following = (1.0 / number(stage, n) for n in ("plate_ohm", "next_ohm"))
    mean, plate_v = idle.plate_v, np.full(PHASES, idle.plate_v)
    for _ in range(MEAN_STEPS):
        for _ in range(NEWTON_STEPS):
            amps, slope = _plate(law, idle, plate_v, grid_v)
            left = amps - (supply - plate_v) * load + (plate_v - mean) * following
            plate_v = plate_v - np.clip(left / (slope + load + following), -STEP_V, STEP_V)
        mean = float(plate_v.mean())
    waves = np.abs(np.fft.rfft(plate_v - mean)) * 2.0 / PHASES
    harmonics = float(np.sqrt(np.sum(waves[2 : HARMONICS + 1] ** 2)))
    return float(waves[1]) / np.sqrt(2.0), harmonics / float(waves[1])
