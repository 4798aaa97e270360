"""Every joint can be reached with the iron: no body lies over it."""

from __future__ import annotations

import numpy as np

from lugwright.findings import Grade
from lugwright.layout.explain_results import WorstPlace
from lugwright.layout.rules.case import Case, Judged, told
from lugwright.layout.rules.lying import axis_points, beside_axis_mm


def covered_joint(case: Case) -> Judged:
    """Return the joint that a body of another joint lies over, or comes nearest to lying over."""
    used = [t for key in sorted(case.leads) if (t := case.plan.terminals[key]).kind != "exit"]
    if not used or not case.plan.seats:
        return Judged()
    xy = np.array([(t.x_mm, t.y_mm) for t in used])
    gaps: list[tuple[float, str, str]] = []
    for seat in case.plan.seats:
        apart = beside_axis_mm(xy, axis_points(case, seat)) - seat.body_diameter_mm / 2.0
        near = [
            (round(float(apart[k]), 1), t.key, seat.part) for k, t in enumerate(used) if t.key not in seat.terminals
        ]
        gaps += sorted(near)[:1] + [gap for gap in near if gap[0] < 0.0]
    gap, key, part = min(gaps, default=(0.0, "", ""))
    if not key:
        return Judged()
    met = gap >= 0.0
    found = f"{gap:.1f} mm beside it" if met else f"it lies {-gap:.1f} mm over it"
    limit = "beside it, not over it"
    worst = WorstPlace("covered-joint", "joint hardest to reach", f"{case.label(key)} by {part}", found, limit, met)
    count = len({covered for over, covered, _ in gaps if over < 0.0})
    return told(
        worst, Grade.NOTE, part=part, what=f"{part} lies over {case.label(key)}",
        found=f"{-gap:.1f} mm over it ({count} such joints)",
        do=f"solder and test {case.label(key)} before {part} goes in; {part} must come out to repair it",
        source="plane geometry: the body seen from above against the middle of the joint",
    )  # fmt: skip
