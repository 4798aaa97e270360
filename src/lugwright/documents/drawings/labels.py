"""Labels on a drawing: what is to be said where, what is in the way, and the check that nothing overlaps."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from typing import NamedTuple

from lugwright.documents.drawings.geometry import Box, Point, boxes_overlap, edge_toward, segment_hits_box
from lugwright.documents.drawings.svg import text_width_mm

LINE_HEIGHT = 1.15  # of the size


class Spot(NamedTuple):
    """One place a label could stand: the middle, the angle of the text, how unwelcome it is.

    A tuple: a drawing tries a hundred thousand of them.
    """

    x: float
    y: float
    turn: float = 0.0
    cost: float = 0.0
    pointer: Point | None = None  # where a leader line would end


@dataclass(frozen=True)
class Label:
    """Words that belong to one thing.

    ``texts`` are alternatives, the wanted one first, each a tuple of lines. ``own`` names the obstacles
    the label may lie on; ``anchors`` are points of the thing a leader line may point at.
    """

    key: str
    texts: tuple[tuple[str, ...], ...]
    size: float
    spots: tuple[Spot, ...]
    anchors: tuple[Point, ...]
    own: frozenset[str] = frozenset()
    style: str = "plain"  # plain, bold, tag (framed), backed (white behind)
    rank: int = 5  # smaller is placed first
    pad: float = 0.25
    inside: Box | None = None  # the label must fit in here (its own body) unless led away
    beneath: frozenset[str] = frozenset()  # lines that lie under its own body and so do not disturb it there

    def box(self, spot: Spot, lines: tuple[str, ...]) -> Box:
        """Return the area the label takes at a spot."""
        width, height = _words_mm(lines, self.size)
        return Box(spot.x, spot.y, width + 2.0 * self.pad, height + 2.0 * self.pad, spot.turn)


@lru_cache(maxsize=1024)
def _words_mm(lines: tuple[str, ...], size: float) -> tuple[float, float]:
    """Return how wide and high some lines of text are."""
    return max(text_width_mm(words, size) for words in lines), len(lines) * size * LINE_HEIGHT - 0.3 * size


@dataclass(frozen=True)
class Placed:
    """A label where it stands. ``pointer`` is the far end of its leader line, None without one."""

    label: Label
    lines: tuple[str, ...]
    box: Box
    pointer: Point | None = None

    def leader(self) -> tuple[Point, Point] | None:
        """Return the leader line from the label's edge to what it points at."""
        if self.pointer is None:
            return None
        return edge_toward(self.box, self.pointer), self.pointer


@dataclass(frozen=True)
class Obstacle:
    """Something a label may not cover; ``leader_cost`` is how unwelcome a leader line across it is."""

    key: str
    box: Box
    leader_cost: float = 0.0


@dataclass(frozen=True)
class Labelled:
    """All labels of a drawing and everything they keep clear of."""

    placed: tuple[Placed, ...]
    obstacles: tuple[Obstacle, ...]
    left_out: tuple[str, ...] = field(default=())


def label_overlaps(labelled: Labelled) -> list[str]:
    """Return every pair of a label and something it covers, in words; also labels that found no place."""
    found = [f"label {key} has no place" for key in labelled.left_out]
    placed = labelled.placed
    for index, one in enumerate(placed):
        for other in placed[index + 1 :]:
            if boxes_overlap(one.box, other.box):
                found.append(f"label {one.label.key} on label {other.label.key}")
            found += _leader_faults(one, other) + _leader_faults(other, one)
        for obstacle in labelled.obstacles:
            if obstacle.key not in one.label.own and boxes_overlap(one.box, obstacle.box):
                found.append(f"label {one.label.key} on {obstacle.key}")
    return found


def _leader_faults(one: Placed, other: Placed) -> list[str]:
    leader = one.leader()
    if leader is None or not segment_hits_box(*leader, other.box):
        return []
    return [f"leader of {one.label.key} through label {other.label.key}"]


def texts(*alternatives: str | Sequence[str]) -> tuple[tuple[str, ...], ...]:
    """Return alternatives as tuples of lines."""
    return tuple((a,) if isinstance(a, str) else tuple(a) for a in alternatives)
