"""A line chart: axes in round steps, several lines told apart by dash and mark, named at their ends."""

from __future__ import annotations

import math
import zlib
from collections.abc import Sequence
from dataclasses import dataclass

from lugwright.documents.drawings.geometry import Point
from lugwright.documents.drawings.svg import Markup, circle, document, el, group, line, num, rect, text, text_width_mm

SIZE = 2.8
LEFT_MM, TOP_MM, BOTTOM_MM = 19.0, 11.0, 14.0
SAMPLE_MM, LEGEND_ROW_MM = 9.0, 4.2
DASHES = (None, "3.2 1.4", "1 1.2", "5 1.2 1 1.2", "2 0.8", "6 2")
INKS = ("#000000", "#1f4fa8", "#b3261e", "#2a7a2f", "#7a4a9a", "#6b6b6b")


@dataclass(frozen=True)
class Series:
    """One line. ``dots`` draws the points themselves, too."""

    name: str
    points: tuple[Point, ...]
    dots: bool = False


@dataclass(frozen=True)
class Axis:
    """An axis: what it shows with its unit, and its ends where they should not follow from the lines."""

    title: str
    low: float | None = None
    high: float | None = None


@dataclass(frozen=True)
class Scale:
    """From values to places on the sheet."""

    low: float
    high: float
    start: float
    end: float

    def at(self, value: float) -> float:
        """Return the place of a value."""
        return self.start + (value - self.low) / (self.high - self.low) * (self.end - self.start)


def chart_svg(
    series: Sequence[Series], *, x: Axis, y: Axis, title: str = "", size_mm: tuple[float, float] = (130.0, 80.0)
) -> str:
    """Return the chart. Points are in the units the axis titles name."""
    right = SAMPLE_MM + 5.0 + max((text_width_mm(one.name, SIZE) for one in series), default=0.0)
    across, up = _scales(series, x, y, (size_mm[0] - right, size_mm[1]))
    clip = (LEFT_MM, TOP_MM, size_mm[0] - LEFT_MM - right, size_mm[1] - TOP_MM - BOTTOM_MM)
    frame = rect(clip[:2], clip[2:], width=0.35)
    name = f"plot-{zlib.crc32(repr((title, series, size_mm)).encode()):08x}"  # several charts may stand on one page
    window = el("clipPath", {"id": name}, rect(clip[:2], clip[2:], stroke="none"))
    lines = group([_line(s, k, across, up) for k, s in enumerate(series)], clip_path=f"url(#{name})")
    names = _legend(series, up, across, clip[0] + clip[2] + 1.8)
    heads = [
        text((size_mm[0] / 2.0, 4.5), title, SIZE * 1.15, bold=True),
        text((clip[0] + clip[2] / 2.0, size_mm[1] - 3.4), x.title, SIZE),
        text((3.6, clip[1] + clip[3] / 2.0), y.title, SIZE, turn=-90.0),
    ]
    children = [el("defs", {}, window), *_grid(across, up, clip), lines, frame, *heads, *names]
    return document(children, box=(0.0, 0.0, *size_mm), title=title)


def _scales(series: Sequence[Series], x: Axis, y: Axis, size_mm: tuple[float, float]) -> tuple[Scale, Scale]:
    found = []
    for index, (axis, start, end) in enumerate(((x, LEFT_MM, size_mm[0]), (y, size_mm[1] - BOTTOM_MM, TOP_MM))):
        values = [p[index] for s in series for p in s.points if math.isfinite(p[index])] or [0.0, 1.0]
        low = min(values) if axis.low is None else axis.low
        high = max(values) if axis.high is None else axis.high
        step = tick_step(low, high)
        low = math.floor(low / step + 1e-9) * step if axis.low is None else low
        high = math.ceil(high / step - 1e-9) * step if axis.high is None else high
        found.append(Scale(low, high if high > low else low + step, start, end))
    return found[0], found[1]


def tick_step(low: float, high: float, wanted: int = 6) -> float:
    """Return a round step (1, 2 or 5 times a power of ten) that gives about the wanted number of ticks."""
    rough = (high - low) / wanted if high > low else max(abs(high), 1.0) / wanted
    power = 10.0 ** math.floor(math.log10(rough))
    return next(m * power for m in (1.0, 2.0, 5.0, 10.0) if m * power >= rough * (1.0 - 1e-9))


def ticks(scale: Scale) -> list[float]:
    """Return the values that get a tick."""
    step = tick_step(scale.low, scale.high)
    first = math.ceil(scale.low / step - 1e-9)
    last = math.floor(scale.high / step + 1e-9)
    return [k * step for k in range(first, last + 1)]


def _grid(across: Scale, up: Scale, clip: tuple[float, float, float, float]) -> list[Markup]:
    left, top, width, height = clip
    found = []
    for scale, level in ((across, True), (up, False)):
        step = tick_step(scale.low, scale.high)
        decimals = max(0, -math.floor(math.log10(step) + 1e-9))
        for value in ticks(scale):
            place = scale.at(value)
            words = f"{value:.{decimals}f}".replace("-", "−")
            words = words.removeprefix("−") if float(f"{value:.{decimals}f}") == 0 else words
            a, b = ((place, top), (place, top + height)) if level else ((left, place), (left + width, place))
            found.append(line(a, b, width=0.15, stroke="#bbb"))
            found.append(
                text((place, top + height + 3.0), words, SIZE * 0.9) if level
                else text((left - 1.6, place), words, SIZE * 0.9, anchor="end")
            )  # fmt: skip
    return found


def _line(series: Series, index: int, across: Scale, up: Scale) -> Markup:
    places = _places(series, across, up)
    ink, dash = INKS[index % len(INKS)], DASHES[index % len(DASHES)]
    data, pen = "", "M"
    for (px, py), (a, b) in zip(((across.at(a), up.at(b)) for a, b in series.points), series.points, strict=True):
        drawn = math.isfinite(a) and math.isfinite(b)
        data += f"{pen}{num(px)} {num(py)}" if drawn else ""
        pen = "L" if drawn else "M"
    found = [el("path", {"d": data, "fill": "none", "stroke": ink, "stroke-width": 0.55, "stroke-dasharray": dash,
                         "stroke-linejoin": "round"})] if len(places) > 1 else []  # fmt: skip
    if series.dots or len(places) == 1:
        found += [circle(p, 0.9, fill="#fff", stroke=ink, width=0.45) for p in places]
    return group(found, class_="series", data_series=series.name)


def _places(series: Series, across: Scale, up: Scale) -> list[Point]:
    return [(across.at(a), up.at(b)) for a, b in series.points if math.isfinite(a) and math.isfinite(b)]


def _legend(series: Sequence[Series], up: Scale, across: Scale, left: float) -> list[Markup]:
    """Return the name of every line with a sample of it, at the height where the line ends."""
    ends = [(places[-1][1] if (places := _places(s, across, up)) else up.start, k) for k, s in enumerate(series)]
    found: list[Markup] = []
    free = up.end
    for y, index in sorted(ends):
        top = max(min(y, up.start - (len(ends) - len(found) - 1) * LEGEND_ROW_MM), free)
        free = top + LEGEND_ROW_MM
        found.append(_sample(series[index], index, (left, top)))
    return found


def _sample(series: Series, index: int, at: Point) -> Markup:
    ink, dash = INKS[index % len(INKS)], DASHES[index % len(DASHES)]
    end = (at[0] + SAMPLE_MM, at[1])
    found = [
        line(at, end, width=0.55, stroke=ink, dash=dash),
        text((end[0] + 1.5, at[1]), series.name, SIZE, anchor="start"),
    ]
    if series.dots:
        found.append(circle((at[0] + SAMPLE_MM / 2.0, at[1]), 0.9, fill="#fff", stroke=ink, width=0.45))
    return group(found, class_="legend", data_series=series.name)
