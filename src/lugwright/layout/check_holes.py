"""Whether the plate can be drilled: holes that run into each other, screws under a core. No planner code."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

from lugwright.buildfile.build import Build, Can, Choke, Part, Placement, Transformer, Tube
from lugwright.findings import Finding, Place
from lugwright.layout.check_joints import fault
from lugwright.layout.hardware import Hardware
from lugwright.layout.results import Plan

LEAST_METAL_MM = 1.5  # between two holes: less tears out under the punch; common practice
GROMMET_MM = 9.5  # the smallest that takes a bundle of transformer leads; from memory: grommet makers' tables
BOLT_MM = 4.5  # clearance hole of an M4 screw; from memory
GROMMET_TO_CORE_MM = 5.0  # a grommet's middle stands so far from its core; from memory


@dataclass(frozen=True)
class _Hole:
    owner: str
    what: str
    x_mm: float
    y_mm: float
    across_mm: float
    place: Place | None


def check_holes(build: Build, plan: Plan, hardware: Hardware) -> Iterator[Finding]:
    """Yield a fault for each two holes of the plate that meet, and for each strip screw under a transformer."""
    holes = [*_sockets_and_cans(build, hardware), *_grommets(build, plan), *_feet_and_bolts(build, plan, hardware)]
    told: set[tuple[str, str]] = set()
    for one, two in itertools.combinations(holes, 2):
        pair = (one.owner, two.owner)
        gap = math.hypot(one.x_mm - two.x_mm, one.y_mm - two.y_mm) - (one.across_mm + two.across_mm) / 2.0
        if one.owner != two.owner and pair not in told and gap < LEAST_METAL_MM:
            told.add(pair)
            yield replace(fault(
                "holes-meet", two.owner, f"{two.what} is drilled into {one.what}",
                f"{gap:.1f} mm of metal between them" if gap > 0.0 else f"{-gap:.1f} mm of one in the other",
                f"{LEAST_METAL_MM:g} mm or more", f"move {two.owner} in the build file",
            ), place=two.place)  # fmt: skip
    yield from _under_a_core(build, plan)


def _sockets_and_cans(build: Build, hardware: Hardware) -> Iterator[_Hole]:
    """Yield round holes, and the two screws of each socket, which usually stand across its key."""
    for part in build.parts:
        placement = build.placements.get(part.name)
        if placement is None or placement.panel != "plate":
            continue
        x, y = placement.at
        if isinstance(part.values, Can):
            yield _Hole(part.name, f"the hole of {part.name}", x, y, part.values.body.diameter_mm, placement.place)
        elif isinstance(part.values, Tube):
            row, angle = hardware.sockets[part.values.socket], math.radians(placement.turn)
            yield _Hole(part.name, f"the hole of {part.name}", x, y, row.hole_mm, placement.place)
            for side in (-0.5, 0.5):
                reach = side * row.fixing_centers_mm
                yield _Hole(part.name, f"a screw of {part.name}", x + reach * math.cos(angle),
                            y + reach * math.sin(angle), row.fixing_hole_mm, placement.place)  # fmt: skip


def _exits_of(plan: Plan, part: Part) -> tuple[float, float] | None:
    """Return the middle of the leads of a transformer or choke."""
    leads = [t for t in plan.terminals.values() if t.owner == part.name and t.kind == "exit"]
    if not leads:
        return None
    return sum(t.x_mm for t in leads) / len(leads), sum(t.y_mm for t in leads) / len(leads)


def _wound(build: Build, plan: Plan) -> Iterator[tuple[Part, Placement, tuple[float, float]]]:
    for part in build.parts:
        placement = build.placements.get(part.name)
        if placement is not None and isinstance(part.values, Transformer | Choke):
            grommet = _exits_of(plan, part)
            if grommet is not None:
                yield part, placement, grommet


def _grommets(build: Build, plan: Plan) -> Iterator[_Hole]:
    for part, placement, (x, y) in _wound(build, plan):
        yield _Hole(part.name, f"the grommet of {part.name}", x, y, GROMMET_MM, placement.place)


def _feet_and_bolts(build: Build, plan: Plan, hardware: Hardware) -> Iterator[_Hole]:
    strips = {strip.name: strip for strip in build.strips}
    for t in plan.terminals.values():
        if t.kind == "foot" and t.owner in strips:
            strip = strips[t.owner]
            across = hardware.strips[strip.type].foot_hole_mm
            yield _Hole(f"strip {t.owner}", f"the foot of strip {t.owner}", t.x_mm, t.y_mm, across, strip.place)
        elif t.kind == "bolt":
            yield _Hole(t.key, f"the {t.label}", t.x_mm, t.y_mm, BOLT_MM, None)


def _under_a_core(build: Build, plan: Plan) -> Iterator[Finding]:
    """Yield feet whose screw head, outside, would stand where a core does."""
    strips = {strip.name: strip for strip in build.strips}
    for part, placement, grommet in _wound(build, plan):
        half = math.dist(placement.at, grommet) - GROMMET_TO_CORE_MM
        for t in plan.terminals.values():
            apart = max(abs(t.x_mm - placement.at[0]), abs(t.y_mm - placement.at[1]))
            if t.kind == "foot" and t.owner in strips and apart < half:
                yield replace(fault(
                    "screw-under-core", f"strip {t.owner}", f"the foot of strip {t.owner} stands under {part.name}",
                    f"its screw comes out {apart:.0f} mm from the middle of the core",
                    f"{half:.0f} mm or more: outside the core", f"move strip {t.owner}, or its foot to another lug",
                ), place=strips[t.owner].place)  # fmt: skip
