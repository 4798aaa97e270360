"""Where the bodies of seated parts lie."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from lugwright.layout.results import SeatedPart
from lugwright.layout.rules.case import Case

SAMPLES = np.linspace(-0.5, 0.5, 17)
Floats = NDArray[np.float64]


def axis_points(case: Case, seat: SeatedPart) -> Floats:
    """Return points along the axis of a body, from the first lead's end to the second's: x, y, height. [mm]"""
    a, b = (case.plan.terminals[key] for key in seat.terminals)
    share = min(1.0, seat.body_length_mm / max(seat.span_mm, 1e-9))
    along = 0.5 + SAMPLES * share
    x, y = a.x_mm + along * (b.x_mm - a.x_mm), a.y_mm + along * (b.y_mm - a.y_mm)
    return np.column_stack([x, y, np.full(len(along), seat.z_mm)])


def nearest_mm(one: Floats, two: Floats) -> float:
    """Return the least distance between two sets of points.

    Parameters
    ----------
    one, two : array
        Points, one a row. [mm]

    Returns
    -------
    float
        The distance of the two that are nearest. [mm]

    Source
    ------
    Pythagoras.
    """
    return float(np.sqrt(((one[:, None, :] - two[None, :, :]) ** 2).sum(axis=2)).min())


def beside_axis_mm(points: Floats, axis: Floats) -> Floats:
    """Return how far points are from the axis of a body, seen from above.

    Parameters
    ----------
    points : array
        x and y, one point a row. [mm]
    axis : array
        Points of the axis, from end to end. [mm]

    Returns
    -------
    array
        One distance a point. [mm]

    Source
    ------
    Plane geometry: a point is nearest to a straight line at its foot, or at an end of the line.
    """
    start, along = axis[0, :2], axis[-1, :2] - axis[0, :2]
    offset = points[:, :2] - start
    share = np.clip(offset @ along / max(float(along @ along), 1e-12), 0.0, 1.0)
    apart: Floats = np.hypot(*(offset - share[:, None] * along).T)
    return apart
