"""One tube socket enlarged, seen from the wiring side, and what goes on each pin."""

from __future__ import annotations

import math

from lugwright.buildfile.build import Build, Tube
from lugwright.documents.drawings.fittings import Fittings
from lugwright.documents.drawings.geometry import Point
from lugwright.documents.drawings.lug_rows import LugRow, lug_rows, soldered_on
from lugwright.documents.drawings.svg import Markup, circle, document, group, line, path_data, text, text_width_mm
from lugwright.documents.drawings.svg import el as element
from lugwright.layout.results import Plan
from lugwright.workorder.results import WorkOrder

RADIUS_MM = 15.0  # of the pin circle as drawn
SIZE = 2.75  # capitals 2 mm high
ROW_MM = 3.7
GAP_MM = 2.0
COLUMN_MM = RADIUS_MM + 11.0


def socket_detail_svg(build: Build, plan: Plan, fittings: Fittings, name: str, order: WorkOrder | None = None) -> str:
    """Return a socket with the leads of each pin listed beside it, and when the pin is soldered."""
    part = build.part(name)
    rows = lug_rows(build, plan, name, soldered_on(order))
    center = build.placements[name].at
    enlarged = 1.0
    if isinstance(part.values, Tube):
        enlarged = RADIUS_MM * 2.0 / fittings.sockets[part.values.socket].pin_circle_mm
    at = {
        row.terminal: ((plan.terminals[row.terminal].x_mm - center[0]) * enlarged,
                       (plan.terminals[row.terminal].y_mm - center[1]) * enlarged)
        for row in rows
    }  # fmt: skip
    left = sorted((r for r in rows if at[r.terminal][0] < -0.01), key=lambda r: at[r.terminal][1])
    right = sorted((r for r in rows if at[r.terminal][0] >= -0.01), key=lambda r: at[r.terminal][1])
    children = [_socket(build.placements[name].turn)]
    lows, widths = [], []
    for column, sign in ((left, -1.0), (right, 1.0)):
        tops = _spread([(at[r.terminal][1], _height(r)) for r in column])
        for row, top in zip(column, tops, strict=True):
            children.append(_pin(row, at[row.terminal], top, sign))
        lows += [abs(top) + _height(r) / 2.0 for r, top in zip(column, tops, strict=True)]
        widths.append(max((text_width_mm(w, SIZE) for r in column for w in _words(r)), default=10.0))
    half = max([RADIUS_MM + 6.0, *lows]) + 2.0
    title = f"{name} {part.values.type.name if isinstance(part.values, Tube) else ''}, wiring side"
    children.append(text((0.0, -half - 3.0), title, 3.0, bold=True))
    width = [COLUMN_MM + w + 3.0 for w in widths]
    return document(children, box=(-width[0], -half - 6.0, sum(width), 2.0 * half + 8.0), title=title)


def _words(row: LugRow) -> list[str]:
    number = row.terminal.rsplit(".", 1)[1]
    head = f"{number} {row.electrode}" if row.electrode else f"{number} {'tie point' if row.leads else 'not used'}"
    return [f"{head}, {row.when}" if row.when else head, *(lead.words for lead in row.leads)]


def _height(row: LugRow) -> float:
    return len(_words(row)) * ROW_MM + GAP_MM


def _spread(wanted: list[tuple[float, float]]) -> list[float]:
    """Return heights near the wanted ones, in the same order, that leave each block its room."""
    tops: list[float] = []
    for middle, height in wanted:
        least = tops[-1] + (wanted[len(tops) - 1][1] + height) / 2.0 if tops else -math.inf
        tops.append(max(middle, least))
    if not tops:
        return []
    shift = sum(top - middle for top, (middle, _) in zip(tops, wanted, strict=True)) / len(tops)
    return [top - shift for top in tops]


def _socket(turn: float) -> Markup:
    angle = math.radians(turn)
    out, side = (math.sin(angle), -math.cos(angle)), (math.cos(angle), math.sin(angle))
    tip = (out[0] * 8.5, out[1] * 8.5)
    base = [(out[0] * 5.0 + side[0] * s, out[1] * 5.0 + side[1] * s) for s in (-1.8, 1.8)]
    arrow = element("path", {"d": path_data([tip, *base], closed=True), "fill": "#000"})
    return group(
        [
            circle((0.0, 0.0), RADIUS_MM + 5.0, fill="#fdfcf7", width=0.4),
            arrow,
            text((-out[0] * 1.0, -out[1] * 1.0), "key", SIZE),
        ],
        class_="socket",
    )


def _pin(row: LugRow, at: Point, top: float, sign: float) -> Markup:
    words = _words(row)
    first = top - (len(words) - 1) * ROW_MM / 2.0
    x = sign * COLUMN_MM
    anchor = "end" if sign < 0 else "start"
    used = bool(row.leads)
    children = [
        line(at, (x - sign * 1.2, first), width=0.25, stroke="#000" if used else "#999"),
        circle(at, 2.3, fill="#fff" if used else "#ededed", width=0.4),
        text(at, row.terminal.rsplit(".", 1)[1], 2.6, bold=True),
    ]
    children += [
        text((x, first + k * ROW_MM), line_words, SIZE, anchor=anchor, bold=k == 0, fill="#000" if used else "#777")
        for k, line_words in enumerate(words)
    ]
    return group(children, class_="pin", data_terminal=row.terminal, data_joint=row.joint)
