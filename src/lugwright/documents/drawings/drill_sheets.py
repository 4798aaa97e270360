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
from lugwright.documents.drawings.geometry import Box, Point, boxes_overlap
from lugwright.documents.drawings.label_markup import label_markup
from lugwright.documents.drawings.labels import Labelled
from lugwright.documents.drawings.svg import Markup, document, el, group, line, num, rect, text, text_width_mm
from lugwright.errors import DocumentError
from lugwright.layout.results import Plan

OVERLAP_MM = 16.0
JOIN = "join here"
JOIN_LENGTH_MM = text_width_mm(JOIN, SIZE * 0.85) + 1.0
HEADING_MM = 205.0  # room for the longest line of the heading
EDGE_MM = 4.0  # white at the right of a sheet
PAGES_MM = {"A4": (277.0, 190.0), "A3": (400.0, 277.0), "Letter": (259.0, 195.0)}  # landscape, inside the margins


@dataclass(frozen=True)
class Tile:
    """The piece of a face on one sheet. [mm from the face's left and upper edge]"""

    x: float
    y: float
    width: float
    height: float

    @property
    def window(self) -> tuple[float, float, float, float]:
        """Return left, upper, right and lower edge."""
        return self.x, self.y, self.x + self.width, self.y + self.height

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
    every = tiles(size, page)
    cut = tuple(tile for tile in every if any(tile.holds(at) for at in spots.values()))
    rest = "What is on no sheet has no holes. " if len(cut) < len(every) else ""
    found = []
    for k, tile in enumerate(cut, start=1):
        sheet = f"Sheet {k} of {len(cut)}. " if len(cut) > 1 else ""
        here = [h for h in holes if tile.holds(spots[h.number])]
        frame = [title_markup(build, face, outside, here, sheet + rest), *check_bars(tile.height)]
        labelled = hole_labels(holes, spots, tile.window)
        children = [
            group(frame, transform=f"translate({num(tile.x)} {num(tile.y)})"),
            *_seams(tile, cut, labelled),
            *_piece(tile, size, holes, spots, labelled, outside, f"sheet-{face}-{k}"),
        ]
        box = (
            tile.x - LEFT_MM, tile.y - TOP_MM, max(LEFT_MM + max(tile.width, CHECK_BAR_MM) + EDGE_MM, HEADING_MM),
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
    outside: bool,
    name: str,
) -> list[Markup]:
    """Return the face's outline and holes on this sheet; labels and measures of the holes whose center is on it."""
    window = rect((tile.x - 0.3, tile.y - 0.3), (tile.width + 0.6, tile.height + 0.6), stroke="none")
    here = [spots[h.number] for h in holes if tile.holds(spots[h.number])]
    drawn = [rect((0.0, 0.0), size, width=0.35), *[hole_markup(h, spots[h.number], outside) for h in holes]]
    words = [label_markup(p) for p in labelled.placed]
    across = ordinates(sorted({p[0] for p in here}), tile.x + tile.width, level=True)
    down = ordinates(sorted({p[1] for p in here}), tile.y + tile.height, level=False)
    return [
        el("defs", {}, el("clipPath", {"id": name}, window)),
        group(drawn, clip_path=f"url(#{name})"),
        group(words, class_="labels"),
        group(across, transform=f"translate(0 {num(tile.y)})"),
        group(down, transform=f"translate({num(tile.x)} 0)"),
    ]


def _seams(tile: Tile, cut: Sequence[Tile], labelled: Labelled) -> list[Markup]:
    """Return the dashed lines at which neighboring sheets are laid on one another, named where there is room."""
    right, bottom = tile.x + tile.width, tile.y + tile.height
    found = []
    for x in _joins([(t.x, t.x + t.width) for t in cut if t.y == tile.y], tile.x, right):
        found.append(line((x, tile.y), (x, bottom), width=0.2, stroke="#777", dash="4 2"))
        spots = [Box(x - 1.8, tile.y + k, JOIN_LENGTH_MM, SIZE, -90.0) for k in _steps(tile.height)]
        found += _join_words(spots, labelled)
    for y in _joins([(t.y, t.y + t.height) for t in cut if t.x == tile.x], tile.y, bottom):
        found.append(line((tile.x, y), (right, y), width=0.2, stroke="#777", dash="4 2"))
        spots = [Box(tile.x + k, y - 1.8, JOIN_LENGTH_MM, SIZE) for k in _steps(tile.width)]
        found += _join_words(spots, labelled)
    return [group(found, class_="seam")]


def _joins(spans: Sequence[tuple[float, float]], low: float, high: float) -> list[float]:
    """Return where a sheet from low to high is joined to its neighbors: the middle of each overlap."""
    before = [low + OVERLAP_MM / 2.0 for start, end in spans if start < low < end]
    after = [start + OVERLAP_MM / 2.0 for start, end in spans if low < start < high]
    return sorted({*before, *after})


def _steps(length: float) -> list[float]:
    count = int((length - JOIN_LENGTH_MM - 4.0) / 5.0)
    return [JOIN_LENGTH_MM / 2.0 + 2.0 + 5.0 * k for k in range(max(1, count))]


def _join_words(spots: Sequence[Box], labelled: Labelled) -> list[Markup]:
    taken = [*(o.box for o in labelled.obstacles), *(p.box for p in labelled.placed)]
    clear = [box for box in spots if not any(boxes_overlap(box, other) for other in taken)]
    return [text((box.x, box.y), JOIN, SIZE * 0.85, turn=box.turn, fill="#555") for box in (clear or list(spots))[:1]]
