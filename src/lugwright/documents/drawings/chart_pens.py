"""How the lines of a chart are told apart, also in black and white: dash, mark, then ink."""

from __future__ import annotations

from lugwright.documents.drawings.chart_records import Series
from lugwright.documents.drawings.geometry import Point
from lugwright.documents.drawings.svg import Markup, circle, el, line, path_data, text

SIZE = 2.8
SAMPLE_MM = 9.0
# One more than inks: the seventh line is not the first again.
DASHES = (None, "3.2 1.4", "1 1.2", "5 1.2 1 1.2", "2 0.8", "6 2", "4 1 1 1 1 1")
INKS = ("#000000", "#1f4fa8", "#b3261e", "#2a7a2f", "#7a4a9a", "#6b6b6b")
WIDTH = 0.55
DOT_MM = 0.95


def ink_of(style: int) -> str:
    """Return the ink of a style."""
    return INKS[style % len(INKS)]


def dash_of(style: int) -> str | None:
    """Return the dash of a style."""
    return DASHES[style % len(DASHES)]


def dot(at: Point, style: int) -> Markup:
    """Return the mark of a style: circle, square, triangle, diamond, triangle on its tip, filled circle."""
    x, y = at
    r, ink = DOT_MM, ink_of(style)
    corners = {
        1: ((-0.9, -0.9), (0.9, -0.9), (0.9, 0.9), (-0.9, 0.9)),
        2: ((0.0, -1.2), (1.1, 0.8), (-1.1, 0.8)),
        3: ((0.0, -1.25), (1.25, 0.0), (0.0, 1.25), (-1.25, 0.0)),
        4: ((0.0, 1.2), (1.1, -0.8), (-1.1, -0.8)),
    }.get(style % 6)
    if corners is None:
        return circle(at, r, fill="#fff" if style % 6 == 0 else ink, stroke=ink, width=0.4)
    data = path_data([(x + a * r, y + b * r) for a, b in corners], closed=True)
    return el("path", {"d": data, "fill": "#fff", "stroke": ink, "stroke-width": 0.4})


def sample(series: Series, style: int, at: Point) -> list[Markup]:
    """Return a piece of the line with its mark and its name, from a left end."""
    end = (at[0] + SAMPLE_MM, at[1])
    found = [line(at, end, width=WIDTH, stroke=ink_of(style), dash=dash_of(style))] if series.joined else []
    if series.dots or not series.joined:
        found.append(dot((at[0] + SAMPLE_MM / 2.0, at[1]), style))
    return [*found, text((end[0] + 1.5, at[1]), series.name, SIZE, anchor="start")]
