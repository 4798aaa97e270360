"""Every hole of the plate and the panels: where, how large, for what."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from lugwright.buildfile.build import Bridge, Build, Can, Chassis, Part, Placement, Tube
from lugwright.catalogue.records import SocketType
from lugwright.documents.drawings.fittings import Fittings, panel_point, standing_transformers
from lugwright.documents.drawings.geometry import unit
from lugwright.documents.drawings.metal import ears, used_panels
from lugwright.errors import DocumentError
from lugwright.layout.results import Plan
from lugwright.sources import Source

BOLT_HOLE_MM = 4.5  # M4 or no. 8 screw with play; from memory: clearance hole tables
BRIDGE_HOLE_MM = 4.5
# Rubber grommets, widest bundle and hole in the metal; from memory: grommet makers' tables.
GROMMETS_MM = ((6.4, 9.5), (9.5, 12.7), (12.7, 15.9), (15.9, 19.0))
LEAD_OUTSIDE_MM = 1.8  # transformer lead over its insulation; from memory
TWIST_DRILL_MM, STEP_DRILL_MM = 6.5, 13.0  # largest hole made with each; common practice
# A step drill's sizes, usual grading by 2 mm; what lies between is reamed. From memory: makers' tables.
STEPS_MM = (8.0, 10.0, 12.0)
MARK = "mark from the part"


@dataclass(frozen=True)
class Hole:
    """One hole. ``x_mm`` and ``y_mm`` are seen from inside: on the plate x, y; on a panel along, height.

    ``diameter_mm`` is None where the hole is marked from the part itself; ``cutout_mm`` is a rectangle.
    ``confirmed`` is False for a size from memory. ``key`` is the direction of a socket's key, ``across_key``
    says that a hole stands across it only because sockets usually have it there.
    """

    number: int
    face: str  # plate, front, rear, left, right
    x_mm: float
    y_mm: float
    diameter_mm: float | None
    cutout_mm: tuple[float, float] | None
    owner: str
    what: str
    confirmed: bool = False
    key: tuple[float, float] | None = None
    across_key: bool = False

    @property
    def origin(self) -> str:
        """Return where the size comes from, as printed."""
        if not self.cutout_mm and self.diameter_mm is None:
            return "the part"
        return "a source" if self.confirmed else "memory"

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
        if self.diameter_mm <= STEP_DRILL_MM:
            return "step drill" if self.diameter_mm in STEPS_MM else "step drill, reamer"
        return "chassis punch"


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
        found.append(replace(hole, number=counts[hole.face], x_mm=round(hole.x_mm, 2), y_mm=round(hole.y_mm, 2)))
    return tuple(found)


def on_sheet(chassis: Chassis, hole: Hole, *, outside: bool) -> tuple[float, float]:
    """Return where a hole is on the sheet, from the upper left corner of the face.

    Outside, the plate is seen from its top with the front edge below; a panel as it stands with the
    chassis upside down on the bench. From outside the plate, the rear and the right panel run the other way.
    """
    width, height = face_size_mm(chassis, hole.face)
    x = width - hole.x_mm if mirrored(hole.face, outside) else hole.x_mm
    return round(x, 2), round(hole.y_mm if hole.face == "plate" else height - hole.y_mm, 2)


def mirrored(face: str, outside: bool) -> bool:
    """Return whether x runs the other way on the sheet than in the build file."""
    return {"plate": outside, "front": not outside, "rear": outside, "left": not outside, "right": outside}[face]


def _all(build: Build, plan: Plan, fittings: Fittings) -> Iterator[Hole]:
    for part in build.parts:
        placement = build.placements.get(part.name)
        if placement is not None:
            yield from _of_part(part, placement, fittings)
    for standing in standing_transformers(build, plan):
        name = standing.part.name
        yield _hole("plate", *standing.grommet, _grommet_hole_mm(len(standing.exits)), name, f"{name} leads, grommet")
        yield _hole("plate", *standing.at, None, name, f"{name} center; mark its fixing holes from the part")
    for strip in build.strips:
        for foot in strip.feet:
            terminal = plan.terminals[f"{strip.name}.{foot}"]
            row = fittings.strips[strip.type]
            known = _known(row.figures, "foot_hole_mm")
            yield _hole("plate", terminal.x_mm, terminal.y_mm, row.foot_hole_mm, strip.name,
                        f"strip {strip.name} foot", known)  # fmt: skip
    for star in build.stars:
        yield _hole("plate", *star.at, BOLT_HOLE_MM, star.name, f"star {star.name}, insulated screw")
    for terminal in plan.terminals.values():
        if terminal.kind == "bolt":
            yield _hole("plate", terminal.x_mm, terminal.y_mm, BOLT_HOLE_MM, terminal.key, terminal.label)


def _of_part(part: Part, placement: Placement, fittings: Fittings) -> Iterator[Hole]:
    row = fittings.panel.get(part.name)
    if row is not None:
        name, face = part.name, placement.panel
        what = f"{name} {part.kind}"
        known = _known(row.figures, "hole_mm")
        yield Hole(0, face, *panel_point(placement), row.hole_mm, row.cutout_mm, name, what, known)
        for along, up, diameter in row.extra_holes:
            yield _hole(face, *panel_point(placement, along=along, up=up), diameter, name, f"{what} fixing")
    elif isinstance(part.values, Tube):
        yield from _socket(part.name, placement, fittings.sockets[part.values.socket])
    elif isinstance(part.values, Can):
        yield _hole("plate", *placement.at, None, part.name, f"{part.name} can center; mark its holes from the part")
    elif isinstance(part.values, Bridge):
        yield _hole("plate", *placement.at, BRIDGE_HOLE_MM, part.name, f"{part.name} bridge")


def _hole(
    face: str, x: float, y: float, diameter: float | None, owner: str, what: str, confirmed: bool = False
) -> Hole:
    return Hole(0, face, x, y, diameter, None, owner, what, confirmed)


def _known(figures: Mapping[str, Source], *names: str) -> bool:
    """Return whether every one of these figures was read somewhere."""
    return all(name in figures and figures[name].confirmed for name in names)


def _socket(name: str, placement: Placement, row: SocketType) -> Iterator[Hole]:
    along, down = unit(placement.turn)
    hole = _hole("plate", *placement.at, row.hole_mm, name, f"{name} socket", _known(row.figures, "hole_mm"))
    yield replace(hole, key=(down, -along))
    known = _known(row.figures, "fixing_hole_mm", "fixing_centers_mm")
    for box in ears(placement, row):
        what = f"{name} socket fixing, assumed across the key"
        yield replace(_hole("plate", box.x, box.y, box.width, name, what, known), across_key=True)


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
