"""What the drawings need to know of bought hardware, and where its holes and bodies come to lie."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Protocol

from lugwright.buildfile.build import Build, Chassis, Choke, Part, Placement, Transformer
from lugwright.catalogue.records import PanelPart, SocketType, StripType
from lugwright.documents.drawings.geometry import Box, Point
from lugwright.errors import DocumentError
from lugwright.layout.results import Plan, PlanTerminal

PANELS = ("front", "rear", "left", "right")


class Fittings(Protocol):
    """Catalogue entries of a build: sockets and strips by type, panel parts by designator."""

    @property
    def sockets(self) -> Mapping[str, SocketType]: ...

    @property
    def strips(self) -> Mapping[str, StripType]: ...

    @property
    def panel(self) -> Mapping[str, PanelPart]: ...


@dataclass(frozen=True)
class Standing:
    """A transformer or choke on the other side of the plate: an outline that meets its lead exit."""

    part: Part
    at: Point
    turn: float
    half_mm: float
    exits: tuple[PlanTerminal, ...]

    def outline(self) -> Box:
        """Return the dashed outline."""
        return Box(*self.at, self.half_mm * 2.3, self.half_mm * 2.0, self.turn)

    @property
    def grommet(self) -> Point:
        """Return the middle of the lead exits."""
        count = len(self.exits)
        return sum(t.x_mm for t in self.exits) / count, sum(t.y_mm for t in self.exits) / count


def chassis_of(build: Build) -> Chassis:
    """Return the chassis; DocumentError when the build states none."""
    if build.chassis is None:
        raise DocumentError(
            what="nothing to draw on",
            found=f"{build.title} states no chassis",
            wanted="the inside measures of the chassis",
            do="add [chassis] with inside = [width, depth, height] in mm",
        )
    return build.chassis


def standing_transformers(build: Build, plan: Plan) -> tuple[Standing, ...]:
    """Return every transformer and choke that has a place, in file order."""
    found = []
    for part in build.parts:
        placement = build.placements.get(part.name)
        exits = tuple(t for t in plan.terminals.values() if t.owner == part.name and t.kind == "exit")
        if not isinstance(part.values, Transformer | Choke) or placement is None or not exits:
            continue
        x, y = (sum(t.x_mm for t in exits) / len(exits), sum(t.y_mm for t in exits) / len(exits))
        away = math.hypot(x - placement.at[0], y - placement.at[1])
        found.append(Standing(part, placement.at, placement.turn, max(12.0, away - 5.0), exits))
    return tuple(found)


def panel_point(placement: Placement, *, along: float = 0.0, up: float = 0.0) -> tuple[float, float]:
    """Return a point of a panel as (along the chassis axis, height above the plate).

    ``along`` counts to the right as seen from inside: toward -x at the front, +x at the rear.
    """
    sign = -1.0 if placement.panel in ("front", "left") else 1.0
    return placement.at[0] + sign * along, placement.at[1] + up
