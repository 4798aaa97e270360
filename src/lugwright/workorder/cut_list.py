"""The cut list: which wire is cut from which reel, to which length."""

from __future__ import annotations

import math
from collections import defaultdict

from lugwright.layout.results import Plan, Wire
from lugwright.workorder.results import CutRow

CUT_STEP_MM = 5


def cut_length_mm(length_mm: float) -> float:
    """Return a wire's length rounded up to the next 5 mm.

    Parameters
    ----------
    length_mm : float
        Length needed, slack and twist included. [mm]

    Returns
    -------
    float
        Length to cut. [mm]

    Source
    ------
    Derived below: a rule is read to 5 mm at the bench, and a wire may be too long but never too short.

    Examples
    --------
    >>> cut_length_mm(81.2), cut_length_mm(85.0)
    (85.0, 85.0)
    """
    return float(CUT_STEP_MM * math.ceil(round(length_mm / CUT_STEP_MM, 6)))


def cut_rows(plan: Plan) -> tuple[CutRow, ...]:
    """Return the wires to cut, alike ones in one row. A part's own leads are not cut from a reel."""
    groups: dict[tuple[str, str, float, tuple[float, float], str, tuple[float, float]], list[int]] = defaultdict(list)
    for wire in _from_the_reel(plan):
        (strip, jacket), (strip_2, jacket_2) = sorted(zip(wire.strip_mm, wire.jacket_mm, strict=True))
        key = wire.type, wire.color, cut_length_mm(wire.length_mm), (strip, strip_2), wire.twist, (jacket, jacket_2)
        groups[key].append(wire.number)
    return tuple(
        CutRow(kind, color, length, strip, tuple(sorted(numbers)), twist, jacket)
        for (kind, color, length, strip, twist, jacket), numbers in sorted(groups.items())
    )


def reel_totals_mm(rows: tuple[CutRow, ...]) -> tuple[tuple[str, str, float], ...]:
    """Return how much of each type and color the cut list takes.

    Parameters
    ----------
    rows : tuple of CutRow
        The cut list.

    Returns
    -------
    tuple of (str, str, float)
        Type, color, length of all its wires as cut. [mm]

    Source
    ------
    Derived below: the sum of the lengths as cut.
    """
    totals: dict[tuple[str, str], float] = defaultdict(float)
    for row in rows:
        totals[row.type, row.color] += row.length_mm * len(row.wires)
    return tuple((kind, color, total) for (kind, color), total in sorted(totals.items()))


def _from_the_reel(plan: Plan) -> list[Wire]:
    return [wire for wire in plan.wires if wire.type != "lead"]
