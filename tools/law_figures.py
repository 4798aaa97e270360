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
STAGE_STEPS, HALVINGS = 25, 40
_PENTODE = ("mu", "k", "kp", "vct", "rho", "slope", "alpha_s", "beta")
_TRIODE = ("mu", "k", "kp", "vct", "tail_share", "tail_mu_ratio", "kvb", "power", "soft_v")

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
    if "rho" in law:
        return _pentode_figures(law, rows)
    plate, grid = (np.array([number(r, n) for r in rows]) for n in ("plate_v", "grid_v"))
    return triode_figures(law, plate, grid)


def triode_figures(law: Params, plate: Floats, grid: Floats) -> dict[str, Floats]:
    """Return plate current, gm and plate resistance at plate and grid volts. [A], [S], [ohm]"""
    usual = {"tail_share": 0.0, "tail_mu_ratio": 1.0, "kvb": KVB["triode"]}
    named = usual | {n: law[n] for n in _TRIODE if n in law}
    current, conductance, gm = triode_plate_current_a(plate, grid, **named)
    return {"plate_a": current, "gm_s": gm, "rp_ohm": 1.0 / conductance}


def _pentode_figures(law: Params, rows: list[Row]) -> dict[str, Floats]:
    """Triode-connected rows add plate and screen."""
    plate, screen, grid = (np.array([number(r, n) for r in rows]) for n in ("plate_v", "screen_v", "grid_v"))
    tied = np.array([r.get("connection") == "triode" for r in rows])
    c = pentode_currents_a(plate, screen, grid, kvb=KVB["pentode"], **pentode_parameters(law))
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
    named = pentode_parameters(law)
    return full_drive_figures(lambda a, s, g: pentode_currents_a(a, s, g, kvb=KVB["pentode"], **named), driven)


def coupled_point(law: Params, stage: Row) -> dict[str, float]:
    """Return plate and screen current, gm and plate resistance of a coupled stage without signal. [A], [S], [ohm]"""
    return _pentode_stage(law, stage) if "rho" in law else _triode_stages(law, [stage])[0]


def pentode_parameters(law: Params) -> Params:
    """Return the parameters of a pentode's law but `kvb`."""
    return {name: law[name] for name in _PENTODE}


def coupled_figures(law: Params, stages: list[Row]) -> dict[str, Floats]:
    """Return cathode current and gain of resistance-coupled stages, their cathodes and screens bypassed. [A], [-]"""
    points = [_pentode_stage(law, s) for s in stages] if "rho" in law else _triode_stages(law, stages)
    amps = [p["plate_a"] + p.get("screen_a", 0.0) for p in points]
    ohms = [[number(s, n) for n in ("plate_ohm", "next_ohm")] for s in stages]
    gains = [p["gm_s"] / (1.0 / p["rp_ohm"] + 1.0 / a + 1.0 / b) for p, (a, b) in zip(points, ohms, strict=True)]
    return {"amps": np.array(amps), "gain": np.array(gains)}


def _triode_stages(law: Params, stages: list[Row]) -> list[dict[str, float]]:
    supply, load, cathode = (np.array([number(s, n) for s in stages]) for n in ("supply_v", "plate_ohm", "cathode_ohm"))
    low, high = np.zeros(len(stages)), supply / load
    for _ in range(HALVINGS):
        amps = (low + high) / 2.0
        said = triode_figures(law, supply - amps * (load + cathode), -amps * cathode)
        more = said["plate_a"] > amps
        low, high = np.where(more, amps, low), np.where(more, high, amps)
    return [{name: float(values[n]) for name, values in said.items()} for n in range(len(stages))]


def _pentode_stage(law: Params, stage: Row) -> dict[str, float]:
    """Newton steps on the volts of plate, screen and cathode, halved until what is left over shrinks."""
    parts = ("supply_v", "plate_ohm", "screen_ohm", "cathode_ohm")
    supply, load, screen, cathode = (number(stage, n) for n in parts)
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
    named = pentode_parameters(law)
    c = pentode_currents_a(plate_v - cathode_v, screen_v - cathode_v, -cathode_v, kvb=KVB["pentode"], **named)
    ohms = np.array([load, screen, cathode])
    amps = np.array([c.plate_a, c.screen_a, -c.plate_a - c.screen_a])
    plate_row = [c.plate_by_plate, c.plate_by_screen, -c.plate_by_plate - c.plate_by_screen - c.plate_by_grid]
    screen_row = [c.screen_by_plate, c.screen_by_screen, -c.screen_by_plate - c.screen_by_screen - c.screen_by_grid]
    conductance = np.array([plate_row, screen_row, -np.add(plate_row, screen_row)])
    left = ohms * amps + volts - np.array([supply, supply, 0.0])
    return left, ohms[:, None] * conductance + np.eye(3)
