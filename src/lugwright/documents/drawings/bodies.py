"""Seated parts as they look from above: body, leads, polarity."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

from lugwright.buildfile.build import Build, Capacitor, Diode, Part, Resistor
from lugwright.documents.drawings.colors import FADED, FADED_EDGE
from lugwright.documents.drawings.geometry import Box, Point, unit
from lugwright.documents.drawings.svg import Markup, el, group, line, num, rect
from lugwright.layout.results import Plan, SeatedPart
from lugwright.quantities import rkm

EDGE = 0.28
SEE_THROUGH = 0.88  # what lies under a body still shows faintly
LEAD_MM = 0.7
WIREWOUND_W = 3.0


@dataclass(frozen=True)
class SeatedBody:
    """A part on the drawing: its two lead ends, its body's area, where words fit inside."""

    seat: SeatedPart
    part: Part
    a: Point
    b: Point
    box: Box
    writing: Box

    @property
    def ends(self) -> tuple[Point, Point]:
        """Return where the leads leave the body."""
        ux, uy = unit(self.box.turn)
        half = self.box.width / 2.0
        return (self.box.x - ux * half, self.box.y - uy * half), (self.box.x + ux * half, self.box.y + uy * half)


def seated_bodies(build: Build, plan: Plan, points: dict[str, Point]) -> tuple[SeatedBody, ...]:
    """Return every seated part, lowest layer first."""
    found = []
    for seat in sorted(plan.seats, key=lambda s: (s.layer, s.z_mm, s.part)):
        a, b = (points[key] for key in seat.terminals)
        part = build.part(seat.part)
        turn = math.degrees(math.atan2(b[1] - a[1], b[0] - a[0])) if a != b else 0.0
        middle = ((a[0] + b[0]) / 2.0, (a[1] + b[1]) / 2.0)
        box = Box(*middle, seat.body_length_mm, seat.body_diameter_mm, turn)
        found.append(SeatedBody(seat, part, a, b, box, _writing(part, box)))
    return tuple(found)


def _writing(part: Part, box: Box) -> Box:
    """Return the part of the body where words may stand: not on the marks of polarity."""
    low, high = _marks(part, box)
    ux, uy = unit(box.turn)
    shift = (low - high) / 2.0
    return Box(box.x + ux * shift, box.y + uy * shift, box.width - low - high - 0.4, box.height + 1.1, box.turn)


def _marks(part: Part, box: Box) -> tuple[float, float]:
    values = part.values
    if isinstance(values, Capacitor) and values.polar:
        return 4.0, 2.2
    if isinstance(values, Diode):
        return 0.0, 1.6
    return 0.0, 0.0


def short_value(part: Part) -> str:
    """Return the part's value as it is said at the bench, "" where there is none."""
    values = part.values
    if isinstance(values, Resistor):
        return rkm(values.ohm, "ohm")
    if isinstance(values, Capacitor):
        return rkm(values.farad, "farad").replace("u", "µ")
    return ""


def body_markup(body: SeatedBody, *, faded: bool = False) -> Markup:
    """Return the part as a group: leads with a white edge, then the body with its marks."""
    tail, head = body.ends
    ink = FADED_EDGE if faded else "#3c3c3c"
    leads = [
        line(p, q, width=width, stroke=stroke)
        for width, stroke in ((LEAD_MM + 0.9, "#fff"), (LEAD_MM, ink))
        for p, q in ((body.a, tail), (head, body.b))
    ]
    box = body.box
    place = f"translate({num(box.x)} {num(box.y)}) rotate({num(box.turn)})"
    shape = el("g", {"transform": place}, Markup("".join(_shape(body, faded))))
    return group([*leads, shape], class_="part", data_part=body.part.name, data_layer=body.seat.layer)


def _shape(body: SeatedBody, faded: bool) -> list[Markup]:
    values = body.part.values
    draw: Callable[[float, float, bool], list[Markup]] = _plain
    if isinstance(values, Resistor):
        draw = _wirewound if values.watts >= WIREWOUND_W else _resistor
    elif isinstance(values, Capacitor):
        draw = _electrolytic if values.polar else _film
    elif isinstance(values, Diode):
        draw = _diode
    return draw(body.box.width, body.box.height, faded)


def _outline(length: float, height: float, faded: bool, fill: str, radius: float) -> Markup:
    edge = FADED_EDGE if faded else "#1a1a1a"
    return el(
        "rect",
        {"x": -length / 2.0, "y": -height / 2.0, "width": length, "height": height, "rx": radius,
         "fill": FADED if faded else fill, "fill-opacity": 0.6 if faded else SEE_THROUGH, "stroke": edge,
         "stroke-width": EDGE},
    )  # fmt: skip


def _resistor(length: float, height: float, faded: bool) -> list[Markup]:
    return [_outline(length, height, faded, "#f2e2c4", height / 2.0)]


def _wirewound(length: float, height: float, faded: bool) -> list[Markup]:
    return [_outline(length, height, faded, "#e4e4dc", 0.6)]


def _film(length: float, height: float, faded: bool) -> list[Markup]:
    return [_outline(length, height, faded, "#fbedb0", 1.2)]


def _plain(length: float, height: float, faded: bool) -> list[Markup]:
    return [_outline(length, height, faded, "#f4f4f4", 0.6)]


def _electrolytic(length: float, height: float, faded: bool) -> list[Markup]:
    ink = FADED_EDGE if faded else "#1a1a1a"
    cross = -length / 2.0 + 2.2
    groove = -length / 2.0 + 3.9
    band = rect((length / 2.0 - 1.9, -height / 2.0), (1.9, height), fill=ink, stroke="none", radius=0.4)
    return [
        _outline(length, height, faded, "#cfe0ef", 1.0),
        line((groove, -height / 2.0), (groove, height / 2.0), width=0.25, stroke=ink),
        line((cross - 1.1, 0.0), (cross + 1.1, 0.0), width=0.55, stroke=ink),
        line((cross, -1.1), (cross, 1.1), width=0.55, stroke=ink),
        band,
    ]


def _diode(length: float, height: float, faded: bool) -> list[Markup]:
    ink = FADED_EDGE if faded else "#1a1a1a"
    band = rect((length / 2.0 - 1.5, -height / 2.0), (0.9, height), fill=ink, stroke="none")
    return [_outline(length, height, faded, "#dedede", 0.3), band]
