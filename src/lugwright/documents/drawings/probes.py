"""Where both tips of a meter are held: a piece of the wiring side, a ring and a flag at each place."""

from __future__ import annotations

from lugwright.documents.drawings.geometry import Point
from lugwright.documents.drawings.svg import Markup, circle, group, line, rect, text, text_width_mm
from lugwright.documents.drawings.wiring_side import Window, WiringSide, wiring_side_svg

RING_MM, RING_WIDTH_MM = 3.6, 0.9  # clear of the terminal's disc
FLAG_MM, FLAG_TEXT_MM = 14.0, 4.2  # from the place to the flag; as high as its capitals are read at arm's length
LEAST_MM = (104.0, 78.0)  # of the piece shown: a hand's breadth
BESIDE_MM = 26.0
RED_TIP, BLACK_TIP = "#b3001b", "#000"
_END = "</svg>"


def probes_svg(side: WiringSide, *, red: str, black: str, whole: bool = False) -> str:
    """Return the drawing; ``red`` and ``black`` are terminals of the plan, "" for a tip that has no place on it."""
    at = {key: side.points[key] for key in (red, black) if key in side.points}
    names = {name.split(".")[0].split(" ")[0] for key in at for name in side.plan.leads_at(key)}
    window = side.box if whole or not at else _window(side, list(at.values()))
    svg = wiring_side_svg(side, only=names, window=window, title=f"{side.build.title}: where the tips are held")
    above = red not in at or black not in at or at[red][1] <= at[black][1]
    marks: list[Markup] = []
    for key, words, tip, up in ((red, "RED", RED_TIP, above), (black, "BLACK", BLACK_TIP, not above)):
        if key in at:
            marks += _mark(at[key], words, tip, window, up=up)
    head, _, tail = svg.rpartition(_END)
    return f"{head}{group(marks, class_='probes')}\n{_END}{tail}"


def _window(side: WiringSide, points: list[Point]) -> Window:
    """Return the piece that shows these places with room around them, inside the drawing."""
    low_x, low_y, width, height = side.box
    left, right = min(p[0] for p in points) - BESIDE_MM, max(p[0] for p in points) + BESIDE_MM
    top, bottom = min(p[1] for p in points) - BESIDE_MM, max(p[1] for p in points) + BESIDE_MM
    wide = min(max(right - left, LEAST_MM[0], (bottom - top) * LEAST_MM[0] / LEAST_MM[1]), width)
    high = min(max(bottom - top, wide * LEAST_MM[1] / LEAST_MM[0]), height)
    x = min(max((left + right - wide) / 2.0, low_x), low_x + width - wide)
    y = min(max((top + bottom - high) / 2.0, low_y), low_y + height - high)
    return round(x, 1), round(y, 1), round(wide, 1), round(high, 1)


def _mark(at: Point, words: str, tip: str, window: Window, *, up: bool) -> list[Markup]:
    """Return ring, pole and flag of one tip; the flag turns over where it would leave the drawing."""
    x, y = at
    up = up if window[1] + FLAG_MM < y < window[1] + window[3] - FLAG_MM else y > window[1] + window[3] / 2.0
    wide, high = text_width_mm(words, FLAG_TEXT_MM) + 3.0, FLAG_TEXT_MM + 2.4
    middle = min(max(x, window[0] + wide / 2.0 + 1.0), window[0] + window[2] - wide / 2.0 - 1.0)
    flag_y = y + (-FLAG_MM if up else FLAG_MM)
    foot = y + (-RING_MM if up else RING_MM)
    black = tip == BLACK_TIP
    return [
        circle(at, RING_MM, stroke="#fff", width=2.4 * RING_WIDTH_MM),
        circle(at, RING_MM, stroke=tip, width=RING_WIDTH_MM),
        line((x, foot), (middle, flag_y), width=2.0, stroke="#fff"),
        line((x, foot), (middle, flag_y), width=RING_WIDTH_MM, stroke=tip),
        rect((middle - wide / 2.0, flag_y - high / 2.0), (wide, high), fill="#000" if black else "#fff", stroke=tip,
             width=RING_WIDTH_MM, radius=1.0),
        text((middle, flag_y), words, FLAG_TEXT_MM, bold=True, fill="#fff" if black else tip),
    ]  # fmt: skip
