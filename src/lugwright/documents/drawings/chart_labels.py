"""Words inside a chart, put where they cover the fewest lines and no other words."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from itertools import pairwise

from lugwright.documents.drawings.chart_pens import SIZE
from lugwright.documents.drawings.geometry import Box, Point, boxes_overlap
from lugwright.documents.drawings.svg import Markup, rect, text, text_width_mm

LABEL_SIZE = SIZE * 0.9
HEIGHT_MM = LABEL_SIZE * 1.25
CELL_MM = 1.0
WORDS_COST, OUTSIDE_COST, FARTHER_COST = 40.0, 80.0, 0.05


@dataclass
class Room:
    """What is taken inside the frame: cells that lines run through, boxes of words.

    ``right_free`` is False where a second axis stands to the right of the frame.
    """

    frame: Box
    right_free: bool = True
    cells: set[tuple[int, int]] = field(default_factory=set)
    words: list[Box] = field(default_factory=list)

    def take_line(self, points: Sequence[Point]) -> None:
        """Mark every cell that a line runs through."""
        for (x0, y0), (x1, y1) in pairwise(points):
            count = min(max(1, math.ceil(math.hypot(x1 - x0, y1 - y0) / (0.7 * CELL_MM))), 1000)
            for k in range(count + 1):
                x, y = x0 + (x1 - x0) * k / count, y0 + (y1 - y0) * k / count
                self.cells.add((math.floor(x / CELL_MM), math.floor(y / CELL_MM)))

    def put(self, words: str, centers: Iterable[Point], *, optional: bool = False) -> Markup:
        """Return words with a white back at the best of the places, and take that place.

        Words stand inside the frame, or wholly above it or to the right of it; never across its edge. With
        ``optional`` they are left out rather than put over other words.
        """
        size = (text_width_mm(words, LABEL_SIZE) + 1.0, HEIGHT_MM)
        boxes = [Box(x, y, *size) for x, y in centers]
        costs = [(self._cost(box) + FARTHER_COST * k, k) for k, box in enumerate(boxes)]
        least, at = min(costs)
        if optional and least >= WORDS_COST:
            return Markup("")
        best = boxes[at]
        self.words.append(best)
        back = rect((best.x - best.width / 2.0, best.y - best.height / 2.0), size, fill="#fff", stroke="none")
        return Markup(back + text((best.x, best.y), words, LABEL_SIZE))

    def _cost(self, box: Box) -> float:
        left, top, right, bottom = box.bounds()
        cost = WORDS_COST * sum(boxes_overlap(box, other) for other in self.words)
        low_x, low_y, high_x, high_y = self.frame.bounds()
        inside = left >= low_x and right <= high_x and top >= low_y and bottom <= high_y
        cost += 0.0 if inside or (self.right_free and left >= high_x) or bottom <= low_y else OUTSIDE_COST
        across = range(math.floor(left / CELL_MM), math.floor(right / CELL_MM) + 1)
        down = range(math.floor(top / CELL_MM), math.floor(bottom / CELL_MM) + 1)
        return cost + sum((x, y) in self.cells for x in across for y in down)


def beside_upright(x: float, frame: Box, words: str) -> list[Point]:
    """Return places for words beside an upright line: right or left of it, from the top down."""
    half = text_width_mm(words, LABEL_SIZE) / 2.0 + 1.3
    _, top, _, bottom = frame.bounds()
    rows = [top + HEIGHT_MM * (0.8 + k) for k in range(int((bottom - top) / HEIGHT_MM) - 1)]
    return [(x + side * half, y) for y in rows for side in (1.0, -1.0)]


def beside_level(y: float, frame: Box, words: str) -> list[Point]:
    """Return places for words above or below a level line: from the right end to the left."""
    half = text_width_mm(words, LABEL_SIZE) / 2.0 + 1.0
    left, _, right, _ = frame.bounds()
    span = max(right - left - 2.0 * half, 0.0)
    return [(right - half - span * k / 12.0, y + side * HEIGHT_MM * 0.65) for k in range(13) for side in (-1.0, 1.0)]


def around(at: Point, words: str) -> list[Point]:
    """Return places for words about a point, the nearest first."""
    half = text_width_mm(words, LABEL_SIZE) / 2.0
    found = []
    for away in (1.8, 4.5, 8.0):
        for a, b in ((1, -1), (1, 1), (-1, -1), (-1, 1), (1, 0), (-1, 0), (0, -1), (0, 1)):
            found.append((at[0] + a * (half + away), at[1] + b * (HEIGHT_MM / 2.0 + away * 0.7)))
    return found


def along_line(points: Sequence[Point], frame: Box, words: str, *, beyond: bool) -> list[Point]:
    """Return places for the name of a line: past its end in the frame, then on the line, back from there."""
    end = points[-1]
    _, top, right, _ = frame.bounds()
    half = text_width_mm(words, LABEL_SIZE) / 2.0
    found = []
    if end[1] <= top + 0.05:
        found.append((end[0], top - HEIGHT_MM * 0.6))
    elif beyond or end[0] + 2.0 * half + 2.0 < right:
        found.append((end[0] + half + 1.2, end[1]))
    walked = 0.0
    for (x0, y0), (x1, y1) in pairwise(reversed(points)):
        walked += math.hypot(x1 - x0, y1 - y0)
        if walked >= 3.0:
            walked = 0.0
            found.append((x1, y1))
    return found or [end]


def visible_part(points: Sequence[Point], frame: Box) -> list[Point]:
    """Return the last unbroken stretch of a line inside the frame, cut at the frame where it leaves."""
    stretches: list[list[Point]] = [[]]
    for a, b in pairwise(points):
        cut = _cut(a, b, frame)
        if cut is None:
            stretches.append([])
            continue
        if stretches[-1] and stretches[-1][-1] == cut[0]:
            stretches[-1].append(cut[1])
        else:
            stretches.append(list(cut))
    return next((s for s in reversed(stretches) if s), list(points[:1]))


def _cut(a: Point, b: Point, frame: Box) -> tuple[Point, Point] | None:
    """Return the part of a segment inside the frame (Liang and Barsky's bounds on the parameter)."""
    if not all(map(math.isfinite, (*a, *b))):
        return None
    left, top, right, bottom = frame.bounds()
    dx, dy = b[0] - a[0], b[1] - a[1]
    low, high = 0.0, 1.0
    for step, room in ((-dx, a[0] - left), (dx, right - a[0]), (-dy, a[1] - top), (dy, bottom - a[1])):
        if abs(step) < 1e-12:
            if room < 0:
                return None
        elif step < 0:
            low = max(low, room / step)
        else:
            high = min(high, room / step)
    if low > high:
        return None
    start = a if low == 0.0 else (a[0] + low * dx, a[1] + low * dy)
    return start, b if high == 1.0 else (a[0] + high * dx, a[1] + high * dy)
