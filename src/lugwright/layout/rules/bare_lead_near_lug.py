"""Bare leads keep clear of lugs and pins of other joints, or are sleeved."""

from __future__ import annotations

import math
from collections.abc import Iterator

from lugwright.findings import Finding, Grade
from lugwright.layout.explain_results import WorstPlace
from lugwright.layout.objective import LEAD_CLEAR_MM
from lugwright.layout.results import PlanTerminal, SeatedPart
from lugwright.layout.rules.case import Case, Judged

CLEAR_UP_MM = 3.0  # or above it: the joint with its solder
MOST_NAMED = 8


def bare_lead_near_lug(case: Case) -> Judged:
    """Return the bare lead that passes nearest to a terminal of another joint."""
    near = sorted((gap, lead, key) for gap, lead, key in _passed(case))
    limit = f"{LEAD_CLEAR_MM:g} mm beside or {CLEAR_UP_MM:g} mm above, or a sleeve"
    if not near:
        return Judged()
    gap, lead, key = near[0]
    place = f"lead {lead} past {case.label(key)}"
    worst = WorstPlace("bare-lead-near-lug", "bare lead nearest to another joint", place, f"{gap:.1f} mm", limit, False)
    leads = list(dict.fromkeys(name for _, name, _ in near))
    more = f" and {len(leads) - MOST_NAMED} more" if len(leads) > MOST_NAMED else ""
    finding = Finding(
        rule="bare-lead-near-lug", grade=Grade.NOTE, part=lead.split(".")[0],
        what=f"bare lead {lead} passes {case.label(key)}, which is another joint", found=f"{gap:.1f} mm beside it",
        wanted=limit, do=f"slip a sleeve over {', '.join(leads[:MOST_NAMED])}{more}", source="common practice",
    )  # fmt: skip
    return Judged(worst, (finding,))


def _passed(case: Case) -> Iterator[tuple[float, str, str]]:
    """Yield (distance beside, lead, terminal) where a bare lead passes a terminal of another joint."""
    terminals = case.plan.terminals
    used = [t for t in terminals.values() if t.key in case.leads and t.kind != "exit"]
    for seat in case.plan.seats:
        ends = [terminals[key] for key in seat.terminals]
        share = min(1.0, seat.body_length_mm / max(seat.span_mm, 1e-9))
        for side, name in enumerate(seat.lead_names):
            start, other = ends[side], ends[1 - side]
            reach = (1.0 - share) / 2.0  # share of the span that is this lead
            dx, dy = (other.x_mm - start.x_mm) * reach, (other.y_mm - start.y_mm) * reach
            left, right = min(0.0, dx) - LEAD_CLEAR_MM, max(0.0, dx) + LEAD_CLEAR_MM
            for t in used:
                if not left < t.x_mm - start.x_mm < right or t.joint == start.joint or t.key in seat.terminals:
                    continue
                gap, up = _clearance_mm(seat, start, (dx, dy), t)
                if gap < LEAD_CLEAR_MM and up < CLEAR_UP_MM:
                    yield round(gap, 1), f"{seat.part}.{name}", t.key


def _clearance_mm(
    seat: SeatedPart, start: PlanTerminal, lead: tuple[float, float], t: PlanTerminal
) -> tuple[float, float]:
    """Return how far beside and how far above a terminal a lead passes on its way from its lug up to its body."""
    dx, dy = lead
    square = max(dx * dx + dy * dy, 1e-9)
    along = min(1.0, max(0.0, ((t.x_mm - start.x_mm) * dx + (t.y_mm - start.y_mm) * dy) / square))
    gap = math.hypot(t.x_mm - start.x_mm - along * dx, t.y_mm - start.y_mm - along * dy)
    return gap, start.z_mm + along * (seat.z_mm - start.z_mm) - t.z_mm
