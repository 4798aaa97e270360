"""Bodies lie beside each other rather than on top."""

from __future__ import annotations

from collections.abc import Iterator

from lugwright.findings import Grade
from lugwright.layout.explain_results import WorstPlace
from lugwright.layout.results import SeatedPart
from lugwright.layout.rules.case import Case, Judged, told
from lugwright.layout.rules.lying import axis_points, nearest_mm

MOST_LAYERS = 2


def stacked_bodies(case: Case) -> Judged:
    """Return the body on the highest layer, and what must be lifted with it."""
    if not case.plan.seats:
        return Judged()
    seat = max(case.plan.seats, key=lambda s: (s.layer, s.z_mm))
    upper = sum(1 for s in case.plan.seats if s.layer > 1)
    below = ", ".join(sorted(_below(case, seat)))
    met = seat.layer <= MOST_LAYERS
    place = seat.part + (f" over {below}" if below else "")
    limit = f"layer {MOST_LAYERS} or lower"
    worst = WorstPlace(
        "stacked-bodies", "highest layer of bodies", place,
        f"layer {seat.layer} ({upper} of {len(case.plan.seats)} bodies above the first)", limit, met,
    )  # fmt: skip
    return told(
        worst, Grade.NOTE, part=seat.part, what=f"{place} is stacked high",
        found=f"layer {seat.layer}", do="add lugs beside it, so that it can lie lower",
        source="our own: a part over another must be lifted to repair the lower one",
    )  # fmt: skip


def _below(case: Case, seat: SeatedPart) -> Iterator[str]:
    axis = axis_points(case, seat)[:, :2]
    for other in case.plan.seats:
        reach = (seat.body_diameter_mm + other.body_diameter_mm) / 2.0
        if other.layer < seat.layer and nearest_mm(axis, axis_points(case, other)[:, :2]) < reach:
            yield other.part
