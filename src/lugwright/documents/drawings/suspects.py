"""The wiring side with the places of suspects: their parts and wires full, all else faint, a ring around each joint."""

from __future__ import annotations

from collections.abc import Collection, Sequence

from lugwright.buildfile.build import Build
from lugwright.documents.drawings.fittings import Fittings
from lugwright.documents.drawings.svg import el, group
from lugwright.documents.drawings.wiring_side import wiring_side, wiring_side_svg
from lugwright.layout.results import Plan
from lugwright.workorder.results import WorkOrder

RING_MM, RING_WIDTH_MM = 4.2, 0.9  # clear of the terminal's disc; black inside white, so that it stands out of any wire
_END = "</svg>"


def suspects_svg(
    build: Build, plan: Plan, fittings: Fittings, order: WorkOrder, *, terminals: Sequence[str], names: Collection[str]
) -> str:
    """Return the drawing; ``terminals`` get a ring, ``names`` are the parts and wires ("R3", "W12") drawn full."""
    side = wiring_side(build, plan, fittings, order=order)
    told = "Rings: where to look first. "
    svg = wiring_side_svg(side, only=names, told=told, title=f"{build.title}: where to look first")
    rings = [
        el("circle", {"cx": x, "cy": y, "r": RING_MM, "fill": "none", "stroke": stroke, "stroke-width": width})
        for key in terminals
        if key in side.points
        for x, y in (side.points[key],)
        for stroke, width in (("#fff", 2.0 * RING_WIDTH_MM), ("#000", RING_WIDTH_MM))
    ]
    head, _, tail = svg.rpartition(_END)
    return f"{head}{group(rings, class_='suspects')}\n{_END}{tail}"
