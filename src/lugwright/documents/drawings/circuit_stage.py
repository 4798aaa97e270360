"""The circuit, stage by stage: one or more drawings each, small enough for a page."""

from __future__ import annotations

from dataclasses import dataclass

from lugwright.buildfile.build import Build, Stage
from lugwright.circuit.operating import Idle
from lugwright.documents.drawings.circuit_draw import draw
from lugwright.documents.drawings.circuit_figure import Figure, Mark, Wire, flag_width_mm, words_width_mm
from lugwright.documents.drawings.circuit_order import hanging_together
from lugwright.documents.drawings.circuit_pieces import SIGNS, Block, Piece, StagePieces, section_stages, stage_pieces
from lugwright.documents.drawings.circuit_place import PART, Placer
from lugwright.documents.drawings.circuit_symbols import half_height_mm
from lugwright.documents.drawings.svg import document, text

PAGE_WIDTH, PAGE_HEIGHT = 260.0, 170.0
TEXT_WIDTH = 180.0
MARGIN = 2.5


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
    parts: tuple[str, ...] = ()


def stage_svgs(build: Build, idle: Idle) -> tuple[StageDrawing, ...]:
    """Return the circuit drawings of every stage, in the order of the stages."""
    homes = section_stages(build)
    return tuple(
        drawing for stage in build.stages for drawing in _stage_drawings(stage, stage_pieces(build, stage, idle, homes))
    )


def _stage_drawings(stage: Stage, content: StagePieces) -> list[StageDrawing]:
    figures: list[Figure] = []
    alone: list[Figure] = []
    for pieces, blocks in hanging_together(content):
        if len(pieces) + len(blocks) == 1 and not blocks:
            alone.append(_island(pieces[0]))
        else:
            figures.append(draw(Placer(pieces, blocks, content)))
    heaters = [_island(piece) for piece in content.heaters]
    sheet = Figure()
    y = 0.0
    for title, members in (("", figures), ("also in this stage", alone), ("heaters", heaters)):
        y = _flow(sheet, title if figures or title == "heaters" else "", members, y)
    return [_finished(stage.name, stage.title, sheet)] if sheet.marks else []


def _flow(sheet: Figure, title: str, members: list[Figure], y: float) -> float:
    """Put figures in rows below what is there; return the new lower edge."""
    if not members:
        return y
    if title:
        sheet.shapes.append(text((0.0, y + 2.0), title, 2.2, anchor="start", bold=True))
        sheet.marks.append(Mark("words", title, (0.0, y + 0.8, 2.2 * 0.61 * len(title), y + 3.2)))
        y += 6.0
    widest = max(TEXT_WIDTH, *(m.extent()[2] - m.extent()[0] for m in members))
    x, lower = 0.0, y
    row: list[tuple[Figure, float]] = []
    rows = [row]
    for member in members:
        x0, _, x1, _ = member.extent()
        if row and x + x1 - x0 > widest:
            x, row = 0.0, []
            rows.append(row)
        row.append((member, x - x0))
        x += x1 - x0 + 7.5
    for row in rows:
        above = max(-m.extent()[1] for m, _ in row)
        for member, dx in row:
            sheet.add(member, (dx, lower + above))
        lower += above + max(m.extent()[3] for m, _ in row) + 6.0
    return lower


def _island(piece: Piece) -> Figure:
    """Return a two-lead part alone with both its joints."""
    figure = Figure()
    figure.lying(piece.key, piece.kind, (0.0, 0.0))
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


def _finished(name: str, title: str, figure: Figure) -> StageDrawing:
    x0, y0, x1, y1 = figure.extent()
    box = (x0 - MARGIN, y0 - MARGIN, x1 - x0 + 2.0 * MARGIN, y1 - y0 + 2.0 * MARGIN)
    parts = tuple(mark.owner for mark in figure.marks if mark.kind == "symbol")
    return StageDrawing(name, title, document(figure.shapes, box=box, title=title), box[2], box[3], tuple(figure.marks),
                        tuple(figure.wires), parts)  # fmt: skip


def circuit_overlaps(drawing: StageDrawing) -> list[str]:
    """Return everything that lies on something else, in words."""
    marks = drawing.marks
    found = []
    for index, one in enumerate(marks):
        for other in marks[index + 1 :]:
            if _overlap(one, other):
                found.append(f"{one.kind} {one.owner} on {other.kind} {other.owner}")
        for wire in drawing.wires:
            if _crosses(one, wire):
                found.append(f"wire of {wire.joint} through {one.kind} {one.owner}")
    return found


def _overlap(one: Mark, other: Mark) -> bool:
    a, b = one.bounds, other.bounds
    slack = 0.05
    return a[0] + slack < b[2] and b[0] + slack < a[2] and a[1] + slack < b[3] and b[1] + slack < a[3]


def _crosses(mark: Mark, wire: Wire) -> bool:
    x0, y0, x1, y1 = mark.bounds
    low_x, high_x = sorted((wire.a[0], wire.b[0]))
    low_y, high_y = sorted((wire.a[1], wire.b[1]))
    slack = 0.05
    return low_x < x1 - slack and high_x > x0 + slack and low_y < y1 - slack and high_y > y0 + slack
