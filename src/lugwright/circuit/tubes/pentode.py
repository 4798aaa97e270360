"""Pentodes and beam tetrodes: plate and screen current with exact derivatives."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from lugwright.circuit.tubes.drive import Array, ArrayLike, drawing_v, drive

KNEE_POWER = 0.3
KNEE_A = 0.1
FLOOR_A = 1e-6


class PentodeCurrents(NamedTuple):
    """Plate and screen current, each with slopes over plate, screen and grid volts. [A], [A/V]"""

    plate_a: Array
    plate_by_plate: Array
    plate_by_screen: Array
    plate_by_grid: Array
    screen_a: Array
    screen_by_plate: Array
    screen_by_screen: Array
    screen_by_grid: Array


def pentode_currents_a(
    plate_to_cathode_v: ArrayLike,
    screen_to_cathode_v: ArrayLike,
    grid_to_cathode_v: ArrayLike,
    *,
    mu: ArrayLike,
    k: ArrayLike,
    kp: ArrayLike,
    vct: ArrayLike,
    rho: ArrayLike,
    slope: ArrayLike,
    alpha_s: ArrayLike,
    beta: ArrayLike,
    kvb: ArrayLike,
) -> PentodeCurrents:
    """Return plate and screen current and their slopes.

    Parameters
    ----------
    plate_to_cathode_v, screen_to_cathode_v, grid_to_cathode_v : float or array
        Voltages against the cathode. [V]
    mu, k, kp, vct, rho, slope, alpha_s, beta, kvb : float or array
        The type's parameters, see `lugwright.catalogue.records.PentodeLaw`.

    Returns
    -------
    PentodeCurrents
        Currents into plate and screen. [A], [A/V]

    Valid
    -----
    Any real voltage, given rho * (1 + alpha_s) <= 1: never negative, smooth. Secondary emission
    is left out; screen current below about 30 V on the plate is unverified.

    Source
    ------
    D. Reefman's split of a constant space current (report of 24 January 2016, equations from
    memory) with a rational knee, reduced by our own algebra, and a knee that moves with current.
    """
    v, v_slope = drawing_v(plate_to_cathode_v)
    s, s_slope = drawing_v(screen_to_cathode_v)
    e, by_s, by_grid = drive(s, grid_to_cathode_v, mu=mu, kp=kp, vct=vct, kvb=kvb, soft_v=0.0)
    root = np.sqrt(e)
    space = k * e * root
    space_by_s, space_by_grid = 1.5 * k * root * by_s * s_slope, 1.5 * k * root * by_grid
    b = beta * (KNEE_A / (space + FLOOR_A)) ** KNEE_POWER
    h = 1.0 / (1.0 + b * v)
    bend = KNEE_POWER * space / (space + FLOOR_A)  # -d(ln b)/d(ln space)
    plate_share = (1.0 - rho) * (1.0 - h) + slope * v
    screen_share = rho * (1.0 + alpha_s * h)
    plate_by_space = (1.0 - rho) * (1.0 - h) * (1.0 - bend * h) + slope * v
    screen_by_space = rho * (1.0 + alpha_s * h * (1.0 + bend * (1.0 - h)))
    plate_by_v = space * ((1.0 - rho) * b * h * h + slope) * v_slope
    screen_by_v = -space * rho * alpha_s * b * h * h * v_slope
    return PentodeCurrents(
        space * plate_share, plate_by_v, plate_by_space * space_by_s, plate_by_space * space_by_grid,
        space * screen_share, screen_by_v, screen_by_space * space_by_s, screen_by_space * space_by_grid,
    )  # fmt: skip
