"""Whether two things were given the same place, or a place beyond the edge of their face."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

from lugwright.buildfile.build import Build, Can, Chassis, Choke, Part, Transformer, Tube
from lugwright.findings import Finding, Place
from lugwright.layout.check_joints import fault
from lugwright.layout.hardware import Hardware

PLATE, OPPOSITE = "plate", {"inside", "outside"}
# No transformer or choke of a tube amplifier is narrower than this across its core; from memory.
STAR_MM = 24.0  # a ring of solder lugs about a screw; from memory
CORE_MM = 20.0


@dataclass(frozen=True)
class _Spot:
    """A round place nothing else on the same side of the plate may reach into."""

    owner: str
    face: str  # plate, front, rear, left, right
    x_mm: float
    y_mm: float
    across_mm: float
    side: str = "both"  # of the plate: both, inside (strips), outside (transformers)
    place: Place | None = None

    @property
    def words(self) -> str:
        """Return its center as it is written in the build file."""
        return f"{self.x_mm:.0f}, {self.y_mm:.0f}"


def check_places(build: Build, hardware: Hardware) -> Iterator[Finding]:
    """Yield a fault for each two holes, cans, cores or strips that meet, and for each hole beyond an edge."""
    spots = [*_parts(build, hardware), *_lugs(build, hardware), *_stars(build)]
    seen: set[tuple[str, str]] = set()
    for one, two in itertools.combinations(spots, 2):
        pair = (one.owner, two.owner)
        if one.face != two.face or one.owner == two.owner or pair in seen or {one.side, two.side} == OPPOSITE:
            continue
        apart = math.hypot(one.x_mm - two.x_mm, one.y_mm - two.y_mm)
        wanted = (one.across_mm + two.across_mm) / 2.0
        if apart < wanted:
            seen.add(pair)
            yield replace(fault(
                "places-meet", two.owner, f"{two.owner} stands on {one.owner}",
                f"{one.owner} at {one.words} and {two.owner} at {two.words} mm on the {one.face}, {apart:.0f} mm apart",
                f"{wanted:.0f} mm or more", f"move {two.owner} in the build file",
            ), place=two.place)  # fmt: skip
    if build.chassis is not None:
        yield from _beyond(spots, build.chassis)


def _beyond(spots: list[_Spot], chassis: Chassis) -> Iterator[Finding]:
    """Yield holes in a panel that reach beyond its edge; the plate's are caught where terminals are placed."""
    for spot in spots:
        if spot.face == PLATE:
            continue
        wide = chassis.width_mm if spot.face in ("front", "rear") else chassis.depth_mm
        half = spot.across_mm / 2.0
        if not (half <= spot.x_mm <= wide - half and half <= spot.y_mm <= chassis.height_mm - half):
            yield replace(fault(
                "place-beyond-edge", spot.owner, f"{spot.owner} reaches beyond the edge of the {spot.face} panel",
                f"a hole of {spot.across_mm:g} mm, {spot.x_mm:g} mm along and {spot.y_mm:g} mm up",
                f"{half:g} to {wide - half:g} mm along, {half:g} to {chassis.height_mm - half:g} mm up",
                f"move {spot.owner} in the build file, or make the chassis larger",
            ), place=spot.place)  # fmt: skip


def _parts(build: Build, hardware: Hardware) -> Iterator[_Spot]:
    for part in build.parts:
        placement, across = build.placements.get(part.name), _across_mm(part, hardware)
        if placement is not None and across > 0.0:
            side = "outside" if isinstance(part.values, Transformer | Choke) else "both"
            yield _Spot(part.name, placement.panel, *placement.at, across, side, placement.place)


def _across_mm(part: Part, hardware: Hardware) -> float:
    if part.name in hardware.panel:
        row = hardware.panel[part.name]
        return min(row.cutout_mm) if row.cutout_mm else row.hole_mm
    if isinstance(part.values, Tube):
        return hardware.sockets[part.values.socket].hole_mm
    if isinstance(part.values, Can):
        return part.values.body.diameter_mm
    return CORE_MM if isinstance(part.values, Transformer | Choke) else 0.0


def _stars(build: Build) -> Iterator[_Spot]:
    for star in build.stars:
        yield _Spot(f"star {star.name}", PLATE, *star.at, STAR_MM, "inside", star.place)


def _lugs(build: Build, hardware: Hardware) -> Iterator[_Spot]:
    for strip in build.strips:
        row, angle = hardware.strips[strip.type], math.radians(strip.turn)
        for lug in range(strip.lugs):
            x, y = (strip.at[k] + lug * row.pitch_mm * (math.cos(angle), math.sin(angle))[k] for k in (0, 1))
            yield _Spot(f"strip {strip.name}", PLATE, x, y, row.lug_width_mm, "inside", strip.place)
