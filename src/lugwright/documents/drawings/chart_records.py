"""What a chart is told: its axes, its lines, and what is marked on it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from lugwright.documents.drawings.geometry import Point


@dataclass(frozen=True)
class Axis:
    """An axis: what it shows with its unit, and its ends where they should not follow from the lines.

    ``kind``: "log" has a decade grid (values above 0 only); "time" takes seconds and is labeled in s, min or h.
    ``step`` sets the distance of the ticks on a linear axis, such as 45 for degrees.
    """

    title: str
    low: float | None = None
    high: float | None = None
    kind: Literal["linear", "log", "time"] = "linear"
    step: float | None = None


@dataclass(frozen=True)
class Series:
    """One line.

    ``dots`` draws the points themselves, too; ``joined=False`` draws nothing else (readings). ``right`` reads on
    the right-hand axis. ``style`` picks dash, mark and ink; lines of one family share it; by default each line has
    its own. ``named``: in the legend, at the line's end, or not at all.
    """

    name: str
    points: tuple[Point, ...]
    dots: bool = False
    joined: bool = True
    right: bool = False
    style: int | None = None
    named: Literal["legend", "end", "no"] = "legend"


@dataclass(frozen=True)
class Mark:
    """A labeled place: a vertical line (``x`` alone), a horizontal line (``y`` alone), or a point (both)."""

    label: str
    x: float | None = None
    y: float | None = None
    right: bool = False
