"""A line chart: linear, decade or time axes, lines told apart by dash and mark, limits and points labeled."""

from __future__ import annotations

import math
import zlib
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from lugwright.documents.drawings import chart_legend
from lugwright.documents.drawings.chart_labels import (
    LABEL_SIZE,
    Room,
    along_line,
    around,
    beside_level,
    beside_upright,
    visible_part,
)
from lugwright.documents.drawings.chart_legend import Styled
from lugwright.documents.drawings.chart_pens import SIZE, WIDTH, dash_of, dot, ink_of
from lugwright.documents.drawings.chart_records import Axis, Mark, Series
from lugwright.documents.drawings.chart_scale import TICK_SIZE, Scale, scale_of, tick_step
from lugwright.documents.drawings.geometry import Box, Point
from lugwright.documents.drawings.svg import Markup, circle, document, el, group, line, num, rect, text, text_width_mm

__all__ = ["Axis", "Mark", "Series", "chart_svg", "tick_step"]

LEFT_MM, TOP_MM, BOTTOM_MM = 19.0, 11.0, 14.0
RIGHT_AXIS_MM = 17.0
NARROW_MM = 4.0  # where the legend begins when it needs the width


@dataclass(frozen=True)
class _Plot:
    """The frame and the scales of one chart."""

    across: Scale
    left: Scale
    right: Scale | None

    @property
    def frame(self) -> Box:
        x, y = (self.across.start + self.across.end) / 2.0, (self.left.start + self.left.end) / 2.0
        return Box(x, y, self.across.end - self.across.start, self.left.start - self.left.end)

    def up(self, one: Series | Mark) -> Scale:
        return self.right if one.right and self.right is not None else self.left

    def places(self, series: Series) -> list[Point]:
        up = self.up(series)
        return [(self.across.at(a), up.at(b)) for a, b in series.points]


def chart_svg(
    series: Sequence[Series],
    *,
    x: Axis,
    y: Axis,
    right: Axis | None = None,
    marks: Sequence[Mark] = (),
    title: str = "",
    legend: Literal["right", "below"] = "right",
    size_mm: tuple[float, float] = (130.0, 80.0),
) -> str:
    """Return the chart. Points and marks are in the units the axis titles name; ``right`` is a second y axis."""
    styled = [(one, k if one.style is None else one.style) for k, one in enumerate(series)]
    listed = [entry for entry in styled if entry[0].named == "legend"]
    margin = LEFT_MM if len(chart_legend.rows(listed, size_mm[0], LEFT_MM)) < 2 else NARROW_MM
    rows = chart_legend.rows(listed, size_mm[0], margin) if legend == "below" else []
    column_mm = chart_legend.column_width_mm(listed) if legend == "right" else 4.0
    height = max(size_mm[1], TOP_MM + BOTTOM_MM + chart_legend.ROW_MM * (0 if rows else len(listed)))
    bottom = height - BOTTOM_MM - chart_legend.ROW_MM * len(rows)
    edge = size_mm[0] - column_mm - (RIGHT_AXIS_MM if right else _past_the_edge_mm(series))
    plot = _plot(series, marks, (x, y, right), corner=(edge, bottom))
    room = Room(plot.frame, right_free=right is None)
    drawn = [_line(entry, plot, room) for entry in styled]
    dots = [_dots(entry, plot, room) for entry in styled]
    rules, pins = _rules(marks, plot, room)
    if rows:
        keys = chart_legend.below(rows, left=margin, top=height - chart_legend.ROW_MM * (len(rows) - 0.4))
    else:
        ends = [_end_height(s, plot) for s, _ in listed]
        keys = chart_legend.column(listed, ends, left=size_mm[0] - column_mm + 1.8, span=(TOP_MM, bottom - 2.0))
    name = f"plot-{zlib.crc32(repr((title, series, marks, size_mm)).encode()):08x}"  # several may stand on one page
    frame = ((LEFT_MM, TOP_MM), (plot.frame.width, plot.frame.height))
    window = el("defs", {}, el("clipPath", {"id": name}, rect(*frame, stroke="none")))
    inside = group([*rules, *drawn], clip_path=f"url(#{name})")
    words = [*dots, *pins, *_mark_words(marks, plot, room), *_names(series, plot, room)]
    children = [window, *_grid(plot), inside, rect(*frame, width=0.35), *words, *_heads(plot, title, size_mm[0]), *keys]
    return document(children, box=(0.0, 0.0, size_mm[0], height), title=title)


def _plot(
    series: Sequence[Series], marks: Sequence[Mark], axes: tuple[Axis, Axis, Axis | None], *, corner: Point
) -> _Plot:
    x, y, right = axes
    level = [p[0] for s in series for p in s.points] + [m.x for m in marks if m.x is not None]
    across = scale_of(x, level, start=LEFT_MM, end=corner[0])
    sides = []
    for axis, wanted in ((y, False), (right, True)):
        upright = [p[1] for s in series if (s.right and right is not None) is wanted for p in s.points]
        upright += [m.y for m in marks if (m.right and right is not None) is wanted and m.y is not None]
        sides.append(None if axis is None else scale_of(axis, upright, start=corner[1], end=TOP_MM))
    left = sides[0] or scale_of(y, (), start=corner[1], end=TOP_MM)
    return _Plot(across, left, sides[1])


def _past_the_edge_mm(series: Sequence[Series]) -> float:
    """Return the room for names of lines that leave the frame on the right."""
    widths = [text_width_mm(s.name, LABEL_SIZE) for s in series if s.named == "end" and s.points]
    return max(widths, default=-3.0) + 3.0


def _grid(plot: _Plot) -> list[Markup]:
    left, top, edge, bottom = plot.frame.bounds()
    found = []
    for value, words in plot.across.ticks():
        at = plot.across.at(value)
        found.append(_grid_line((at, top), (at, bottom), strong=bool(words)))
        found += [text((at, bottom + 3.0), words, TICK_SIZE)] if words else []
    for value, words in plot.left.ticks():
        at = plot.left.at(value)
        found.append(_grid_line((left, at), (edge, at), strong=bool(words)))
        found += [text((left - 1.6, at), words, TICK_SIZE, anchor="end")] if words else []
    if plot.right is not None:
        for value, words in plot.right.ticks():
            at = plot.right.at(value)
            found.append(line((edge, at), (edge + 1.2, at), width=0.3))
            found += [text((edge + 1.9, at), words, TICK_SIZE, anchor="start")] if words else []
    return found


def _grid_line(a: Point, b: Point, *, strong: bool) -> Markup:
    return line(a, b, width=0.18 if strong else 0.12, stroke="#aaa" if strong else "#d4d4d4")


def _heads(plot: _Plot, title: str, width: float) -> list[Markup]:
    left, top, edge, bottom = plot.frame.bounds()
    middle = (top + bottom) / 2.0
    found = [
        text((width / 2.0, 4.5), title, SIZE * 1.15, bold=True),
        text(((left + edge) / 2.0, bottom + 9.0), plot.across.axis.title, SIZE),
        text((3.6, middle), plot.left.axis.title, SIZE, turn=-90.0),
    ]
    if plot.right is not None:
        found.append(text((edge + RIGHT_AXIS_MM - 3.6, middle), plot.right.axis.title, SIZE, turn=-90.0))
    return found


def _line(entry: Styled, plot: _Plot, room: Room) -> Markup:
    series, style = entry
    places = plot.places(series)
    shown = _finite(places)
    if not series.joined or len(shown) < 2:
        return group([], class_="series", data_series=series.name)
    data, pen = "", "M"
    for a, b in places:
        drawn = math.isfinite(a) and math.isfinite(b)
        data += f"{pen}{num(a)} {num(b)}" if drawn else ""
        pen = "L" if drawn else "M"
    room.take_line(shown)
    path = el(
        "path",
        {"d": data, "fill": "none", "stroke": ink_of(style), "stroke-width": WIDTH,
         "stroke-dasharray": dash_of(style), "stroke-linejoin": "round"},
    )  # fmt: skip
    return group([path], class_="series", data_series=series.name)


def _dots(entry: Styled, plot: _Plot, room: Room) -> Markup:
    """Return the marks at the points of a line; those on the frame are whole, those outside left out."""
    series, style = entry
    shown = _finite(plot.places(series))
    left, top, edge, bottom = plot.frame.grown(0.01).bounds()
    wanted = series.dots or not series.joined or len(shown) == 1
    inside = [(x, y) for x, y in shown if left <= x <= edge and top <= y <= bottom] if wanted else []
    for x, y in inside:
        room.take_line([(x - 1.0, y), (x + 1.0, y)])
    return group([dot(at, style) for at in inside], class_="dots", data_series=series.name)


def _finite(places: Sequence[Point]) -> list[Point]:
    return [(x, y) for x, y in places if math.isfinite(x) and math.isfinite(y)]


def _end_height(series: Series, plot: _Plot) -> float:
    shown = _finite(plot.places(series))
    return shown[-1][1] if shown else plot.left.start


def _rules(marks: Sequence[Mark], plot: _Plot, room: Room) -> tuple[list[Markup], list[Markup]]:
    """Return the lines of the marks, and the points, which may stand on the frame."""
    left, top, edge, bottom = plot.frame.bounds()
    rules, pins = [], []
    for mark in marks:
        across = None if mark.x is None else plot.across.at(mark.x)
        up = None if mark.y is None else plot.up(mark).at(mark.y)
        if across is not None and up is not None:
            pins.append(circle((across, up), 1.1, fill="#000", stroke="#fff", width=0.3))
            room.take_line([(across - 1.0, up), (across + 1.0, up)])
            continue
        ends = ((left, up or 0.0), (edge, up or 0.0)) if across is None else ((across, top), (across, bottom))
        rules.append(line(*ends, width=0.3, dash="1.8 0.9"))
        room.take_line(ends)
    return rules, pins


def _mark_words(marks: Sequence[Mark], plot: _Plot, room: Room) -> list[Markup]:
    found = []
    for mark in marks:
        if mark.x is not None and mark.y is not None:
            centers = around((plot.across.at(mark.x), plot.up(mark).at(mark.y)), mark.label)
        elif mark.x is not None:
            centers = beside_upright(plot.across.at(mark.x), plot.frame, mark.label)
        else:
            centers = beside_level(plot.up(mark).at(mark.y or 0.0), plot.frame, mark.label)
        found.append(group([room.put(mark.label, centers)], class_="mark", data_mark=mark.label))
    return found


def _names(series: Sequence[Series], plot: _Plot, room: Room) -> list[Markup]:
    found = []
    for one in series:
        if one.named != "end":
            continue
        points = visible_part(plot.places(one), plot.frame)
        if points:
            centers = along_line(points, plot.frame, one.name, beyond=plot.right is None)
            words = room.put(one.name, centers, optional=True)  # its neighbors' names say what it is
            found += [group([words], class_="name", data_series=one.name)] if words else []
    return found
