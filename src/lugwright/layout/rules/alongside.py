"""How far, and how near, one wire runs beside another, seen from above."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lugwright.findings import Grade
from lugwright.layout.explain_results import WorstPlace
from lugwright.layout.results import Wire
from lugwright.layout.rules.case import Case, Judged, told

SAMPLE_MM = 2.5
LONGEST_RUN_MM = 30.0  # our own: three times the distance between the two
CLEAN = ("grid", "signal")
Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Beside:
    """Two wires, how far the first runs near the second, and how near it comes."""

    wire: Wire
    other: Wire
    run_mm: float
    nearest_mm: float


def clean_beside(case: Case, kind: str, *, within_mm: float, rule: str) -> Judged:
    """Return the grid or signal wire that runs longest beside a wire of a kind, or that comes nearest to one."""
    found = beside(case, kind, within_mm=within_mm)
    if found is None:
        return Judged()
    met = found.run_mm <= LONGEST_RUN_MM
    near = f"{found.run_mm:.0f} mm nearer than {within_mm:.0f} mm"
    place = f"W{found.wire.number} beside W{found.other.number}"
    worst = WorstPlace(
        rule, f"longest run of a signal beside {kind} wiring", place,
        near if found.run_mm else f"no run; {found.nearest_mm:.0f} mm apart at the nearest",
        f"{LONGEST_RUN_MM:.0f} mm nearer than {within_mm:.0f} mm", met,
    )  # fmt: skip
    return told(
        worst, Grade.DOUBT, part=f"W{found.wire.number}",
        what=f"W{found.wire.number} runs beside {kind} wire W{found.other.number}",
        found=near, wanted=f"{LONGEST_RUN_MM:.0f} mm or less",
        do="cross it at a right angle, or use shielded wire", source="common practice; the numbers are our own",
    )  # fmt: skip


def beside(case: Case, kind: str, *, within_mm: float) -> Beside | None:
    """Return the worst pair of a clean wire and one of a kind: longest run, then least distance."""
    clean = [(w, p) for w in case.plan.wires if w.kind in CLEAN and not w.shield and len(p := _samples(w))]
    dirty = [
        (w, np.array(w.route)[:, :2])
        for w in case.plan.wires
        if kind in (w.kind, case.classes.get(w.joint)) and len(w.route) > 1
    ]
    found: list[Beside] = []
    for wire, points in clean:
        for other, corners in dirty:
            apart = _apart(points, corners)
            run = SAMPLE_MM * float(np.count_nonzero(apart < within_mm))
            found.append(Beside(wire, other, run, float(apart.min())))
    return max(found, key=lambda b: (b.run_mm, -b.nearest_mm, -b.wire.number, -b.other.number), default=None)


def _samples(wire: Wire) -> Floats:
    points = []
    for a, b in zip(wire.route, wire.route[1:], strict=False):
        length = math.dist(a[:2], b[:2])
        for k in range(int(length // SAMPLE_MM)):
            share = (k + 0.5) * SAMPLE_MM / length
            points.append((a[0] + share * (b[0] - a[0]), a[1] + share * (b[1] - a[1])))
    return np.array(points).reshape(-1, 2)


def _apart(points: Floats, corners: Floats) -> Floats:
    """Return the distance of each point from a way given by its corners. [mm]"""
    start, along = corners[:-1], np.diff(corners, axis=0)
    square = np.maximum((along**2).sum(axis=1), 1e-12)
    offset = points[:, None, :] - start[None]
    share = np.clip((offset * along).sum(axis=2) / square, 0.0, 1.0)
    apart: Floats = np.sqrt(((offset - share[:, :, None] * along) ** 2).sum(axis=2)).min(axis=1)
    return apart
