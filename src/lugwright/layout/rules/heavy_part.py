"""A heavy part does not hang by its leads alone."""

from __future__ import annotations

from lugwright.buildfile.build import Capacitor, Resistor
from lugwright.findings import Grade
from lugwright.layout.explain_results import WorstPlace
from lugwright.layout.rules.case import Case, Judged, told

HEAVIEST_G = 14.0


def heavy_part(case: Case) -> Judged:
    """Return the heaviest part that hangs by its leads."""
    weights = [
        (values.body.grams, seat.part)
        for seat in case.plan.seats
        if isinstance(values := case.build.part(seat.part).values, Resistor | Capacitor)
    ]
    if not weights:
        return Judged()
    grams, part = max(weights)
    met = grams <= HEAVIEST_G
    limit = f"{HEAVIEST_G:.0f} g or less without a support"
    worst = WorstPlace("heavy-part", "heaviest part on its leads", part, f"{grams:.0f} g", limit, met)
    count = sum(1 for weight, _ in weights if weight > HEAVIEST_G)
    return told(
        worst, Grade.NOTE, part=part, what=f"{part} is too heavy to hang by its leads",
        found=f"{grams:.0f} g ({count} such parts)",
        do="hold it with a tie, a clamp or a spot of silicone to the plate",
        source="NASA soldering requirements, half an ounce, as reproduced on a parts maker's page",
    )  # fmt: skip
