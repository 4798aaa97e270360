"""The mark of a polarized part can be read once everything is in."""

from __future__ import annotations

import numpy as np

from lugwright.buildfile.build import Capacitor, Diode
from lugwright.findings import Grade
from lugwright.layout.explain_results import WorstPlace
from lugwright.layout.results import SeatedPart
from lugwright.layout.rules.case import Case, Judged, told
from lugwright.layout.rules.lying import axis_points, beside_axis_mm

MARKED_SHARE = 3  # the outer third of the body: a diode's band, the crimped end of an axial electrolytic
MOST_COVERED = 0.5


def polarity_readable(case: Case) -> Judged:
    """Return the diode or electrolytic whose marked end lies deepest under other bodies."""
    marked = [seat for seat in case.plan.seats if _marked_end(case, seat) is not None]
    if not marked:
        return Judged()
    shares = [(_covered_share(case, seat), seat) for seat in marked]
    share, seat = max(shares, key=lambda item: item[0])
    over = ", ".join(_over(case, seat))
    met = share <= MOST_COVERED
    limit = f"{MOST_COVERED:.0%} or less"
    worst = WorstPlace(
        "polarity-hidden", "mark of polarity hidden most", f"{seat.part}" + (f" under {over}" if share else ""),
        f"{share:.0%} of the marked end covered", limit, met,
    )  # fmt: skip
    count = sum(1 for other, _ in shares if other > MOST_COVERED)
    return told(
        worst, Grade.NOTE, part=seat.part,
        what=f"the polarity of {seat.part} cannot be read once {over} lies over it",
        found=f"{share:.0%} of the marked end covered ({count} such parts)",
        do=f"check {seat.part} before {over} goes in, and turn its print outward",
        source="plane geometry, seen from above",
    )  # fmt: skip


def _marked_end(case: Case, seat: SeatedPart) -> int | None:
    """Return which end carries the mark, None for a part that may go in either way round."""
    values = case.build.part(seat.part).values
    if isinstance(values, Diode):
        return seat.lead_names.index("cathode")
    return 0 if isinstance(values, Capacitor) and values.polar else None  # lead 1 is plus


def _covered_share(case: Case, seat: SeatedPart) -> float:
    """Return how much of the marked third lies under bodies that are higher. [-]"""
    points = axis_points(case, seat)[:, :2]
    third = len(points) // MARKED_SHARE
    end = points[:third] if _marked_end(case, seat) == 0 else points[-third:]
    hidden = np.zeros(len(end), dtype=bool)
    for other in case.plan.seats:
        if other.z_mm > seat.z_mm and other.part != seat.part:
            hidden |= beside_axis_mm(end, axis_points(case, other)) < other.body_diameter_mm / 2.0
    return float(hidden.mean())


def _over(case: Case, seat: SeatedPart) -> list[str]:
    points = axis_points(case, seat)[:, :2]
    return [
        other.part
        for other in case.plan.seats
        if other.z_mm > seat.z_mm
        and bool((beside_axis_mm(points, axis_points(case, other)) < other.body_diameter_mm / 2.0).any())
    ]
