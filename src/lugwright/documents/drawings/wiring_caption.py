"""What stands below the wiring side: how it is seen, a rule, and the colors as they print in gray."""

from __future__ import annotations

from collections.abc import Sequence

from lugwright.documents.drawings.colors import INK
from lugwright.documents.drawings.geometry import Point
from lugwright.documents.drawings.svg import Markup, group, line, text, text_width_mm
from lugwright.documents.drawings.wires import strokes_along
from lugwright.layout.results import Plan

ROW_MM = 4.4  # on paper
SAMPLE_MM, GAP_MM = 9.0, 5.0  # on paper
RULE_MM, RULE_ROOM_MM = 50.0, 78.0
FOOT_MM = 3.4  # on paper: below the last line and above the first
WORDS = (
    "WIRING SIDE: open side up, front panel toward you.",
    "Pins count clockwise. Panels folded out. Of two wires that cross, the unbroken one is over.",
)
MOST_SHEET = "Sheet 1 of 2, left to right. "
RULE = ""  # stands among the colors


def colors_used(plan: Plan) -> tuple[str, ...]:
    """Return the colors of the wires, plain ones in the order of the table, striped ones after them."""
    used = {wire.color.casefold() for wire in plan.wires if wire.color}
    return (*(c for c in INK if c in used), *sorted(used - set(INK)))


def caption_mm(plan: Plan, width_mm: float, size_mm: float) -> float:
    """Return the height of the caption on a sheet of that width, on paper.

    Parameters
    ----------
    plan : Plan
        The plan, for its colors.
    width_mm : float
        Width of the sheet, on paper. [mm]
    size_mm : float
        Size of the letters, on paper. [mm]

    Returns
    -------
    float
        Height. [mm]

    Source
    ------
    Derived below: the lines of words and as many rows of color samples as the width takes.
    """
    lines = len(_words(MOST_SHEET, width_mm, size_mm)) + len(_rows(colors_used(plan), width_mm, size_mm))
    return FOOT_MM + ROW_MM * lines


def caption(plan: Plan, box: tuple[float, float, float, float], scale: float, size_mm: float, sheet: str) -> Markup:
    """Return the caption at the foot of a sheet; ``size_mm`` is the size of its letters on paper."""
    x, y, width, height = box
    size, row_mm = size_mm / scale, ROW_MM / scale
    words = _words(sheet, width * scale, size_mm)
    rows = _rows(colors_used(plan), width * scale, size_mm)
    base = y + height - FOOT_MM / 2.0 / scale - row_mm * (len(words) + len(rows) - 0.5)
    found = [text((x + 4.0, base + k * row_mm), w, size, anchor="start") for k, w in enumerate(words)]
    for k, row in enumerate(rows, start=len(words)):
        at, middle = x + 4.0, base + k * row_mm
        for color in row:
            found += _sample((at, middle), color, scale, size) if color else _rule(at, middle, size)
            at += _wide(color, size_mm) / scale
    return group(found, id="caption")


def _sample(at: Point, color: str, scale: float, size: float) -> list[Markup]:
    x, y = at
    end = x + SAMPLE_MM / scale
    return [*strokes_along(((x, y), (end, y)), color), text((end + 1.2 / scale, y), color, size, anchor="start")]


def _rule(x: float, y: float, size: float) -> list[Markup]:
    ticks = [line((x + k, y - 1.2), (x + k, y + 1.2), width=0.3) for k in (0.0, RULE_MM)]
    bar = line((x, y), (x + RULE_MM, y), width=0.5)
    return [bar, *ticks, text((x + RULE_MM + 2.0, y), "50 mm", size, anchor="start")]


def _words(sheet: str, width_mm: float, size_mm: float) -> list[str]:
    whole = f"{sheet}{' '.join(WORDS)}"
    return [whole] if text_width_mm(whole, size_mm) < width_mm - 8.0 else [sheet + WORDS[0], WORDS[1]]


def _wide(color: str, size_mm: float) -> float:
    return SAMPLE_MM + 1.2 + text_width_mm(color, size_mm) + GAP_MM if color else RULE_ROOM_MM


def _rows(colors: Sequence[str], width_mm: float, size_mm: float) -> list[list[str]]:
    """Return the colors row by row, as many as fit, and the rule behind the last."""
    rows: list[list[str]] = []
    left = 0.0
    for color in (*colors, RULE):
        need = _wide(color, size_mm)
        if not rows or left < need:
            rows.append([])
            left = width_mm - 8.0
        rows[-1].append(color)
        left -= need
    return rows
