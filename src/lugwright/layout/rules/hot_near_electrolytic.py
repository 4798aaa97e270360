"""A power resistor keeps its distance from electrolytics."""

from __future__ import annotations

from lugwright.buildfile.build import Capacitor, Resistor
from lugwright.findings import Grade
from lugwright.layout.explain_results import WorstPlace
from lugwright.layout.objective import HOT_AIR_MM, HOT_FROM_W
from lugwright.layout.results import SeatedPart
from lugwright.layout.rules.case import Case, Judged, told
from lugwright.layout.rules.lying import axis_points, nearest_mm


def hot_near_electrolytic(case: Case) -> Judged:
    """Return the power resistor that lies nearest an electrolytic."""
    hot = [s for s in case.plan.seats if _watts(case, s) >= HOT_FROM_W]
    polar = [s for s in case.plan.seats if isinstance(v := case.build.part(s.part).values, Capacitor) and v.polar]
    pairs = sorted((round(_air_mm(case, r, c), 1), r.part, c.part) for r in hot for c in polar)
    if not pairs:
        return Judged()
    air, part, other = pairs[0]
    met = air >= HOT_AIR_MM
    worst = WorstPlace(
        "hot-resistor-near-electrolytic", "power resistor nearest an electrolytic", f"{part} and {other}",
        f"{max(air, 0.0):.1f} mm of air", f"{HOT_AIR_MM:.0f} mm or more", met,
    )  # fmt: skip
    count = sum(1 for pair in pairs if pair[0] < HOT_AIR_MM)
    watts = next(_watts(case, seat) for seat in hot if seat.part == part)
    return told(
        worst, Grade.DOUBT, part=part,
        what=f"{part} ({watts:g} W) lies close to electrolytic {other}",
        found=f"{max(air, 0.0):.1f} mm ({count} such places)", wanted=f"{HOT_AIR_MM:.0f} mm of air or more",
        do=f"lift {part} or move {other}", source="common practice: hot resistors 5 mm clear of capacitors and strips",
    )  # fmt: skip


def _watts(case: Case, seat: SeatedPart) -> float:
    values = case.build.part(seat.part).values
    return values.watts if isinstance(values, Resistor) else 0.0


def _air_mm(case: Case, one: SeatedPart, two: SeatedPart) -> float:
    radii = (one.body_diameter_mm + two.body_diameter_mm) / 2.0
    return nearest_mm(axis_points(case, one), axis_points(case, two)) - radii
