"""What stands on the chassis when a card is begun, in light lines; drawn once, used by every card."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from lugwright.buildfile.build import Can, Tube
from lugwright.documents.drawings.bodies import SeatedBody
from lugwright.documents.drawings.card_regions import Bounds, legs, meet
from lugwright.documents.drawings.fittings import chassis_of
from lugwright.documents.drawings.geometry import Box, Point
from lugwright.documents.drawings.metal import panel_body, strip_box
from lugwright.documents.drawings.svg import Markup, circle, el, num, path_data, rect
from lugwright.documents.drawings.wires import rounded_path
from lugwright.documents.drawings.wiring_side import WiringSide

EDGE, FILL = "#b4b4b4", "#f2f2f2"
WIRE_MM, BUS_MM, LUG_MM = 0.8, 1.8, 1.2


@dataclass(frozen=True)
class Light:
    """A thing in light lines and the pieces of the chassis it lies on."""

    pieces: tuple[Bounds, ...]
    markup: Markup

    def seen(self, window: Bounds) -> bool:
        """Return whether any of it lies in a window."""
        return any(meet(piece, window) for piece in self.pieces)


@dataclass(frozen=True)
class CardBase:
    """The chassis in light lines: metal always there, wires, parts and buses by name, terminals by key."""

    metal: tuple[Light, ...]
    things: Mapping[str, Light]  # "W12", "R3", bus name
    terminals: Mapping[str, Light]


def card_base(side: WiringSide) -> CardBase:
    """Return the light lines of a whole drawing."""
    things = {f"W{number}": _wire(points) for number, points in side.routes.items()}
    things |= {body.part.name: _body(body) for body in side.bodies}
    things |= {bus.name: _line(bus.points, BUS_MM) for bus in side.build.buses}
    terminals = {
        key: _lug(side.points[key]) for key, t in side.plan.terminals.items() if t.kind not in ("bus", "exit", "bolt")
    }
    return CardBase(tuple(_metal(side)), things, terminals)


def _metal(side: WiringSide) -> Iterator[Light]:
    chassis = chassis_of(side.build)
    edge = rect((0.0, 0.0), (chassis.width_mm, chassis.depth_mm), stroke="#777", width=0.5)
    yield Light(((0.0, 0.0, chassis.width_mm, chassis.depth_mm),), edge)
    for part in side.build.parts:
        placement = side.build.placements.get(part.name)
        if placement is None:
            continue
        if part.name in side.fittings.panel:
            yield _box(panel_body(chassis, placement, side.fittings.panel[part.name]))
        elif isinstance(part.values, Tube):
            yield _disc(placement.at, side.fittings.sockets[part.values.socket].hole_mm / 2.0)
        elif isinstance(part.values, Can):
            yield _disc(placement.at, part.values.body.diameter_mm / 2.0)
    for strip in side.build.strips:
        row = side.fittings.strips[strip.type]
        yield _box(strip_box(strip, row.pitch_mm, row.board_width_mm))


def _box(box: Box) -> Light:
    return Light((box.bounds(),), _outline(box))


def _outline(box: Box) -> Markup:
    return el(
        "path", {"d": path_data(box.corners(), closed=True), "fill": FILL, "stroke": EDGE, "stroke-width": 0.25}
    )  # fmt: skip


def _disc(at: Point, radius: float) -> Light:
    (x, y) = at
    return Light(((x - radius, y - radius, x + radius, y + radius),), circle(at, radius, fill=FILL, stroke=EDGE))


def _lug(at: Point) -> Light:
    (x, y) = at
    return Light(((x - LUG_MM, y - LUG_MM, x + LUG_MM, y + LUG_MM),), circle(at, LUG_MM, fill="#fff", stroke=EDGE))


def _wire(points: Sequence[Point]) -> Light:
    return Light(legs(points), _stroke(rounded_path(points), WIRE_MM))


def _line(points: Sequence[Point], width: float) -> Light:
    return Light(legs(points), _stroke(path_data(points), width))


def _stroke(data: str, width: float) -> Markup:
    return el("path", {"d": data, "fill": "none", "stroke": EDGE, "stroke-width": num(width)})


def _body(body: SeatedBody) -> Light:
    leads = _stroke(path_data((body.a, body.b)), 0.5)
    return Light((*legs((body.a, body.b)), body.box.bounds()), Markup(leads + _outline(body.box)))
