"""The wiring side as a small picture: how far a build has come, to be known again at a glance and not to wire from."""

from __future__ import annotations

from collections.abc import Collection

from lugwright.buildfile.build import Build
from lugwright.documents.drawings.bodies import seated_bodies
from lugwright.documents.drawings.card_base import EDGE
from lugwright.documents.drawings.colors import inks
from lugwright.documents.drawings.fittings import Fittings, chassis_of
from lugwright.documents.drawings.geometry import Box, Point
from lugwright.documents.drawings.metal import metal_markup, strips_markup
from lugwright.documents.drawings.svg import Markup, document, el, path_data
from lugwright.documents.drawings.terminal_points import terminal_points
from lugwright.documents.drawings.wire_tracks import drawn_routes
from lugwright.layout.results import Plan

BAND_MM, MARGIN_MM = 16.0, 3.0
WIDTH_MM = 60.0  # of the picture
NOT_YET = "#d2d2d2"
EDGE_MM, CORE_MM = 2.2, 1.4


def small_picture_svg(build: Build, plan: Plan, fittings: Fittings, done: Collection[str]) -> str:
    """Return the wiring side without words. ``done`` names the wires and parts that are in; the others are light."""
    chassis = chassis_of(build)
    points = terminal_points(build, plan)
    routes = drawn_routes(plan, points)
    ordered = sorted(plan.wires, key=lambda wire: (f"W{wire.number}" in done, wire.number))
    wires = [piece for w in ordered for piece in _wire(routes[w.number], w.color, there=f"W{w.number}" in done)]
    bodies = [_body(b.box, there=b.part.name in done) for b in seated_bodies(build, plan, points)]
    out = BAND_MM + MARGIN_MM
    box = (-out, -out, chassis.width_mm + 2 * out, chassis.depth_mm + 2 * out)
    metal = [*metal_markup(build, plan, fittings, BAND_MM), *strips_markup(build, fittings)]
    title = f"{build.title}: its wiring side, small"
    return document([*metal, *wires, *bodies], box=box, scale=WIDTH_MM / box[2], title=title)


def _wire(points: tuple[Point, ...], color: str, *, there: bool) -> list[Markup]:
    data = path_data(points)
    if not there:
        return [_line(data, NOT_YET, CORE_MM)]
    return [_line(data, "#111", EDGE_MM), _line(data, inks(color)[0], CORE_MM)]


def _line(data: str, ink: str, width: float) -> Markup:
    return el("path", {"d": data, "fill": "none", "stroke": ink, "stroke-width": width})


def _body(box: Box, *, there: bool) -> Markup:
    fill, edge = ("#c9a66b", "#222") if there else ("#f2f2f2", EDGE)
    return el(
        "path", {"d": path_data(box.corners(), closed=True), "fill": fill, "stroke": edge, "stroke-width": 0.5}
    )  # fmt: skip
