"""The circuit, stage by stage: one or more drawings each, small enough for a page."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from lugwright.buildfile.build import Build, Stage
from lugwright.circuit.operating import Idle
from lugwright.documents.drawings.circuit_draw import draw
from lugwright.documents.drawings.circuit_figure import End, Figure, Mark, Wire, words_width_mm
from lugwright.documents.drawings.circuit_order import hanging_together
from lugwright.documents.drawings.circuit_pieces import SIGNS, Block, Piece, StagePieces, section_stages, stage_pieces
from lugwright.documents.drawings.circuit_place import PART, Placer
from lugwright.documents.drawings.circuit_readings import add_readings, overlaps
from lugwright.documents.drawings.circuit_symbols import half_height_mm
from lugwright.documents.drawings.svg import document, text, text_width_mm

PAGE_WIDTH, PAGE_HEIGHT = 260.0, 170.0
ROW_WIDTH = 180.0  # small figures share a row as wide as an upright page
MARGIN = 2.5
BETWEEN = 7.5
TITLE_SIZE = 2.2
LEGEND = "Boxes: idle volts to ground. At a cathode: plate current at idle."


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
            alone.append(_island(pieces[0]))
        else:
            figures += _figures(pieces, blocks, content)
    heaters = [_island(piece) for piece in content.heaters]
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


def _figures(pieces: Sequence[Piece], blocks: Sequence[Block], content: StagePieces) -> list[Figure]:
    """Return the figure of a group, cut into several when it is wider than a page."""
    placer = Placer(pieces, blocks, content)
    figure = draw(placer)
    x0, _, x1, _ = figure.extent()
    if x1 - x0 + 2.0 * MARGIN <= PAGE_WIDTH or len(placer.columns) < 4:
        return [figure]
    middle = (placer.columns[0].x + placer.columns[-1].x) / 2.0
    cuts = range(1, len(placer.columns))
    cut = min(cuts, key=lambda k: abs(placer.columns[k].x - middle) + 10.0 * len(_cut(placer, k)[2]))
    left, right, shared = _cut(placer, cut)
    if not all(any(side) for side in (left, right)):
        return [figure]
    flagged = replace(content, outside=content.outside | shared, entering=content.entering | shared)
    parts = []
    for side_pieces, side_blocks in (left, right):
        both = replace(flagged, pieces=tuple(side_pieces), blocks=tuple(side_blocks))
        for group in hanging_together(both):
            parts += _figures(*group, both) if len(group[0]) != 1 or group[1] else [_island(group[0][0])]
    return parts


Side = tuple[list[Piece], list[Block]]


def _cut(placer: Placer, at: int) -> tuple[Side, Side, frozenset[str]]:
    """Return what lies left and right of a column, and the joints both sides share."""
    place = {column.name: k for k, column in enumerate(placer.columns)}
    left: Side = ([], [])
    right: Side = ([], [])
    for block in placer.blocks:
        (left if place[block.key] < at else right)[1].append(block)
    for piece in placer.pieces:
        ends = [place[placer.homes[j].column.name] for j in piece.ends if j in placer.homes]
        (left if min(ends) < at else right)[0].append(piece)
    joints = [
        {j for p in side[0] for j in p.ends} | {j for b in side[1] for j in b.joints.values()} for side in (left, right)
    ]
    return left, right, frozenset(j for j in joints[0] & joints[1] if j not in placer.rails)


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


def _island(piece: Piece) -> Figure:
    """Return a two-lead part alone with both its joints."""
    figure = Figure()
    figure.lying(piece.key, piece.kind, (0.0, 0.0), piece.ends)
    reach = max(PART / 2.0 + 1.25, words_width_mm(piece.words) / 2.0 + 0.75)
    for joint, way, sign in ((piece.ends[0], "W", -1.0), (piece.ends[1], "E", 1.0)):
        x = sign * reach
        figure.wire(joint, (sign * PART / 2.0, 0.0), (x, 0.0))
        if joint in SIGNS:
            figure.sign(joint, (x, 0.0))
        else:
            figure.flag(joint, (x, 0.0), way)
    lines = piece.words
    figure.words(piece.key, lines, (0.0, -half_height_mm(piece.kind) - 1.4 - 2.15 * (len(lines) - 1)), anchor="middle")
    return figure


def _finished(name: str, title: str, figure: Figure, left_out: tuple[str, ...]) -> StageDrawing:
    x0, y0, x1, y1 = figure.extent()
    if any(mark.kind == "volts" for mark in figure.marks):
        figure.shapes.append(text((x0, y1 + 4.0), LEGEND, 1.6, anchor="start"))
        width = text_width_mm(LEGEND, 1.6)
        figure.marks.append(Mark("words", "legend", (x0, y1 + 3.2, x0 + width, y1 + 4.8)))
        x0, y0, x1, y1 = figure.extent()
    box = (x0 - MARGIN, y0 - MARGIN, x1 - x0 + 2.0 * MARGIN, y1 - y0 + 2.0 * MARGIN)
    parts = tuple(mark.owner for mark in figure.marks if mark.kind == "symbol")
    return StageDrawing(
        name, title, document(figure.shapes, box=box, title=title), box[2], box[3],
        tuple(figure.marks), tuple(figure.wires), tuple(figure.ends), parts, left_out,
    )  # fmt: skip
