"""What a steady full drive asks of the tubes, held against their limits."""

from __future__ import annotations

from collections.abc import Iterator

from lugwright.buildfile.build import Build, Part, Tube
from lugwright.circuit.operating import Rating
from lugwright.findings import Finding, Grade
from lugwright.quantities import with_unit
from lugwright.solve.power_results import Power, PowerPoint

_LOOKED_AT = (
    ("plate-watts-driven", "plate_w", "plate heat", "W"),
    ("screen-watts-driven", "screen_w", "screen heat", "W"),
    ("cathode-current-driven", "cathode_a", "cathode current", "A"),
)


def driven_ratings(build: Build, power: Power) -> list[Rating]:
    """Return every section's heat and current at the drive that asks most of it, against its limit."""
    return [rating for rating, _, _, _ in _ratings(build, power)]


def driven_findings(build: Build, power: Power) -> list[Finding]:
    """Return a doubt for every limit that a steady drive exceeds: music is not steady, and the tube pays for it."""
    return [
        Finding(
            rule=rating.rule, grade=Grade.DOUBT, part=part.name, place=part.place,
            what=f"{rating.what} of {rating.part} is above its limit under a steady signal",
            found=f"{with_unit(rating.value, rating.unit)} ({rating.share:.0%}) with "
            f"{with_unit(point.drive_rms_v, 'V')} at {power.jack}, {with_unit(point.watts, 'W')} at the speaker",
            wanted=f"at most {with_unit(rating.limit, rating.unit)} ({tube.type.name})",
            do=_DO[rating.rule],
            source=rating.source,
        )
        for rating, part, tube, point in _ratings(build, power)
        if rating.share > 1.0
    ]  # fmt: skip


_DO = {
    "plate-watts-driven": "a higher load impedance, or a more negative bias",
    "screen-watts-driven": "larger screen resistors, 470 Ω to 1 kΩ for each tube, or lower screen volts",
    "cathode-current-driven": "a higher load impedance, or lower screen volts",
}


def _ratings(build: Build, power: Power) -> Iterator[tuple[Rating, Part, Tube, PowerPoint]]:
    points = [*power.points, power.full_drive]
    for part in build.parts:
        if not isinstance(part.values, Tube):
            continue
        for section in part.values.type.sections:
            name = f"{part.name}{section.letter}"
            if name not in power.full_drive.tubes:
                continue
            for rule, field, what, unit in _LOOKED_AT:
                limit = part.values.type.limits.get(field)
                if limit is None:
                    continue
                value, worst = _most(points, name, field)
                yield (
                    Rating(rule, name, what, value, limit.value, unit, str(limit.source)), part, part.values, worst,
                )  # fmt: skip


def _most(points: list[PowerPoint], name: str, field: str) -> tuple[float, PowerPoint]:
    """Return the largest of one figure of a section, and the point it belongs to."""
    values = [float(getattr(point.tubes[name], field)) for point in points]
    largest = max(values)
    return largest, points[values.index(largest)]
