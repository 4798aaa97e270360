"""Wires as they look from above: white casing so that a crossing shows which one is over, stripe, rounded corners."""

from __future__ import annotations

import math
from collections.abc import Sequence

from lugwright.documents.drawings.colors import BRAID, FADED, FADED_EDGE, inks
from lugwright.documents.drawings.geometry import Point
from lugwright.documents.drawings.svg import Markup, el, group, num
from lugwright.layout.results import Wire

CASING_MM, EDGE_MM, CORE_MM, STRIPE_MM = 2.1, 1.15, 0.75, 0.35
CORNER_MM = 2.0


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


def wire_markup(wire: Wire, points: Sequence[Point], *, faded: bool = False) -> Markup:
    """Return one wire: casing, dark edge, color, stripe; a shielded one with its braid about it."""
    data = rounded_path(points)
    color, stripe = inks(wire.color)
    strokes = [("#fff", CASING_MM), ("#111", EDGE_MM), (color, CORE_MM)]
    if faded:
        strokes = [("#fff", CASING_MM), (FADED_EDGE, EDGE_MM), (FADED, CORE_MM)]
    lines = [_stroke(data, ink, width) for ink, width in strokes]
    if "shielded" in wire.type and not faded:
        lines.append(_stroke(data, BRAID, EDGE_MM + 0.3))
        lines.append(_stroke(data, "#111", EDGE_MM + 0.3, "0.35 0.75"))
        lines.append(_stroke(data, color, STRIPE_MM))
    elif stripe and not faded:
        lines.append(_stroke(data, stripe, STRIPE_MM + 0.15, "2.2 1.8"))
    return group(
        lines, class_="wire", id=f"wire-{wire.number}", data_wire=f"W{wire.number}", data_joint=wire.joint,
        data_kind=wire.kind, data_twist=wire.twist or None,
    )  # fmt: skip


def _stroke(data: str, ink: str, width: float, dash: str | None = None) -> Markup:
    return el(
        "path",
        {"d": data, "fill": "none", "stroke": ink, "stroke-width": width, "stroke-linecap": "butt",
         "stroke-linejoin": "round", "stroke-dasharray": dash},
    )  # fmt: skip
