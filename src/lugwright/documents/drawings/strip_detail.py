"""One terminal strip at twice its size, and what goes in each lug from which side."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from lugwright.buildfile.build import Build, Strip
from lugwright.documents.drawings.colors import inks
from lugwright.documents.drawings.fittings import Fittings
from lugwright.documents.drawings.geometry import Point, unit
from lugwright.documents.drawings.lug_rows import LugLead, LugRow, lug_rows, soldered_on
from lugwright.documents.drawings.svg import Markup, circle, document, el, group, rect, text, text_width_mm
from lugwright.layout.results import Plan
from lugwright.workorder.results import WorkOrder

ENLARGED = 2.0
SIZE, NAME_SIZE = 2.9, 3.6  # capitals 2 mm high where the page takes the drawing at 94 %
ROW_MM = 3.7
STUB_MM = 11.0
EDGE_MM = 3.0
_SIDES = {0: ("front", "rear", "left"), 90: ("left", "right", "rear"), 180: ("rear", "front", "right"),
          270: ("right", "left", "front")}  # fmt: skip


def strip_detail_svg(build: Build, plan: Plan, fittings: Fittings, name: str, order: WorkOrder | None = None) -> str:
    """Return one strip, lug 1 at the top, with its leads on the side they come from, its joint, when it is soldered."""
    strip = next(s for s in build.strips if s.name == name)
    rows = lug_rows(build, plan, name, soldered_on(order))
    pitch = fittings.strips[strip.type].pitch_mm * ENLARGED
    sides = [_with_note(row, _by_side(plan, strip, row)) for row in rows]
    wide = [max((text_width_mm(lead.words, SIZE) for pair in sides for lead in pair[k]), default=20.0) for k in (0, 1)]
    board = fittings.strips[strip.type].board_width_mm * ENLARGED
    reach = [max(w, 26.0) + STUB_MM + board / 2.0 + EDGE_MM for w in wide]
    tops = _tops(sides, pitch)
    children = [_heading(strip), _board(strip, tops, board)]
    for row, pair, top in zip(rows, sides, tops, strict=True):
        children.append(_lug(row, pair, top, board))
    height = tops[-1] + pitch / 2.0 + 2.0
    return document(
        children,
        box=(-reach[0], -14.0, reach[0] + reach[1], height + 14.0),
        title=f"strip {name}: what goes in each lug",
    )


def _by_side(plan: Plan, strip: Strip, row: LugRow) -> tuple[list[LugLead], list[LugLead]]:
    """Return the leads that come from the left and from the right of the strip as drawn here."""
    ux, uy = unit(strip.turn)
    here = plan.terminals[row.terminal]
    left: list[LugLead] = []
    right: list[LugLead] = []
    for lead in row.leads:
        far = plan.terminals[lead.far]
        across = -(far.x_mm - here.x_mm) * uy + (far.y_mm - here.y_mm) * ux
        (left if across > 0.5 or (across >= -0.5 and len(left) < len(right)) else right).append(lead)
    return left, right


def _tops(sides: Sequence[tuple[list[LugLead], list[LugLead]]], pitch: float) -> list[float]:
    """Return the height of each lug: at its true pitch, farther where its list is long."""
    found = [pitch / 2.0]
    needs = [max(len(left), len(right), 1) * ROW_MM + 1.6 for left, right in sides]
    for before, after in pairwise(needs):
        found.append(found[-1] + max(pitch, (before + after) / 2.0))
    return found


def _heading(strip: Strip) -> Markup:
    quarter = round(strip.turn / 90.0) % 4 * 90
    left, right, first = _SIDES[quarter]
    return group(
        [
            text((0.0, -10.8), f"strip {strip.name}, lug 1 is its {first} end", NAME_SIZE * 0.85, bold=True),
            text((-9.0, -5.2), f"← toward {left}", SIZE, anchor="end"),
            text((9.0, -5.2), f"toward {right} →", SIZE, anchor="start"),
        ],
        class_="heading",
    )


def _board(strip: Strip, tops: Sequence[float], board: float) -> Markup:
    height = tops[-1] - tops[0] + 9.0
    outline = rect(
        (-board / 2.0, tops[0] - 4.5), (board, height), fill="#e7d3b1", stroke="#5b4a2c", width=0.4, radius=1.4
    )
    return group([outline], class_="strip", data_strip=strip.name)


def _lug(row: LugRow, sides: tuple[list[LugLead], list[LugLead]], top: float, board: float) -> Markup:
    number = row.terminal.rsplit(".", 1)[1]
    foot = row.label.endswith("(foot)")
    children: list[Markup] = []
    for leads, sign in zip(sides, (-1.0, 1.0), strict=True):
        for index, lead in enumerate(leads):
            y = top + (index - (len(leads) - 1) / 2.0) * ROW_MM
            end = (sign * (board / 2.0 + STUB_MM - 1.2), y)
            anchor, ink = ("end" if sign < 0 else "start"), "#000" if lead.what else "#444"
            words = text((end[0] + sign * 1.2, y), lead.words, SIZE, anchor=anchor, fill=ink)
            children.append(_stub(lead, top, end, sign * board / 2.0, words) if lead.what else words)
    shape = (
        rect((-3.0, top - 3.0), (6.0, 6.0), fill="#fff", width=0.45)
        if foot
        else circle((0.0, top), 3.0, fill="#fff" if row.leads else "#ededed", width=0.45)
    )
    children += [shape, text((0.0, top), number, 3.0, bold=True)]
    return group(children, class_="lug", data_terminal=row.terminal, data_joint=row.joint)


def _stub(lead: LugLead, top: float, end: Point, edge: float, words: Markup) -> Markup:
    """Return a lead as it leaves its lug, with its words."""
    data = f"M0 {top:.2f}L{edge * 0.75:.2f} {top:.2f}L{edge * 1.35:.2f} {end[1]:.2f}L{end[0]:.2f} {end[1]:.2f}"
    color, stripe = inks(lead.color) if lead.color else ("#8a8a8a", None)
    wire = [("#fff", 2.2, None), ("#111", 1.45, None), (color, 0.8, None)]
    lead_wire = [("#fff", 1.6, None), ("#555", 0.7, None)]
    strokes: list[tuple[str, float, str | None]] = [*(wire if lead.color else lead_wire)]
    if stripe:
        strokes.append((stripe, 0.5, "2.2 1.8"))
    paths = [
        el("path", {"d": data, "fill": "none", "stroke": ink, "stroke-width": width, "stroke-dasharray": dash,
                    "stroke-linejoin": "round"})
        for ink, width, dash in strokes
    ]  # fmt: skip
    attrs = {"data_wire": lead.what} if lead.color else {"data_part": lead.what}
    return group([*paths, words], class_="lead", **attrs)


def _with_note(row: LugRow, sides: tuple[list[LugLead], list[LugLead]]) -> tuple[list[LugLead], list[LugLead]]:
    """Return the leads of both sides, the shorter one with the lug's joint and card, or what it is instead."""
    joint = row.joint or "spare"
    if row.label.endswith("(foot)"):
        joint = "foot, bolted to the metal"
    note = LugLead("", f"[{joint}] {row.when}".strip(), "", "")
    left, right = sides
    return (left, [*right, note]) if len(right) <= len(left) else ([*left, note], right)
