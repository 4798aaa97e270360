"""The legend of a chart: beside the frame at the height where each line ends, or in rows below."""

from __future__ import annotations

from collections.abc import Sequence

from lugwright.documents.drawings.chart_pens import SAMPLE_MM, SIZE, sample
from lugwright.documents.drawings.chart_records import Series
from lugwright.documents.drawings.svg import Markup, group, text_width_mm

ROW_MM = 4.2
GAP_MM = 4.0
EDGE_MM = 2.0

Styled = tuple[Series, int]


def column_width_mm(listed: Sequence[Styled]) -> float:
    """Return the width a legend beside the frame needs.

    Parameters
    ----------
    listed : sequence of (Series, int)
        The lines it names, each with its style. [-]

    Returns
    -------
    float
        Sample, words and the gaps about them. [mm]

    Source
    ------
    Own layout; the width of the words from `text_width_mm`.
    """
    return SAMPLE_MM + 5.0 + max((text_width_mm(s.name, SIZE) for s, _ in listed), default=-SAMPLE_MM - 3.0)


def column(listed: Sequence[Styled], ends: Sequence[float], *, left: float, span: tuple[float, float]) -> list[Markup]:
    """Return the legend beside the frame; ``ends``: the height each line ends at; ``span``: top and bottom."""
    top, bottom = span
    found: list[Markup] = []
    free = top
    for y, index in sorted((y, k) for k, y in enumerate(ends)):
        at = max(min(y, bottom - (len(ends) - len(found) - 1) * ROW_MM), free)
        free = at + ROW_MM
        found.append(_key(listed[index], (left, at)))
    return found


def rows(listed: Sequence[Styled], width_mm: float, margin_mm: float) -> list[list[Styled]]:
    """Return the entries of a legend below the frame, row by row."""
    found: list[list[Styled]] = []
    free = 0.0
    for entry in listed:
        need = _entry_width_mm(entry)
        if not found or free + need - GAP_MM > width_mm - EDGE_MM:
            found.append([])
            free = margin_mm
        found[-1].append(entry)
        free += need
    return found


def below(listed_rows: Sequence[Sequence[Styled]], *, left: float, top: float) -> list[Markup]:
    """Return the legend below the frame."""
    found = []
    for row, entries in enumerate(listed_rows):
        at = left
        for entry in entries:
            found.append(_key(entry, (at, top + ROW_MM * row)))
            at += _entry_width_mm(entry)
    return found


def _entry_width_mm(entry: Styled) -> float:
    return SAMPLE_MM + 1.5 + text_width_mm(entry[0].name, SIZE) + GAP_MM


def _key(entry: Styled, at: tuple[float, float]) -> Markup:
    return group(sample(*entry, at), class_="legend", data_series=entry[0].name)
