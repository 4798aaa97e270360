"""The drill template cut into sheets that a desk printer takes, each at 1:1 with its own check bars."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from lugwright.buildfile.build import Build
from lugwright.documents.drawings.drill_plan import Hole, drill_holes, face_size_mm, on_sheet
from lugwright.documents.drawings.drill_template import (
    BOTTOM_MM,
    CHECK_BAR_MM,
    LEFT_MM,
    SIZE,
    TOP_MM,
    check_bars,
    hole_labels,
    hole_markup,
    ordinates,
    title_markup,
)
from lugwright.documents.drawings.fittings import Fittings, chassis_of
from lugwright.documents.drawings.geometry import Point
from lugwright.documents.drawings.label_markup import label_markup
from lugwright.documents.drawings.labels import Labelled
from lugwright.documents.drawings.svg import Markup, document, el, group, line, num, rect, text
from lugwright.errors import DocumentError
from lugwright.layout.results import Plan

OVERLAP_MM = 16.0
EDGE_MM = 4.0  # white at the right of a sheet
PAGES_MM = {"A4": (277.0, 190.0), "A3": (400.0, 277.0), "Letter": (259.0, 195.0)}  # landscape, inside the margins


@dataclass(frozen=True)
class Tile:
    """The piece of a face on one sheet. [mm from the face's left and upper edge]"""

    x: float
    y: float
    width: float
    height: float

    def holds(self, at: Point) -> bool:
        """Return whether a hole's center is on the sheet."""
        return self.x <= at[0] <= self.x + self.width and self.y <= at[1] <= self.y + self.height


def drill_template_sheets(
    build: Build, plan: Plan, fittings: Fittings, face: str, *, page: str = "A4", outside: bool = True
) -> tuple[str, ...]:
    """Return the template of a face as sheets for a page, row by row; join them at the dashed lines."""
    chassis = chassis_of(build)
    size = face_size_mm(chassis, face)
    holes = [h for h in drill_holes(build, plan, fittings) if h.face == face]
    spots = {h.number: on_sheet(chassis, h, outside=outside) for h in holes}
    labelled = hole_labels(holes, spots, *size)
    cut = tiles(size, page)
    found = []
    for k, tile in enumerate(cut, start=1):
        sheet = f"Sheet {k} of {len(cut)}. " if len(cut) > 1 else ""
        frame = [title_markup(build, face, outside, sheet), *check_bars(tile.height)]
        children = [
            group(frame, transform=f"translate({num(tile.x)} {num(tile.y)})"),
            *_piece(tile, size, holes, spots, labelled, f"sheet-{face}-{k}"),
            *_seams(tile, cut),
        ]
        box = (
            tile.x - LEFT_MM, tile.y - TOP_MM, LEFT_MM + max(tile.width, CHECK_BAR_MM) + EDGE_MM,
            TOP_MM + max(tile.height, CHECK_BAR_MM + 2.0) + BOTTOM_MM - 6.0,
        )  # fmt: skip
        found.append(document(children, box=box, title=f"{build.title}: drill template, {face} {sheet}".strip()))
    return tuple(found)


def tiles(size: tuple[float, float], page: str) -> tuple[Tile, ...]:
    """Return the pieces of a face that fit a page, all of one size, overlapping."""
    if page not in PAGES_MM:
        raise DocumentError(
            what=f"no page size {page}",
            found=repr(page),
            wanted="one of " + ", ".join(PAGES_MM),
            do="choose one of these",
        )
    room = (PAGES_MM[page][0] - LEFT_MM - EDGE_MM, PAGES_MM[page][1] - TOP_MM - BOTTOM_MM + 6.0)
    pieces = [_cut(length, most) for length, most in zip(size, room, strict=True)]
    return tuple(Tile(x, y, width, height) for y, height in pieces[1] for x, width in pieces[0])


def _cut(length: float, most: float) -> list[tuple[float, float]]:
    count = 1 if length <= most else math.ceil((length - OVERLAP_MM) / (most - OVERLAP_MM))
    piece = (length + (count - 1) * OVERLAP_MM) / count
    return [(round(k * (piece - OVERLAP_MM), 2), round(piece, 2)) for k in range(count)]


def _piece(
    tile: Tile,
    size: tuple[float, float],
    holes: Sequence[Hole],
    spots: dict[int, Point],
    labelled: Labelled,
    name: str,
) -> list[Markup]:
    """Return the face's outline, holes and labels on this sheet, and the measures of the holes on it."""
    window = rect((tile.x - 0.3, tile.y - 0.3), (tile.width + 0.6, tile.height + 0.6), stroke="none")
    drawn = [rect((0.0, 0.0), size, width=0.35), *[hole_markup(h, spots[h.number]) for h in holes],
             *[label_markup(p) for p in labelled.placed]]  # fmt: skip
    here = [spots[h.number] for h in holes if tile.holds(spots[h.number])]
    across = ordinates(sorted({p[0] for p in here}), tile.x + tile.width, level=True)
    down = ordinates(sorted({p[1] for p in here}), tile.y + tile.height, level=False)
    return [
        el("defs", {}, el("clipPath", {"id": name}, window)),
        group(drawn, clip_path=f"url(#{name})"),
        group(across, transform=f"translate(0 {num(tile.y)})"),
        group(down, transform=f"translate({num(tile.x)} 0)"),
    ]


def _seams(tile: Tile, cut: Sequence[Tile]) -> list[Markup]:
    """Return the dashed lines at which neighboring sheets are laid on one another."""
    right, bottom = tile.x + tile.width, tile.y + tile.height
    found = []
    for x in sorted({t.x + OVERLAP_MM / 2.0 for t in cut if t.x > 0}):
        if tile.x < x < right:
            found.append(line((x, tile.y), (x, bottom), width=0.2, stroke="#777", dash="4 2"))
            found.append(
                text((x - 1.4, bottom - 3.0), "join here", SIZE * 0.85, anchor="start", turn=-90.0, fill="#555")
            )
    for y in sorted({t.y + OVERLAP_MM / 2.0 for t in cut if t.y > 0}):
        if tile.y < y < bottom:
            found.append(line((tile.x, y), (right, y), width=0.2, stroke="#777", dash="4 2"))
            found.append(text((tile.x + 3.0, y - 1.4), "join here", SIZE * 0.85, anchor="start", fill="#555"))
    return [group(found, class_="seam")]
