"""Distances that insulate: creepage over a surface, clearance through air. Facts only, shared by plan and checks."""

from __future__ import annotations

import itertools
import math

# Rows of working volts (rms or DC) and millimeters, pollution degree 2, per material group.
_CREEPAGE_MM: dict[str, tuple[tuple[float, float], ...]] = {
    "III": ((100, 1.4), (160, 1.6), (200, 2.0), (250, 2.5), (320, 3.2), (400, 4.0), (500, 5.0), (630, 6.3), (800, 8.0),
            (1000, 10.0)),
    "II": ((100, 1.0), (160, 1.1), (200, 1.4), (250, 1.8), (320, 2.2), (400, 2.8), (500, 3.6), (630, 4.5), (800, 5.6),
           (1000, 7.1)),
    "I": ((100, 0.71), (160, 0.80), (200, 1.0), (250, 1.25), (320, 1.6), (400, 2.0), (500, 2.5), (630, 3.2),
          (800, 4.0), (1000, 5.0)),
}  # fmt: skip
# Pollution degree 3, material group III.
_CREEPAGE_DIRTY_MM = ((250, 4.0), (400, 6.3), (500, 8.0), (630, 10.0))
# Peak or DC volts between conductors, secondary circuits; functional, basic, reinforced.
_CLEARANCE_MM = {
    "functional": ((280, 1.1), (420, 1.6), (700, 2.5), (840, 3.2)),
    "basic": ((280, 1.4), (420, 1.9), (700, 2.5), (840, 3.2)),
    "reinforced": ((280, 2.8), (420, 3.8), (700, 5.0), (840, 5.0)),
}
MAINS_AIR_MM = 6.0  # mains to anything else; common practice, above the reinforced distances of the tables


def creepage_mm(*, working_v: float, group: str = "III", pollution: int = 2) -> float:
    """Return the distance over an insulating surface that a working voltage needs (basic insulation).

    Parameters
    ----------
    working_v : float
        Voltage between the two conductors, rms or DC. [V]
    group : str
        Material group I, II or III; III for phenolic board and unknown plastics. [-]
    pollution : int
        Pollution degree 2 (indoors), or 3 (group III only, 250 V up). [-]

    Returns
    -------
    float
        The distance. [mm]

    Valid
    -----
    Up to 1000 V (630 V in pollution degree 3); above that the last two rows are carried on in a
    straight line. Below the first row the first row's distance is kept.

    Source
    ------
    IEC 60664-1, table F.4, rows as reproduced by a connector maker. Interpolation between rows
    from memory: the standard allows it.
    """
    rows = _CREEPAGE_DIRTY_MM if pollution == 3 else _CREEPAGE_MM[group]
    return _between_rows(rows, abs(working_v))


def clearance_mm(*, peak_v: float, grade: str = "basic") -> float:
    """Return the distance through air that a peak voltage needs in a secondary circuit.

    Parameters
    ----------
    peak_v : float
        Peak or DC voltage between the two conductors. [V]
    grade : {"functional", "basic", "reinforced"}
        Grade of insulation. [-]

    Returns
    -------
    float
        The distance. [mm]

    Valid
    -----
    Mains of 150 to 300 V, pollution degree 1 to 2. The next higher row counts; no interpolation.
    Above 840 V the last row is scaled in proportion.

    Source
    ------
    Table III of an article on IEC 60950-1 clearances (Compliance Engineering, January 2003).
    """
    rows = _CLEARANCE_MM[grade]
    volts = abs(peak_v)
    return next((gap for limit, gap in rows if volts <= limit), rows[-1][1] * volts / rows[-1][0])


def lug_gap_mm(*, pitch_mm: float, lug_width_mm: float, steps: int = 1) -> float:
    """Return the free distance between two lugs of one strip.

    Parameters
    ----------
    pitch_mm : float
        Distance between the centers of neighboring lugs. [mm]
    lug_width_mm : float
        Width of a lug. [mm]
    steps : int
        1 for neighbors, 2 when one lug is skipped. [-]

    Returns
    -------
    float
        Edge to edge; a skipped lug is counted as bare board. [mm]

    Source
    ------
    Derived below: centers are ``steps`` pitches apart, half a lug belongs to each side.
    """
    return steps * pitch_mm - lug_width_mm


def twist_factor(*, outside_mm: float, pitch_mm: float) -> float:
    """Return how much longer each wire of a twisted pair is than the pair.

    Parameters
    ----------
    outside_mm : float
        Diameter over the insulation: the two centers are this far apart. [mm]
    pitch_mm : float
        Length of one full turn along the pair. [mm]

    Returns
    -------
    float
        Wire length per pair length. [-]

    Source
    ------
    Derived below: a turn of a helix of diameter D and pitch p unrolls to the hypotenuse of pi D and p.
    """
    return math.hypot(1.0, math.pi * outside_mm / pitch_mm)


def sag_extra_mm(*, sag_mm: float, span_mm: float) -> float:
    """Return the extra wire a gentle bow between two points takes.

    Parameters
    ----------
    sag_mm, span_mm : float
        Depth of the bow, distance of its ends. [mm]

    Returns
    -------
    float
        Extra length. [mm]

    Valid
    -----
    Sag below a fifth of the span.

    Source
    ------
    First term of the arc length of a parabola, 8 s^2 / (3 L).
    """
    return 8.0 * sag_mm**2 / (3.0 * span_mm)


def _between_rows(rows: tuple[tuple[float, float], ...], volts: float) -> float:
    if volts <= rows[0][0]:
        return rows[0][1]
    for (low_v, low_mm), (high_v, high_mm) in itertools.pairwise(rows):
        if volts <= high_v:
            return low_mm + (high_mm - low_mm) * (volts - low_v) / (high_v - low_v)
    (low_v, low_mm), (high_v, high_mm) = rows[-2:]
    return high_mm + (high_mm - low_mm) * (volts - high_v) / (high_v - low_v)
