"""What a type's law says at the published rows of its data file: the figures a fit meets or misses.

The rows are those of the data files, as plain tables; the law is a table of parameters.
"""

from __future__ import annotations

import tomllib
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from full_drive import full_drive_figures
from lugwright.circuit.tubes.pentode import pentode_currents_a
from lugwright.circuit.tubes.triode import triode_plate_current_a

DATA = Path(__file__).parents[1] / "src/lugwright/catalogue/data/tubes"
QUANTITIES = ("plate_a", "screen_a", "gm_s", "rp_ohm")
SCREEN_MU = "screen_mu"  # how many volts of the screen one volt of the grid is worth
DRIVEN = ("plate_a", "screen_a", "cathode_a", "power_w")
KVB = {"triode": 300.0, "pentode": 20.0}
STAGE_STEPS = 25
_PENTODE = ("mu", "k", "kp", "vct", "rho", "slope", "alpha_s", "beta")
_TRIODE = ("mu", "k", "kp", "vct", "tail_share", "tail_mu_ratio")

Params = dict[str, float]
Floats = NDArray[np.float64]
Row = dict[str, object]


def data_of(stem: str) -> dict[str, object]:
    """Return the data file of this name as it stands."""
    return tomllib.loads((DATA / f"{stem}.toml").read_text(encoding="utf-8"))


def number(row: Row, key: str) -> float:
    """Return one figure of a row."""
    return float(row[key])  # type: ignore[arg-type]


def figures(law: Params, rows: list[Row]) -> dict[str, Floats]:
    """Return plate and screen current, gm and plate resistance at every row. [A], [A], [S], [ohm]"""
    return _pentode_figures(law, rows) if "rho" in law else _triode_figures(law, rows)


def _triode_figures(law: Params, rows: list[Row]) -> dict[str, Floats]:
    plate, grid = (np.array([number(r, n) for r in rows]) for n in ("plate_v", "grid_v"))
    named = {"tail_share": 0.0, "tail_mu_ratio": 1.0} | {n: law[n] for n in _TRIODE if n in law}
    current, conductance, gm = triode_plate_current_a(plate, grid, kvb=KVB["triode"], **named)
    return {"plate_a": current, "gm_s": gm, "rp_ohm": 1.0 / conductance}


def _pentode_figures(law: Params, rows: list[Row]) -> dict[str, Floats]:
    """Triode-connected rows add plate and screen."""
    plate, screen, grid = (np.array([number(r, n) for r in rows]) for n in ("plate_v", "screen_v", "grid_v"))
    tied = np.array([r.get("connection") == "triode" for r in rows])
    c = pentode_currents_a(plate, screen, grid, kvb=KVB["pentode"], **{n: law[n] for n in _PENTODE})
    total = c.plate_by_plate + c.plate_by_screen + c.screen_by_plate + c.screen_by_screen
    return {
        "plate_a": c.plate_a + tied * c.screen_a,
        "screen_a": c.screen_a,
        "gm_s": c.plate_by_grid + tied * c.screen_by_grid,
        "rp_ohm": 1.0 / np.where(tied, total, c.plate_by_plate),
        SCREEN_MU: (c.plate_by_grid + c.screen_by_grid) / (c.plate_by_screen + c.screen_by_screen),
    }


def driven_figures(law: Params, driven: list[Row]) -> dict[str, Floats]:
    """Return the averages of one tube and the output at every full-drive row. [A], [W]"""
    named = {n: law[n] for n in _PENTODE}
    return full_drive_figures(lambda a, s, g: pentode_currents_a(a, s, g, kvb=KVB["pentode"], **named), driven)


def coupled_figures(law: Params, stage: Row) -> tuple[float, float]:
    """Return cathode current and gain of a resistance-coupled stage, its cathode and screen bypassed. [A], [-]"""
    supply, load, cathode = (number(stage, n) for n in ("supply_v", "plate_ohm", "cathode_ohm"))
    if "rho" in law:
        point = _pentode_stage(law, supply, load, number(stage, "screen_ohm"), cathode)
    else:
        point = _triode_stage(law, supply, load, cathode)
    amps = point["plate_a"] + point.get("screen_a", 0.0)
    return amps, point["gm_s"] / (1.0 / point["rp_ohm"] + 1.0 / load + 1.0 / number(stage, "next_ohm"))


def _triode_stage(law: Params, supply: float, load: float, cathode: float) -> dict[str, float]:
    low, high = 0.0, supply / load
    for _ in range(60):
        amps = (low + high) / 2.0
        row: Row = {"plate_v": supply - amps * (load + cathode), "grid_v": -amps * cathode}
        said = {n: float(v[0]) for n, v in figures(law, [row]).items()}
        low, high = (amps, high) if said["plate_a"] > amps else (low, amps)
    return said


def _pentode_stage(law: Params, supply: float, load: float, screen: float, cathode: float) -> dict[str, float]:
    """Newton steps on the volts of plate, screen and cathode, halved until what is left over shrinks."""
    volts = np.array([supply / 2.0, supply / 2.5, 2.0])
    left, slopes = _left_over(law, volts, supply, load, screen, cathode)
    for _ in range(STAGE_STEPS):
        step = np.linalg.solve(slopes, left)
        for _ in range(20):
            tried = _left_over(law, volts - step, supply, load, screen, cathode)
            if np.linalg.norm(tried[0]) < np.linalg.norm(left):
                break
            step = step / 2.0
        volts, (left, slopes) = volts - step, tried
    plate_v, screen_v, cathode_v = (float(v) for v in volts)
    row: Row = {"plate_v": plate_v - cathode_v, "screen_v": screen_v - cathode_v, "grid_v": -cathode_v}
    return {n: float(v[0]) for n, v in figures(law, [row]).items()}


def _left_over(
    law: Params, volts: Floats, supply: float, load: float, screen: float, cathode: float
) -> tuple[Floats, Floats]:
    """Return what the volts of plate, screen and cathode leave over, in volts across the resistors, and its slopes."""
    plate_v, screen_v, cathode_v = volts
    named = {n: law[n] for n in _PENTODE}
    c = pentode_currents_a(plate_v - cathode_v, screen_v - cathode_v, -cathode_v, kvb=KVB["pentode"], **named)
    ohms = np.array([load, screen, cathode])
    amps = np.array([c.plate_a, c.screen_a, -c.plate_a - c.screen_a])
    plate_row = [c.plate_by_plate, c.plate_by_screen, -c.plate_by_plate - c.plate_by_screen - c.plate_by_grid]
    screen_row = [c.screen_by_plate, c.screen_by_screen, -c.screen_by_plate - c.screen_by_screen - c.screen_by_grid]
    conductance = np.array([plate_row, screen_row, -np.add(plate_row, screen_row)])
    left = ohms * amps + volts - np.array([supply, supply, 0.0])
    return left, ohms[:, None] * conductance + np.eye(3)
