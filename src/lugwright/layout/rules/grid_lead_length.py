"""Grid wires are the shortest of all."""

from __future__ import annotations

from lugwright.findings import Grade
from lugwright.layout.explain_results import WorstPlace
from lugwright.layout.rules.case import Case, Judged, told

LONGEST_MM = 60.0  # our own limit; builders agree on "short", not on a number


def grid_lead_length(case: Case) -> Judged:
    """Return the longest grid wire, or the longest lead of a part on a grid where there is no wire."""
    wires = [w for w in case.plan.wires if w.kind == "grid" and not w.shield]
    if not wires:
        return Judged(_longest_lead(case))
    wire = max(wires, key=lambda w: (w.length_mm, -w.number))
    ends = " to ".join(case.label(key) for key in wire.terminals)
    met = wire.length_mm <= LONGEST_MM
    worst = WorstPlace(
        "grid-lead-length", "longest grid lead", f"W{wire.number}, {ends}",
        f"{wire.length_mm:.0f} mm", f"{LONGEST_MM:.0f} mm or less", met,
    )  # fmt: skip
    return told(
        worst, Grade.DOUBT, part=f"W{wire.number}", what=f"grid wire W{wire.number} is long",
        found=f"{wire.length_mm:.0f} mm, {ends}", wanted=f"{LONGEST_MM:.0f} mm or less",
        do="add a grid stopper on the pin, use shielded wire, or bring the strip nearer",
        source="common practice: grid wire shortest of all; the number is our own",
    )  # fmt: skip


def _longest_lead(case: Case) -> WorstPlace | None:
    leads = [
        ((seat.span_mm - seat.body_length_mm) / 2.0, seat.part, case.label(key))
        for seat in case.plan.seats
        for key in seat.terminals
        if case.classes.get(case.plan.terminals[key].joint) == "grid"
    ]
    if not leads:
        return None
    length, part, label = max(leads)
    return WorstPlace(
        "grid-lead-length", "longest grid lead", f"{part} on {label}, no grid wire",
        f"{length:.0f} mm", f"{LONGEST_MM:.0f} mm or less", met=True,
    )  # fmt: skip
