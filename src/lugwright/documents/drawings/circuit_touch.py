"""A circuit drawing to be pointed at: over every part and joint an area that says which one lies there."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping

from lugwright.documents.drawings.circuit_figure import Mark, Wire
from lugwright.documents.drawings.circuit_pieces import SIGNS
from lugwright.documents.drawings.circuit_stage import StageDrawing
from lugwright.documents.drawings.svg import Markup, el, group, num, rect

REM_PER_MM = 0.4  # on a screen the smallest words are then as high as those around the drawing
WIRE_MM = 2.4  # how far across a wire can be pointed at
_HEAD = re.compile(r"^<\?xml[^>]*>\s*<svg [^>]*>")
_BOX = re.compile(r'viewBox="([^"]*)"')


def touchable_svg(drawing: StageDrawing, named: Mapping[str, tuple[str, str]]) -> str:
    """Return the drawing with areas that carry ``data-part`` and ``data-joint``.

    ``named`` has, for each drawn piece such as V1a or C6.a, its part and what to call it.
    """
    box = _BOX.search(drawing.svg)
    head = el(
        "svg",
        {
            "xmlns": "http://www.w3.org/2000/svg",
            "viewBox": box[1] if box else None,
            "width": f"{num(drawing.width_mm * REM_PER_MM)}rem",
            "height": f"{num(drawing.height_mm * REM_PER_MM)}rem",
            "class": "drawn",
            "role": "group",
            "aria-label": drawing.title,
        },
    ).removesuffix("/>")
    areas = group([*_joints(drawing), *_parts(drawing.marks, named)], class_="areas")
    inner = _HEAD.sub("", drawing.svg).rstrip().removesuffix("</svg>")
    return f"{head}>{inner}{areas}</svg>"


def _parts(marks: Iterable[Mark], named: Mapping[str, tuple[str, str]]) -> Iterable[Markup]:
    areas: dict[str, list[Markup]] = {}
    for mark in marks:
        if mark.owner in named and mark.kind in ("symbol", "words", "volts"):
            areas.setdefault(mark.owner, []).append(_area(mark))
    for piece, shapes in areas.items():
        part, words = named[piece]
        yield group(
            shapes, class_="area part", data_part=part, data_piece=piece, role="button", tabindex="-1", aria_label=words
        )


def _joints(drawing: StageDrawing) -> Iterable[Markup]:
    areas: dict[str, list[Markup]] = {}
    for wire in drawing.wires:
        areas.setdefault(wire.joint, []).append(_along(wire))
    for mark in drawing.marks:
        if mark.kind in ("flag", "sign") or (mark.kind == "volts" and mark.owner in areas):
            areas.setdefault(mark.owner, []).append(_area(mark))
    for joint, shapes in areas.items():
        words = joint if joint in SIGNS else f"joint {joint}"
        yield group(shapes, class_="area joint", data_joint=joint, role="button", tabindex="-1", aria_label=words)


def _area(mark: Mark) -> Markup:
    x0, y0, x1, y1 = mark.bounds
    return rect((x0 - 0.5, y0 - 0.5), (x1 - x0 + 1.0, y1 - y0 + 1.0), fill="none", stroke="none", radius=0.6)


def _along(wire: Wire) -> Markup:
    (x0, y0), (x1, y1) = wire.a, wire.b
    return el("line", {"x1": x0, "y1": y0, "x2": x1, "y2": y1, "stroke": "none", "stroke-width": WIRE_MM})
