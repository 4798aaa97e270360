"""Wires as they look from above: white casing so that a crossing shows which one is over, stripe, rounded corners."""

from __future__ import annotations

import math
from collections.abc import Sequence

from lugwright.documents.drawings.colors import BRAID, FADED, FADED_EDGE, inks, mark
from lugwright.documents.drawings.geometry import Point
from lugwright.documents.drawings.svg import Markup, el, group, num
from lugwright.layout.results import Wire

CASING_MM, EDGE_MM, CORE_MM, STRIPE_MM = 2.5, 1.15, 0.75, 0.35
CORNER_MM = 2.0
COMBED_MM = 5.0  # from the end of a shielded wire to where its braid leaves it
BARE_MM = 3.0  # of its core beyond the braid at either end


def rounded_path(points: Sequence[Point], radius: float = CORNER_MM) -> str:
    """Return the ``d`` of a line through the points with rounded corners."""
    data = f"M{num(points[0][0])} {num(points[0][1])}"
    for before, here, after in zip(points, points[1:], points[2:], strict=False):
        reach = min(radius, math.dist(before, here) / 2.0, math.dist(here, after) / 2.0)
        if reach < 0.05:
            data += f"L{num(here[0])} {num(here[1])}"
            continue
        start, end = _toward(here, before, reach), _toward(here, after, reach)
        data += f"L{num(start[0])} {num(start[1])}Q{num(here[0])} {num(here[1])} {num(end[0])} {num(end[1])}"
    return data + f"L{num(points[-1][0])} {num(points[-1][1])}"


def _toward(a: Point, b: Point, reach: float) -> Point:
    length = math.dist(a, b)
    return a[0] + (b[0] - a[0]) * reach / length, a[1] + (b[1] - a[1]) * reach / length


def wire_markup(wire: Wire, points: Sequence[Point], *, faded: bool = False, braid_to: Point | None = None) -> Markup:
    """Return one wire: casing, dark edge, color, stripe; a shielded one with its braid about it.

    ``braid_to`` is the solder point of the braid: it is drawn combed out to there from the nearer end.
    """
    lines = _faded(rounded_path(points)) if faded else wire_strokes(wire, points)
    if braid_to is not None and not faded:
        lines += _combed_out(points, braid_to)
    return group(
        lines, class_="wire", id=f"wire-{wire.number}", data_wire=f"W{wire.number}", data_joint=wire.joint,
        data_kind=wire.kind, data_twist=wire.twist or None,
    )  # fmt: skip


def wire_strokes(wire: Wire, points: Sequence[Point]) -> list[Markup]:
    """Return what a wire is drawn with along a line."""
    return strokes_along(points, wire.color, shielded="shielded" in wire.type)


def strokes_along(points: Sequence[Point], color: str, *, shielded: bool = False) -> list[Markup]:
    """Return casing, dark edge and color; on top a braid, a stripe, or the mark that tells a color in gray."""
    data = rounded_path(points)
    ink, stripe = inks(color)
    lines = [_stroke(data, one, width) for one, width in (("#fff", CASING_MM), ("#111", EDGE_MM), (ink, CORE_MM))]
    marked = mark(color)
    if shielded:
        data = rounded_path(_without_ends(points))
        lines.append(_stroke(data, BRAID, EDGE_MM + 0.3))
        lines.append(_stroke(data, "#111", EDGE_MM + 0.3, "0.35 0.75"))
        lines.append(_stroke(data, ink, STRIPE_MM))
    elif stripe:
        lines.append(_stroke(data, stripe, STRIPE_MM + 0.15, "2.2 1.8"))
    elif marked:
        lines.append(_stroke(data, marked[0], STRIPE_MM, marked[1]))
    return lines


def _without_ends(points: Sequence[Point]) -> list[Point]:
    """Return the line without the bare core at both ends."""
    first = _toward(points[0], points[1], min(BARE_MM, math.dist(points[0], points[1]) * 0.4))
    last = _toward(points[-1], points[-2], min(BARE_MM, math.dist(points[-1], points[-2]) * 0.4))
    return [first, *points[1:-1], last]


def _combed_out(points: Sequence[Point], to: Point) -> list[Markup]:
    """Return the braid from where it leaves the wire to its solder point."""
    near = points if math.dist(points[0], to) <= math.dist(points[-1], to) else points[::-1]
    start = _toward(near[0], near[1], min(COMBED_MM, math.dist(near[0], near[1]) * 0.6))
    data = rounded_path((start, to))
    return [_stroke(data, "#fff", CASING_MM), _stroke(data, "#111", EDGE_MM), _stroke(data, BRAID, CORE_MM, "1.1 0.5")]


def _faded(data: str) -> list[Markup]:
    return [_stroke(data, ink, width) for ink, width in
            (("#fff", CASING_MM), (FADED_EDGE, EDGE_MM), (FADED, CORE_MM))]  # fmt: skip


def _stroke(data: str, ink: str, width: float, dash: str | None = None) -> Markup:
    return el(
        "path",
        {"d": data, "fill": "none", "stroke": ink, "stroke-width": width, "stroke-linecap": "butt",
         "stroke-linejoin": "round", "stroke-dasharray": dash},
    )  # fmt: skip
