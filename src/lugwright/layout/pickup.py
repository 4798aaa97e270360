"""What a bare wire picks up from another through the air between them: capacitances of several wires, and the hum."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from lugwright.layout.side_by_side import EPSILON_0_F_PER_M, WIRE_RADIUS_MM
from lugwright.layout.ways import LANE_MM

PAIR_APART_MM = 2.4  # centers of two twisted 600 V wires
HEATER_V, MAINS_HZ, GRID_OHM = 6.3, 50.0, 1e6


def capacitances_f_per_m(
    places_mm: Sequence[tuple[float, float]], radius_mm: float = WIRE_RADIUS_MM
) -> list[list[float]]:
    """Return the capacitance between each two of several parallel wires above the plate.

    Parameters
    ----------
    places_mm : sequence of (float, float)
        Of each wire: place across the plate, height of its center above the metal. [mm]
    radius_mm : float
        Radius of all conductors. [mm]

    Returns
    -------
    list of lists
        Per meter, (wire, wire); 0 of a wire with itself. [F/m]

    Valid
    -----
    Centers at least four radii apart, insulation not counted.

    Source
    ------
    Derived below: the plate mirrors each wire. A line of charge has the potential ln(2h/r) at itself and half of
    ln(((x-y)^2+(h+k)^2)/((x-y)^2+(h-k)^2)) at another; the inverse of that table times 2 pi epsilon is the
    capacitances.
    """
    x, h = (np.array(column) for column in zip(*places_mm, strict=True))
    across = (x[:, None] - x[None]) ** 2
    apart = across + (h[:, None] - h[None]) ** 2 + np.diag(radius_mm**2 + 0.0 * h)
    mirrored = across + (h[:, None] + h[None]) ** 2
    table = -2.0 * math.pi * EPSILON_0_F_PER_M * np.linalg.inv(0.5 * np.log(mirrored / apart))
    np.fill_diagonal(table, 0.0)
    found: list[list[float]] = table.tolist()
    return found


def picked_up_v(*, capacitance_f: float, source_v: float, source_hz: float, grid_ohm: float) -> float:
    """Return what a capacitance brings to a grid.

    Parameters
    ----------
    capacitance_f : float
        Between the source and the grid. [F]
    source_v, source_hz : float
        Of the source, rms, against ground. [V, Hz]
    grid_ohm : float
        From the grid to ground, all there is. [ohm]

    Returns
    -------
    float
        At the grid, rms. [V]

    Source
    ------
    Ohm's law: the current through the capacitance flows through the resistance.
    """
    reach = 2.0 * math.pi * source_hz * capacitance_f * grid_ohm
    return source_v * reach / math.hypot(1.0, reach)


def heater_hum_v(*, run_mm: float, apart_mm: float) -> float:
    """Return the most hum a bare grid wire picks up beside a heater pair with its middle on ground.

    Parameters
    ----------
    run_mm : float
        Length side by side. [mm]
    apart_mm : float
        From the wire to the nearer wire of the pair, across the plate. [mm]

    Returns
    -------
    float
        On 1 megohm at 50 Hz and 6.3 V, rms, the pair taken as not twisted. [V]

    Valid
    -----
    Wires in the lanes of their classes.

    Source
    ------
    `capacitances_f_per_m`, `picked_up_v`: the two wires of a pair swing against each other, their difference counts.
    """
    low, high = LANE_MM["heater"], LANE_MM["grid"]
    *_, grid = capacitances_f_per_m([(0.0, low), (PAIR_APART_MM, low), (PAIR_APART_MM + apart_mm, high)])
    left = abs(grid[1] - grid[0]) * run_mm / 1000.0
    return picked_up_v(capacitance_f=left, source_v=HEATER_V / 2.0, source_hz=MAINS_HZ, grid_ohm=GRID_OHM)
