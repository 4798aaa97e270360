"""How parts hang: heat, weight, bare leads."""

from __future__ import annotations

import math
from collections.abc import Iterator

from lugwright.buildfile.build import Capacitor, Resistor
from lugwright.findings import Finding, Grade
from lugwright.layout.results import SeatedPart
from lugwright.layout.rules.case import Case

HOT_FROM_W, HOT_AIR_MM = 2.0, 5.0
HEAVY_G = 14.0
LONGEST_BARE_MM = 25.0


def hot_resistor_near_capacitor(case: Case) -> Iterator[Finding]:
    """Yield the power resistor that lies nearest an electrolytic."""
    near: list[tuple[float, str, str]] = []
    seats = {seat.part: seat for seat in case.plan.seats}
    hot = [s for s in seats.values() if _watts(case, s) >= HOT_FROM_W]
    polar = [s for s in seats.values() if isinstance(v := case.build.part(s.part).values, Capacitor) and v.polar]
    for resistor in hot:
        for capacitor in polar:
            radii = (resistor.body_diameter_mm + capacitor.body_diameter_mm) / 2.0
            air = _axes_mm(case, resistor, capacitor) - radii
            if air < HOT_AIR_MM:
                near.append((round(air, 1), resistor.part, capacitor.part))
    if near:
        air, part, other = min(near)
        yield Finding(
            rule="hot-resistor-near-electrolytic",
            grade=Grade.DOUBT,
            part=part,
            what=f"{part} ({_watts(case, seats[part]):g} W) lies close to electrolytic {other}",
            found=f"{max(air, 0.0):.1f} mm ({len(near)} such places)",
            wanted=f"{HOT_AIR_MM:.0f} mm of air or more",
            do=f"lift {part} or move {other}",
            source="common practice: hot resistors 5 mm clear of capacitors and strips",
        )


def _watts(case: Case, seat: SeatedPart) -> float:
    values = case.build.part(seat.part).values
    return values.watts if isinstance(values, Resistor) else 0.0


def _axes_mm(case: Case, one: SeatedPart, two: SeatedPart) -> float:
    return min(math.dist(p, q) for p in _axis(case, one) for q in _axis(case, two))


def _axis(case: Case, seat: SeatedPart) -> list[tuple[float, float, float]]:
    a, b = (case.plan.terminals[key] for key in seat.terminals)
    share = min(1.0, seat.body_length_mm / max(seat.span_mm, 1e-9))
    steps = [0.5 + (k / 16.0 - 0.5) * share for k in range(17)]
    return [(a.x_mm + s * (b.x_mm - a.x_mm), a.y_mm + s * (b.y_mm - a.y_mm), seat.z_mm) for s in steps]


def heavy_part(case: Case) -> Iterator[Finding]:
    """Yield the heaviest part that hangs by its leads alone."""
    heavy = [
        (values.body.grams, seat.part)
        for seat in case.plan.seats
        if isinstance(values := case.build.part(seat.part).values, Resistor | Capacitor) and values.body.grams > HEAVY_G
    ]
    if heavy:
        grams, part = max(heavy)
        yield Finding(
            rule="heavy-part", grade=Grade.NOTE, part=part, what=f"{part} is too heavy to hang by its leads",
            found=f"{grams:.0f} g ({len(heavy)} such parts)", wanted=f"{HEAVY_G:.0f} g or less without a support",
            do="hold it with a tie, a clamp or a spot of silicone to the plate",
            source="NASA soldering requirements, half an ounce, as reproduced on a parts maker's page",
        )  # fmt: skip


def unsupported_lead(case: Case) -> Iterator[Finding]:
    """Yield the part with the longest bare lead when it is too long."""
    bare = [((seat.span_mm - seat.body_length_mm) / 2.0, seat.part) for seat in case.plan.seats]
    over = [item for item in bare if item[0] > LONGEST_BARE_MM]
    if over:
        length, part = max(over)
        yield Finding(
            rule="unsupported-lead", grade=Grade.DOUBT, part=part, what=f"{part} hangs on long bare leads",
            found=f"{length:.0f} mm each side", wanted=f"{LONGEST_BARE_MM:.0f} mm or less",
            do="use lugs nearer together, and sleeve the leads", source="common practice",
        )  # fmt: skip
