"""Neighboring lugs stand as far apart as their voltage needs."""

from __future__ import annotations

import math
from collections.abc import Iterator

from lugwright.buildfile.build import CHASSIS
from lugwright.layout.explain_results import WorstPlace
from lugwright.layout.insulation import MAINS_AIR_MM, clearance_mm, creepage_mm
from lugwright.layout.joint_classes import JointFacts, working_v
from lugwright.layout.results import PlanTerminal
from lugwright.layout.rules.case import Case, Judged

REACH_MM = 22.0  # beyond it any voltage of such an amplifier is far enough
LUG_WIDTH_MM = 5.0  # of a lug, pin or bus point, where the catalogue does not say


def creepage_margin(case: Case) -> Judged:
    """Return the two terminals with the least to spare; too little is a danger, which the check of the plan finds."""
    margins = [
        (round(found - needed, 2), one.key, two.key, found, needed, volts)
        for one, two in _neighbors(case)
        for found, needed, volts in [_distances_mm(case, one, two)]
    ]
    if not margins:
        return Judged()
    margin, one, two, found, needed, volts = min(margins)
    return Judged(
        WorstPlace(
            "creepage",
            "least distance to spare for its voltage",
            f"{case.label(one)} and {case.label(two)}",
            f"{found:.1f} mm for {volts:.0f} V",
            f"{needed:.1f} mm or more",
            margin >= -0.05,
        )
    )


def _neighbors(case: Case) -> Iterator[tuple[PlanTerminal, PlanTerminal]]:
    """Yield the pairs of terminals on other joints near a strip's lugs or near the mains."""
    strips = {strip.name for strip in case.build.strips}
    points = [t for t in case.plan.terminals.values() if t.kind != "exit" and _joint(t) in case.facts]
    for index, one in enumerate(points):
        for two in points[index + 1 :]:
            if abs(one.x_mm - two.x_mm) >= REACH_MM or abs(one.y_mm - two.y_mm) >= REACH_MM:
                continue
            counts = one.owner in strips or two.owner in strips or _is_mains(case, one) or _is_mains(case, two)
            # Between the lugs of one ready-made part only a strip's are ours to keep apart.
            if counts and _joint(one) != _joint(two) and (one.owner != two.owner or one.owner in strips):
                yield one, two


def _distances_mm(case: Case, one: PlanTerminal, two: PlanTerminal) -> tuple[float, float, float]:
    """Return the distance found, the one needed, and the volts between two terminals."""
    a, b = (case.facts[_joint(t)] for t in (one, two))
    apart, volts = math.hypot(one.x_mm - two.x_mm, one.y_mm - two.y_mm), working_v(a, b)
    if one.owner == two.owner:
        row = case.hardware.strips[next(s.type for s in case.build.strips if s.name == one.owner)]
        found, needed = apart - row.lug_width_mm, creepage_mm(working_v=volts, group=row.creepage_group)
    else:
        found = math.hypot(apart, one.z_mm - two.z_mm) - LUG_WIDTH_MM
        needed = clearance_mm(peak_v=volts * math.sqrt(2.0))
    return found, max(needed, MAINS_AIR_MM) if _one_is_mains(a, b) else needed, volts


def _one_is_mains(a: JointFacts, b: JointFacts) -> bool:
    return (a.name == "mains") != (b.name == "mains")


def _is_mains(case: Case, t: PlanTerminal) -> bool:
    return case.classes.get(_joint(t)) == "mains"


def _joint(t: PlanTerminal) -> str:
    return CHASSIS if t.kind in ("foot", "bolt") else t.joint
