"""Finds a place for every label: near its thing if there is room, else led away by a line, else in the margin."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field

from lugwright.documents.drawings.geometry import (
    Box,
    Point,
    boxes_overlap,
    point_in_box,
    segment_hits_box,
    segments_cross,
)
from lugwright.documents.drawings.labels import Label, Labelled, Obstacle, Placed, Spot

Bounds = tuple[float, float, float, float]  # least x, least y, greatest x, greatest y

CELL_MM = 12.0
GAP_MM = 0.2  # air between labels
RING_STEP_MM = 2.0
RINGS = 24
DIRECTIONS = 24
LEADER_COST = 6.0
SOFT_COST = 5.0  # per wire or lead under a label
WORDS_ON_LINE_COST = 9.0  # the same under plain words, which have no frame
BEARABLE = 7.5  # a place that costs more is compared with one led away
LEADER_CROSSES_COST = 12.0
SHORTER_TEXT_COST = 2.0
MAX_ANCHORS = 6
_ANGLES = [2.0 * math.pi * step / DIRECTIONS for step in range(DIRECTIONS)]
_REACHES = [ring * RING_STEP_MM for ring in range(2, RINGS + 2)]
# what each ring of places costs, and how far across and down they lie
_RINGS = [
    (LEADER_COST + reach * 0.6, [(reach * math.cos(angle), reach * math.sin(angle)) for angle in _ANGLES])
    for reach in _REACHES
]


@dataclass(frozen=True)
class Soft:
    """A line that a label had better not cover: a wire or a part's lead."""

    key: str
    a: Point
    b: Point


@dataclass
class Sheet:
    """What is on the drawing so far, found by place."""

    bounds: Bounds
    fixed: dict[tuple[int, int], list[tuple[Bounds, Obstacle]]] = field(default_factory=dict)
    lines: dict[tuple[int, int], list[Soft]] = field(default_factory=dict)
    placed: dict[str, Placed] = field(default_factory=dict)
    cells: dict[tuple[int, int], list[str]] = field(default_factory=dict)
    leaders: dict[str, tuple[Point, Point, Bounds]] = field(default_factory=dict)

    def put(self, placed: Placed) -> None:
        """Add a label."""
        self.placed[placed.label.key] = placed
        for cell in _cells(placed.box.bounds()):
            self.cells.setdefault(cell, []).append(placed.label.key)
        leader = placed.leader()
        if leader:
            self.leaders[placed.label.key] = (*leader, _span(*leader))

    def take(self, key: str) -> Placed:
        """Remove a label."""
        placed = self.placed.pop(key)
        for cell in _cells(placed.box.bounds()):
            self.cells[cell].remove(key)
        self.leaders.pop(key, None)
        return placed

    def blocked(self, box: Box, own: frozenset[str]) -> bool:
        """Return whether something that cannot move is in the way, or the sheet ends."""
        low_x, low_y, high_x, high_y = bounds = box.bounds()
        if low_x < self.bounds[0] or low_y < self.bounds[1] or high_x > self.bounds[2] or high_y > self.bounds[3]:
            return True
        for cell in _cells(bounds):
            for (left, top, right, bottom), obstacle in self.fixed.get(cell, ()):
                if (
                    left < high_x and right > low_x and top < high_y and bottom > low_y
                    and obstacle.key not in own and boxes_overlap(box, obstacle.box)
                ):  # fmt: skip
                    return True
        return False

    def labels_under(self, box: Box) -> list[str]:
        """Return the labels a box would cover, leader lines it would lie on included."""
        grown = box.grown(GAP_MM)
        found = {
            key
            for cell in _cells(grown.bounds())
            for key in self.cells.get(cell, ())
            if boxes_overlap(grown, self.placed[key].box)
        }
        low_x, low_y, high_x, high_y = grown.bounds()
        for key, (a, b, (left, top, right, bottom)) in self.leaders.items():
            if left < high_x and right > low_x and top < high_y and bottom > low_y and segment_hits_box(a, b, grown):
                found.add(key)
        return sorted(found)

    def lines_under(self, box: Box, own: frozenset[str]) -> int:
        """Return how many other wires and leads a box would cover."""
        return len(
            {
                soft.key
                for cell in _cells(box.bounds())
                for soft in self.lines.get(cell, ())
                if soft.key not in own and segment_hits_box(soft.a, soft.b, box)
            }
        )

    def runs_through_label(self, a: Point, b: Point) -> bool:
        """Return whether a leader line would run through a label."""
        bounds = _span(a, b)
        keys = {key for cell in _cells(bounds) for key in self.cells.get(cell, ())}
        return any(segment_hits_box(a, b, self.placed[key].box) for key in keys)

    def crossing_cost(self, a: Point, b: Point, own: frozenset[str]) -> float:
        """Return what it costs that a leader line runs across things that had better stay whole."""
        bounds = _span(a, b)
        crossed = {
            obstacle.key: obstacle.leader_cost
            for cell in _cells(bounds)
            for _, obstacle in self.fixed.get(cell, ())
            if obstacle.leader_cost and obstacle.key not in own and segment_hits_box(a, b, obstacle.box)
        }
        return sum(crossed.values())

    def leaders_crossed(self, a: Point, b: Point) -> int:
        """Return how many other leader lines one would cross."""
        return sum(segments_cross(a, b, c, d) for c, d, _ in self.leaders.values())


def place_labels(
    labels: Sequence[Label],
    obstacles: Sequence[Obstacle],
    lines: Sequence[Soft],
    bounds: Bounds,
) -> Labelled:
    """Return all labels placed, tightest first; ``left_out`` names those that found no place at all."""
    sheet = Sheet(bounds)
    for obstacle in obstacles:
        taken = obstacle.box.bounds()
        for cell in _cells(taken):
            sheet.fixed.setdefault(cell, []).append((taken, obstacle))
    for soft in lines:
        for cell in _cells(_span(soft.a, soft.b)):
            sheet.lines.setdefault(cell, []).append(soft)
    waiting: list[Label] = []
    for label in sorted(labels, key=lambda label: (label.rank, label.key)):
        found = _best(sheet, _near(label), label)
        if found is None:
            waiting.append(label)
            continue
        cost, placed = found
        away = _best(sheet, _led_away(label), label, enough=LEADER_COST + 4.0, most=cost) if cost > BEARABLE else None
        sheet.put(away[1] if away else placed)
    left_out = [label.key for label in waiting if not _place_hard(sheet, label)]
    return Labelled(tuple(sheet.placed[key] for key in sorted(sheet.placed)), tuple(obstacles), tuple(left_out))


def _place_hard(sheet: Sheet, label: Label) -> bool:
    """Place a label that has no room beside its thing: move a neighbor, lead it away, or uncover the thing."""
    if _push_in(sheet, label):
        return True
    found = _best(sheet, _led_away(label), label, enough=LEADER_COST + 4.0)
    found = found or _best(sheet, _margin(sheet, label), label)
    if found is not None:
        sheet.put(found[1])
    return found is not None or _uncover(sheet, label)


def _push_in(sheet: Sheet, label: Label) -> bool:
    for spot, lines in _near(label):
        box = label.box(spot, lines)
        if not _fits(label, box, spot) or sheet.blocked(box, label.own):
            continue
        under = sheet.labels_under(box)
        if len(under) != 1:
            continue
        old = sheet.take(under[0])
        sheet.put(Placed(label, lines, box, spot.pointer))
        other = _best(sheet, _near(old.label), old.label)
        if other is not None:
            sheet.put(other[1])
            return True
        sheet.take(label.key)
        sheet.put(old)
    return False


def _uncover(sheet: Sheet, label: Label) -> bool:
    """Move a label that lies over the thing elsewhere, so that a leader line reaches the thing."""
    over = {key for x, y in label.anchors for key in sheet.labels_under(Box(x, y, 0.0, 0.0))}
    for key in sorted(over):
        old = sheet.take(key)
        found = _best(sheet, _led_away(label), label, enough=LEADER_COST + 4.0)
        if found is not None:
            sheet.put(found[1])
            other = _best(sheet, _near(old.label), old.label)
            other = other or _best(sheet, _led_away(old.label), old.label, enough=LEADER_COST + 4.0)
            if other is not None:
                sheet.put(other[1])
                return True
            sheet.take(label.key)
        sheet.put(old)
    return False


def _best(
    sheet: Sheet,
    spots: Iterable[tuple[Spot, tuple[str, ...]]],
    label: Label,
    enough: float = 0.0,
    most: float = math.inf,
) -> tuple[float, Placed] | None:
    """Return the cheapest place below ``most`` and its cost; the first at or below ``enough`` ends the search."""
    best: tuple[float, Placed] | None = None
    for spot, lines in spots:
        if spot.cost >= most:
            if spot.pointer is not None:  # led-away spots come in rings, each farther than the last
                break
            continue
        placed = _allowed(sheet, label, spot, lines)
        if placed is None:
            continue
        cost = spot.cost + _disturbance(sheet, placed)
        if cost < most:
            best, most = (cost, placed), cost
        if most <= enough:
            break
    return best


def _allowed(sheet: Sheet, label: Label, spot: Spot, lines: tuple[str, ...]) -> Placed | None:
    box = label.box(spot, lines)
    own: frozenset[str] = frozenset() if spot.pointer else label.own  # led away, it must not hide the thing it names
    if not _fits(label, box, spot) or sheet.blocked(box, own) or sheet.labels_under(box):
        return None
    placed = Placed(label, lines, box, spot.pointer)
    leader = placed.leader()
    return None if leader and sheet.runs_through_label(*leader) else placed


def _disturbance(sheet: Sheet, placed: Placed) -> float:
    """Return what it costs that a label lies on lines and that its leader crosses other leaders."""
    label, leader = placed.label, placed.leader()
    unharmed = label.own if leader else label.own | label.beneath
    price = WORDS_ON_LINE_COST if label.style == "plain" else SOFT_COST
    cost = price * sheet.lines_under(placed.box, unharmed)
    if leader is None:
        return cost
    return cost + LEADER_CROSSES_COST * sheet.leaders_crossed(*leader) + sheet.crossing_cost(*leader, placed.label.own)


def _fits(label: Label, box: Box, spot: Spot) -> bool:
    if spot.pointer is not None or label.inside is None:
        return True
    return all(point_in_box(corner, label.inside) for corner in box.corners())


def _near(label: Label) -> Iterator[tuple[Spot, tuple[str, ...]]]:
    for rank, lines in enumerate(label.texts):
        dearer = SHORTER_TEXT_COST * rank
        for spot in label.spots:
            yield Spot(spot.x, spot.y, spot.turn, spot.cost + dearer, spot.pointer) if rank else spot, lines


def _led_away(label: Label) -> Iterator[tuple[Spot, tuple[str, ...]]]:
    anchors = label.anchors[:MAX_ANCHORS]
    lines = label.texts[-1]
    for cost, ways in _RINGS:
        for anchor in anchors:
            x, y = anchor
            for across, down in ways:
                yield Spot(round(x + across, 2), round(y + down, 2), 0.0, cost, anchor), lines


def _margin(sheet: Sheet, label: Label) -> list[tuple[Spot, tuple[str, ...]]]:
    """Return places all round the sheet's edge, nearest first, with a leader line however long."""
    low_x, low_y, high_x, high_y = sheet.bounds
    lines = label.texts[-1]
    wide = label.box(Spot(0.0, 0.0), lines).width
    found = []
    for anchor in label.anchors[:MAX_ANCHORS]:
        for column in range(4):
            inset = wide * (column + 0.5) + 0.5
            for row in range(int((high_y - low_y) / 2.0)):
                y = low_y + 1.5 + 2.0 * row
                for x in (low_x + inset, high_x - inset):
                    cost = 40.0 + math.hypot(x - anchor[0], y - anchor[1])
                    found.append((Spot(round(x, 2), round(y, 2), 0.0, cost, anchor), lines))
    return sorted(found, key=lambda place: (place[0].cost, place[0].x, place[0].y))


def _span(a: Point, b: Point) -> Bounds:
    return min(a[0], b[0]), min(a[1], b[1]), max(a[0], b[0]), max(a[1], b[1])


def _cells(bounds: Bounds) -> list[tuple[int, int]]:
    low_x, low_y = math.floor(bounds[0] / CELL_MM), math.floor(bounds[1] / CELL_MM)
    high_x, high_y = math.floor(bounds[2] / CELL_MM), math.floor(bounds[3] / CELL_MM)
    if low_x == high_x and low_y == high_y:
        return [(low_x, low_y)]
    return [(i, k) for i in range(low_x, high_x + 1) for k in range(low_y, high_y + 1)]
