"""No plate stands on the lug next to a grid."""

from __future__ import annotations

import itertools

from lugwright.findings import Grade
from lugwright.layout.explain_results import WorstPlace
from lugwright.layout.results import PlanTerminal
from lugwright.layout.rules.case import Case, Judged, told

TUBE_PLATES = ("plate", "output plate")
LEAST_APART = 2  # lugs: one between the two


def plate_beside_grid(case: Case) -> Judged:
    """Return the plate and the grid that stand nearest on one strip."""
    pairs = sorted(_pairs(case), key=lambda pair: pair[0])
    if not pairs:
        return Judged()
    apart, one, two = pairs[0]
    met = apart >= LEAST_APART
    worst = WorstPlace(
        "plate-beside-grid", "plate and grid nearest on one strip", f"{one.label} and {two.label}",
        f"{apart} lug{'s' if apart > 1 else ''} apart", f"{LEAST_APART} lugs apart or more", met,
    )  # fmt: skip
    count = sum(1 for pair in pairs if pair[0] < LEAST_APART)
    return told(
        worst, Grade.DOUBT, part=one.owner,
        what=f"a plate and a grid are neighbors: {one.label} and {two.label}",
        found=f"{one.joint} beside {two.joint} ({count} such places), about 0.25 pF",
        wanted="a lug between them, or a joint that does not swing", do="move one of the two joints",
        source="parallel-lug estimate; 0.05 pF already matters across two stages",
    )  # fmt: skip


def _pairs(case: Case) -> list[tuple[int, PlanTerminal, PlanTerminal]]:
    """Return (lugs apart, lug, lug) for every plate and grid on one strip, first lug first."""
    strips: dict[str, list[PlanTerminal]] = {}
    for t in case.plan.terminals.values():
        if t.kind in ("lug", "foot"):
            strips.setdefault(t.owner, []).append(t)
    found = []
    for lugs in strips.values():
        for (i, one), (k, two) in itertools.combinations(enumerate(lugs), 2):
            classes = [case.classes.get(t.joint) for t in (one, two)]
            if one.joint != two.joint and "grid" in classes and any(name in TUBE_PLATES for name in classes):
                found.append((k - i, one, two))
    return found
