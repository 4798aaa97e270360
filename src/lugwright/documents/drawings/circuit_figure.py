"""A part of a circuit drawing: shapes, and the boxes and wires by which overlaps are found."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, field
from itertools import pairwise

from lugwright.documents.drawings import circuit_symbols as symbols
from lugwright.documents.drawings.circuit_symbols import Bounds
from lugwright.documents.drawings.svg import Markup, circle, el, group, line, num, path_data, rect, text, text_width_mm

Point = tuple[float, float]
WORDS_SIZE, FLAG_SIZE, VOLTS_SIZE = 1.8, 1.8, 1.8
LINE_STEP = 2.15
FLAG_HALF = 1.4


@dataclass(frozen=True)
class Mark:
    """An area something takes. ``kind``: symbol, words, flag, sign, volts; ``owner`` is what it belongs to."""

    kind: str
    owner: str
    bounds: Bounds

    def moved(self, dx: float, dy: float) -> Mark:
        """Return the mark elsewhere."""
        x0, y0, x1, y1 = self.bounds
        return Mark(self.kind, self.owner, (x0 + dx, y0 + dy, x1 + dx, y1 + dy))


@dataclass(frozen=True)
class Wire:
    """A straight wire of a joint."""

    joint: str
    a: Point
    b: Point

    def moved(self, dx: float, dy: float) -> Wire:
        """Return the wire elsewhere."""
        return Wire(self.joint, (self.a[0] + dx, self.a[1] + dy), (self.b[0] + dx, self.b[1] + dy))


@dataclass(frozen=True)
class End:
    """Where a joint meets something: a terminal of ``owner``, or with no owner a flag or sign."""

    owner: str
    joint: str
    at: Point

    def moved(self, dx: float, dy: float) -> End:
        """Return the end elsewhere."""
        return End(self.owner, self.joint, (self.at[0] + dx, self.at[1] + dy))


@dataclass
class Figure:
    """Shapes being gathered about a local origin."""

    shapes: list[Markup] = field(default_factory=list)
    marks: list[Mark] = field(default_factory=list)
    wires: list[Wire] = field(default_factory=list)
    dots: list[Point] = field(default_factory=list)
    numbers: list[Point] = field(default_factory=list)
    ends: list[End] = field(default_factory=list)

    def wire(self, joint: str, *points: Point) -> None:
        """Draw a wire along points."""
        for a, b in pairwise(points):
            if math.dist(a, b) > 1e-6:
                self.wires.append(Wire(joint, a, b))
                self.shapes.append(line(a, b))

    def dot(self, at: Point) -> None:
        """Draw a joint's dot."""
        self.dots.append(at)
        self.shapes.append(circle(at, 0.55, fill="#000", stroke="none"))

    def symbol(self, key: str, shapes: Iterable[Markup], at: Point, bounds: Bounds, *, turn: float = 0.0) -> None:
        """Place a symbol; ``bounds`` are those after turning."""
        move = f"translate({num(at[0])} {num(at[1])})" + (f" rotate({num(turn)})" if turn else "")
        self.shapes.append(group(list(shapes), data_part=key, transform=move))
        x0, y0, x1, y1 = bounds
        self.marks.append(Mark("symbol", key, (at[0] + x0, at[1] + y0, at[0] + x1, at[1] + y1)))

    def lying(self, key: str, kind: str, at: Point, joints: tuple[str, str], *, turned: bool = False) -> None:
        """Place a two-lead symbol lying, first terminal left unless turned."""
        way = 1.0 if turned else -1.0
        self.ends += [End(key, joints[0], (at[0] + way * 5.0, at[1])), End(key, joints[1], (at[0] - way * 5.0, at[1]))]
        half = symbols.half_height_mm(kind)
        self.symbol(key, symbols.two_lead(kind), at, (-4, -half, 4, half), turn=180.0 if turned else 0.0)

    def standing(self, key: str, kind: str, at: Point, joints: tuple[str, str], *, turned: bool = False) -> None:
        """Place a two-lead symbol standing, first terminal up unless turned."""
        way = 1.0 if turned else -1.0
        self.ends += [End(key, joints[0], (at[0], at[1] + way * 5.0)), End(key, joints[1], (at[0], at[1] - way * 5.0))]
        half = symbols.half_height_mm(kind)
        self.symbol(key, symbols.two_lead(kind), at, (-half, -4, half, 4), turn=270.0 if turned else 90.0)

    def words(self, key: str, lines: tuple[str, ...], at: Point, *, anchor: str = "start") -> None:
        """Write lines; ``at`` is the start, middle or end of the first line at the middle of its capitals."""
        width = words_width_mm(lines)
        x, y = at
        left = x - {"start": 0.0, "middle": width / 2.0, "end": width}[anchor]
        for k, words in enumerate(lines):
            self.shapes.append(text((x, y + LINE_STEP * k), words, WORDS_SIZE, anchor=anchor, bold=k == 0))
        bottom = y + LINE_STEP * (len(lines) - 1) + 0.85
        self.marks.append(Mark("words", key, (left, y - 0.8, left + width, bottom)))

    def flag(self, joint: str, at: Point, way: str) -> None:
        """Name a joint that goes on elsewhere: the point ``at`` and the side the flag lies on (E, W, N, S)."""
        width = flag_width_mm(joint)
        self.ends.append(End("", joint, at))
        x, y = at
        if way in ("E", "W"):
            sign = 1.0 if way == "E" else -1.0
            outline = [(x, y), (x + sign * 1.25, y - FLAG_HALF), (x + sign * width, y - FLAG_HALF),
                       (x + sign * width, y + FLAG_HALF), (x + sign * 1.25, y + FLAG_HALF)]  # fmt: skip
            middle = (x + sign * (width + 0.9) / 2.0, y)
            bounds = (min(x, x + sign * width), y - FLAG_HALF, max(x, x + sign * width), y + FLAG_HALF)
        else:
            far = y - 2.0 * FLAG_HALF if way == "N" else y + 2.0 * FLAG_HALF
            half = width / 2.0
            outline = [(x - half, y), (x - half, far), (x + half, far), (x + half, y)]
            middle = (x, (y + far) / 2.0)
            bounds = (x - half, min(y, far), x + half, max(y, far))
        self.shapes.append(el("path", {"d": path_data(outline, closed=True), "fill": "#fff", "stroke": "#000",
                                       "stroke-width": 0.2, "data-joint": joint}))  # fmt: skip
        self.shapes.append(text(middle, joint, FLAG_SIZE))
        self.marks.append(Mark("flag", joint, bounds))

    def sign(self, joint: str, at: Point) -> None:
        """Hang a ground, chassis or earth sign."""
        self.ends.append(End("", joint, at))
        shapes = {"ground": symbols.ground, "chassis": symbols.chassis, "earth": symbols.earth}[joint]()
        self.shapes.append(group(shapes, data_joint=joint, transform=f"translate({num(at[0])} {num(at[1])})"))
        self.marks.append(Mark("sign", joint, (at[0] - 1.75, at[1] + 1.0, at[0] + 1.75, at[1] + 3.0)))

    def volts(self, key: str, words: str, middle: Point, *, framed: bool = True) -> None:
        """Write a reading in its box about a middle."""
        bounds = volts_bounds(words, middle)
        x0, y0, x1, y1 = bounds
        if framed:
            self.shapes.append(rect((x0, y0), (x1 - x0, y1 - y0), fill="#fff", width=0.12, radius=0.4))
        self.shapes.append(text(middle, words, VOLTS_SIZE))
        self.marks.append(Mark("volts", key, bounds))

    def extent(self) -> Bounds:
        """Return what everything together takes."""
        xs = [x for m in self.marks for x in (m.bounds[0], m.bounds[2])] + [
            p[0] for w in self.wires for p in (w.a, w.b)
        ]
        ys = [y for m in self.marks for y in (m.bounds[1], m.bounds[3])] + [
            p[1] for w in self.wires for p in (w.a, w.b)
        ]
        return min(xs), min(ys), max(xs), max(ys)

    def add(self, other: Figure, at: Point) -> None:
        """Put another figure in with its origin at a point."""
        self.shapes.append(group(other.shapes, transform=f"translate({num(at[0])} {num(at[1])})"))
        self.marks += [mark.moved(*at) for mark in other.marks]
        self.wires += [wire.moved(*at) for wire in other.wires]
        self.ends += [end.moved(*at) for end in other.ends]
        self.numbers += [(x + at[0], y + at[1]) for x, y in other.numbers]
        self.dots += [(x + at[0], y + at[1]) for x, y in other.dots]


def words_width_mm(lines: tuple[str, ...]) -> float:
    """Return how wide lines of words are.

    Parameters
    ----------
    lines : tuple of str
        The lines. [-]

    Returns
    -------
    float
        Width of the longest. [mm]

    Source
    ------
    `text_width_mm`.
    """
    return max((text_width_mm(words, WORDS_SIZE) for words in lines), default=0.0)


def flag_width_mm(joint: str) -> float:
    """Return how wide the flag of a joint is.

    Parameters
    ----------
    joint : str
        Its name. [-]

    Returns
    -------
    float
        Width with its point. [mm]

    Source
    ------
    `text_width_mm`.
    """
    return text_width_mm(joint, FLAG_SIZE) + 2.2


def volts_bounds(words: str, middle: Point) -> Bounds:
    """Return the box of a reading."""
    half = text_width_mm(words, VOLTS_SIZE) / 2.0 + 0.4
    return middle[0] - half, middle[1] - 1.1, middle[0] + half, middle[1] + 1.1
