"""Bare leads stay short enough to hold their part."""

from __future__ import annotations

from lugwright.findings import Grade
from lugwright.layout.explain_results import WorstPlace
from lugwright.layout.rules.case import Case, Judged, told

LONGEST_BARE_MM = 25.0


def unsupported_lead(case: Case) -> Judged:
    """Return the part with the longest bare leads."""
    bare = [((seat.span_mm - seat.body_length_mm) / 2.0, seat.part) for seat in case.plan.seats]
    if not bare:
        return Judged()
    length, part = max(bare)
    met = length <= LONGEST_BARE_MM
    found, limit = f"{length:.0f} mm each side", f"{LONGEST_BARE_MM:.0f} mm or less"
    worst = WorstPlace("unsupported-lead", "longest bare lead of a part", part, found, limit, met)
    return told(
        worst, Grade.DOUBT, part=part, what=f"{part} hangs on long bare leads",
        found=found, do="use lugs nearer together, and sleeve the leads", source="common practice",
    )  # fmt: skip
