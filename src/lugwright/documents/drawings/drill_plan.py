"""Every hole of the plate and the panels: where, how large, for what."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from lugwright.buildfile.build import Bridge, Build, Can, Chassis, Part, Placement, Tube
from lugwright.documents.drawings.fittings import Fittings, panel_point, standing_transformers
from lugwright.documents.drawings.metal import socket_ears, used_panels
from lugwright.errors import DocumentError
from lugwright.layout.results import Plan

BOLT_HOLE_MM = 4.5  # M4 or no. 8 screw with play; from memory: clearance hole tables
BRIDGE_HOLE_MM = 4.5
# Rubber grommets, widest bundle and hole in the metal; from memory: grommet makers' tables.
GROMMETS_MM = ((6.4, 9.5), (9.5, 12.7), (12.7, 15.9), (15.9, 19.0))
LEAD_OUTSIDE_MM = 1.8  # transformer lead over its insulation; from memory
TWIST_DRILL_MM, STEP_DRILL_MM = 6.5, 13.0  # largest hole made with each; common practice
MARK = "mark from the part"


@dataclass(frozen=True)
class Hole:
    """One hole. ``x_mm`` and ``y_mm`` are seen from inside: on the plate x, y; on a panel along, height.

    ``diameter_mm`` is None where the hole is marked from the part itself; ``cutout_mm`` is a rectangle.
    """

    number: int
    face: str  # plate, front, rear, left, right
    x_mm: float
    y_mm: float
    diameter_mm: float | None
    cutout_mm: tuple[float, float] | None
    owner: str
    what: str

    @property
    def size(self) -> str:
        """Return the size as printed."""
        if self.cutout_mm:
            return f"{self.cutout_mm[0]:g} × {self.cutout_mm[1]:g}"
        return f"⌀{self.diameter_mm:g}" if self.diameter_mm else MARK

    @property
    def tool(self) -> str:
        """Return what makes the hole."""
        if self.cutout_mm:
            return "saw or nibble, then file"
        if self.diameter_mm is None:
            return "mark, then drill"
        if self.diameter_mm <= TWIST_DRILL_MM:
            return "twist drill"
        return "step drill" if self.diameter_mm <= STEP_DRILL_MM else "chassis punch"


def faces(build: Build) -> tuple[str, ...]:
    """Return the faces that have holes: the plate, then the panels in use."""
    return ("plate", *used_panels(build))


def face_size_mm(chassis: Chassis, face: str) -> tuple[float, float]:
    """Return the inside measures of a face.

    Parameters
    ----------
    chassis : Chassis
        The chassis.
    face : str
        plate, front, rear, left or right. [-]

    Returns
    -------
    tuple of float
        Width and height as the face is drawn. [mm]

    Source
    ------
    The build file.
    """
    if face == "plate":
        return chassis.width_mm, chassis.depth_mm
    return (chassis.width_mm if face in ("front", "rear") else chassis.depth_mm), chassis.height_mm


def drill_holes(build: Build, plan: Plan, fittings: Fittings) -> tuple[Hole, ...]:
    """Return every hole, numbered face by face, top row first."""
    order = faces(build)
    raw = sorted(_all(build, plan, fittings), key=lambda h: (order.index(h.face), h.y_mm, h.x_mm, h.owner))
    counts = dict.fromkeys(order, 0)
    found = []
    for hole in raw:
        counts[hole.face] += 1
        found.append(Hole(counts[hole.face], hole.face, round(hole.x_mm, 2), round(hole.y_mm, 2), hole.diameter_mm,
                          hole.cutout_mm, hole.owner, hole.what))  # fmt: skip
    return tuple(found)


def on_sheet(chassis: Chassis, hole: Hole, *, outside: bool) -> tuple[float, float]:
    """Return where a hole is on the sheet, from the upper left corner of the face.

    Outside, the plate is seen from its top with the front edge below; a panel as it stands with the
    chassis upside down on the bench. From outside the plate, the rear and the right panel run the other way.
    """
    width, height = face_size_mm(chassis, hole.face)
    mirrored = {"plate": outside, "front": not outside, "rear": outside, "left": not outside, "right": outside}
    x = width - hole.x_mm if mirrored[hole.face] else hole.x_mm
    return round(x, 2), round(hole.y_mm if hole.face == "plate" else height - hole.y_mm, 2)


def _all(build: Build, plan: Plan, fittings: Fittings) -> Iterator[Hole]:
    for part in build.parts:
        placement = build.placements.get(part.name)
        if placement is not None:
            yield from _of_part(part, placement, fittings)
    for name, box in socket_ears(build, fittings):
        yield _hole("plate", box.x, box.y, box.width, name, f"{name} socket fixing")
    for standing in standing_transformers(build, plan):
        name = standing.part.name
        yield _hole("plate", *standing.grommet, _grommet_hole_mm(len(standing.exits)), name, f"{name} leads, grommet")
        yield _hole("plate", *standing.at, None, name, f"{name} center; fixing holes")
    for strip in build.strips:
        for foot in strip.feet:
            terminal = plan.terminals[f"{strip.name}.{foot}"]
            size = fittings.strips[strip.type].foot_hole_mm
            yield _hole("plate", terminal.x_mm, terminal.y_mm, size, strip.name, f"strip {strip.name} foot")
    for terminal in plan.terminals.values():
        if terminal.kind == "bolt":
            yield _hole("plate", terminal.x_mm, terminal.y_mm, BOLT_HOLE_MM, terminal.key, terminal.label)


def _of_part(part: Part, placement: Placement, fittings: Fittings) -> Iterator[Hole]:
    row = fittings.panel.get(part.name)
    if row is not None:
        name, face = part.name, placement.panel
        what = f"{name} {part.kind}"
        yield Hole(0, face, *panel_point(placement), row.hole_mm, row.cutout_mm, name, what)
        for along, up, diameter in row.extra_holes:
            yield _hole(face, *panel_point(placement, along=along, up=up), diameter, name, f"{what} fixing")
    elif isinstance(part.values, Tube):
        size = fittings.sockets[part.values.socket].hole_mm
        yield _hole("plate", *placement.at, size, part.name, f"{part.name} socket")
    elif isinstance(part.values, Can):
        yield _hole("plate", *placement.at, None, part.name, f"{part.name} can, from its ring")
    elif isinstance(part.values, Bridge):
        yield _hole("plate", *placement.at, BRIDGE_HOLE_MM, part.name, f"{part.name} bridge")


def _hole(face: str, x: float, y: float, diameter: float | None, owner: str, what: str) -> Hole:
    return Hole(0, face, x, y, diameter, None, owner, what)


def _grommet_hole_mm(leads: int) -> float:
    """Return the hole for the smallest grommet that takes the leads as a round bundle."""
    bundle = 1.2 * LEAD_OUTSIDE_MM * leads**0.5
    for widest, hole in GROMMETS_MM:
        if bundle <= widest:
            return hole
    raise DocumentError(
        what="no grommet for so many leads",
        found=f"{leads} leads, a bundle of {bundle:.1f} mm",
        wanted=f"at most {GROMMETS_MM[-1][0]} mm",
        do="bring the leads through two holes",
    )
