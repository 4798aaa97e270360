"""The circuit, stage by stage: one or more drawings each, small enough for a page."""

from __future__ import annotations

from dataclasses import dataclass

from lugwright.buildfile.build import Build, Stage
from lugwright.circuit.operating import Idle
from lugwright.documents.drawings.circuit_figure import End, Figure, Mark, Wire
from lugwright.documents.drawings.circuit_order import hanging_together
from lugwright.documents.drawings.circuit_parting import figures_of, island
from lugwright.documents.drawings.circuit_pieces import StagePieces, section_stages, stage_pieces
from lugwright.documents.drawings.circuit_readings import add_readings, overlaps
from lugwright.documents.drawings.svg import document, text, text_width_mm

PAGE_WIDTH, PAGE_HEIGHT = 260.0, 170.0
ROW_WIDTH = 104.0  # small figures share a row that stands on an upright page at the size the book enlarges to
MARGIN = 2.5
READING_WIDTH = 7.0  # a reading may stand outside of either edge
BETWEEN = 7.5
TITLE_SIZE, LEGEND_SIZE = 2.2, 1.6
LEGEND = "Boxes: idle volts to ground, ~ alternating, rms. At a cathode: plate current."


@dataclass(frozen=True)
class StageDrawing:
    """A drawing of a stage or of a part of it; ``marks`` and ``wires`` say what lies where."""

    stage: str
    title: str
    svg: str
    width_mm: float
    height_mm: float
    marks: tuple[Mark, ...] = ()
    wires: tuple[Wire, ...] = ()
    ends: tuple[End, ...] = ()
    parts: tuple[str, ...] = ()  # V1a, C6.a, S1.1, V2.heater: what is drawn, a part's pieces by name
    left_out: tuple[str, ...] = ()  # joints whose volts found no room


def stage_svgs(build: Build, idle: Idle) -> tuple[StageDrawing, ...]:
    """Return the circuit drawings of every stage, in the order of the stages."""
    homes = section_stages(build)
    return tuple(
        drawing
        for stage in build.stages
        for drawing in _stage_drawings(stage, stage_pieces(build, stage, idle, homes), idle)
    )


def circuit_overlaps(drawing: StageDrawing) -> list[str]:
    """Return everything that lies on something else, in words."""
    return overlaps(drawing.marks, drawing.wires)


def _stage_drawings(stage: Stage, content: StagePieces, idle: Idle) -> list[StageDrawing]:
    figures: list[Figure] = []
    alone: list[Figure] = []
    for pieces, blocks in hanging_together(content):
        if len(pieces) == 1 and not blocks:
            alone.append(island(pieces[0]))
        else:
            figures += figures_of(pieces, blocks, content, PAGE_WIDTH - 2.0 * MARGIN - 2.0 * READING_WIDTH)
    heaters = [island(piece) for piece in content.heaters]
    rows = _rows("", figures) + _rows("also in this stage" if figures else "", alone) + _rows("heaters", heaters)
    sheets = _sheets(rows)
    titles = (
        [stage.title] if len(sheets) == 1 else [f"{stage.title}, {k + 1} of {len(sheets)}" for k in range(len(sheets))]
    )
    grids = frozenset(block.joints["grid"] for block in content.blocks if "grid" in block.joints)
    return [
        _finished(stage.name, title, sheet, add_readings(sheet, idle, grids))
        for title, sheet in zip(titles, sheets, strict=True)
    ]


@dataclass
class _Row:
    title: str
    members: list[tuple[Figure, float]]
    above: float
    below: float

    @property
    def height(self) -> float:
        return self.above + self.below + (6.0 if self.title else 0.0)


def _rows(title: str, members: list[Figure]) -> list[_Row]:
    """Return figures in rows, each row's figures on one height."""
    rows: list[list[tuple[Figure, float]]] = []
    x = 0.0
    widest = max([ROW_WIDTH, *(m.extent()[2] - m.extent()[0] for m in members)])
    for member in members:
        x0, _, x1, _ = member.extent()
        if not rows or x + x1 - x0 > widest:
            rows.append([])
            x = 0.0
        rows[-1].append((member, x - x0))
        x += x1 - x0 + BETWEEN
    return [
        _Row(title if k == 0 else "", row, max(-m.extent()[1] for m, _ in row), max(m.extent()[3] for m, _ in row))
        for k, row in enumerate(rows)
    ]


def _sheets(rows: list[_Row]) -> list[Figure]:
    """Return rows on as few sheets as their height allows."""
    sheets: list[Figure] = []
    y = 0.0
    for row in rows:
        if not sheets or y + row.height > PAGE_HEIGHT:
            sheets.append(Figure())
            y = 0.0
        sheet = sheets[-1]
        if row.title:
            sheet.shapes.append(text((0.0, y + 1.0), row.title, TITLE_SIZE, anchor="start", bold=True))
            width = text_width_mm(row.title, TITLE_SIZE)
            sheet.marks.append(Mark("words", row.title, (0.0, y, width, y + 2.0)))
            y += 6.0
        for member, dx in row.members:
            sheet.add(member, (dx, y + row.above))
        y += row.above + row.below + BETWEEN
    return sheets


def _finished(name: str, title: str, figure: Figure, left_out: tuple[str, ...]) -> StageDrawing:
    x0, y0, x1, y1 = figure.extent()
    if any(mark.kind == "volts" for mark in figure.marks):
        figure.shapes.append(text((x0, y1 + 4.0), LEGEND, LEGEND_SIZE, anchor="start"))
        width = text_width_mm(LEGEND, LEGEND_SIZE)
        figure.marks.append(Mark("words", "legend", (x0, y1 + 3.2, x0 + width, y1 + 4.8)))
        x0, y0, x1, y1 = figure.extent()
    box = (x0 - MARGIN, y0 - MARGIN, x1 - x0 + 2.0 * MARGIN, y1 - y0 + 2.0 * MARGIN)
    parts = tuple(mark.owner for mark in figure.marks if mark.kind == "symbol")
    return StageDrawing(
        name, title, document(figure.shapes, box=box, title=title), box[2], box[3],
        tuple(figure.marks), tuple(figure.wires), tuple(figure.ends), parts, left_out,
    )  # fmt: skip
