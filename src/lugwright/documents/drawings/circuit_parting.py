"""Groups that do not fit as one figure: cut in two for the page, or a part that is in the way drawn by itself.

Where a joint is parted, a flag with its name stands on both sides.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace

from lugwright.documents.drawings.circuit_draw import draw
from lugwright.documents.drawings.circuit_figure import LINE_STEP, Figure, words_width_mm
from lugwright.documents.drawings.circuit_order import hanging_together
from lugwright.documents.drawings.circuit_pieces import SIGNS, Block, Piece, StagePieces
from lugwright.documents.drawings.circuit_place import PART, Placer
from lugwright.documents.drawings.circuit_readings import boxes_meet, wire_meets, wires_touch
from lugwright.documents.drawings.circuit_symbols import half_height_mm, rows_of_flags

Side = tuple[list[Piece], list[Block]]


def figures_of(pieces: Sequence[Piece], blocks: Sequence[Block], content: StagePieces, widest: float) -> list[Figure]:
    """Return the figures of a group: one, or several when it is too wide or its parts get in each other's way."""
    if len(pieces) == 1 and not blocks:
        return [island(pieces[0])]
    placer = Placer(pieces, blocks, content)
    figure = draw(placer)
    blame = _blame(figure, pieces, blocks)
    if blame and len(pieces) + len(blocks) == 1:
        return [_block_of_flags(blocks[0], content)]
    if blame:
        alone = max(sorted(blame), key=lambda key: (blame[key], not any(block.key == key for block in blocks)))
        out: Side = ([p for p in pieces if p.key == alone], [b for b in blocks if b.key == alone])
        rest: Side = ([p for p in pieces if p.key != alone], [b for b in blocks if b.key != alone])
        return _both(rest, out, content, widest)
    x0, _, x1, _ = figure.extent()
    if x1 - x0 <= widest or len(placer.columns) < 2:
        return [figure]
    sides = _halves(placer)
    return _both(*sides, content, widest) if sides else [figure]


def _both(left: Side, right: Side, content: StagePieces, widest: float) -> list[Figure]:
    shared = _shared(left, right) - content.up - content.down
    flagged = replace(content, outside=content.outside | shared, entering=content.entering | shared)
    figures = []
    for pieces, blocks in (left, right):
        side = replace(flagged, pieces=tuple(pieces), blocks=tuple(blocks))
        for group in hanging_together(side):
            figures += figures_of(*group, side, widest)
    return figures


def _shared(left: Side, right: Side) -> frozenset[str]:
    one, other = (
        {j for p in pieces for j in p.ends} | {j for b in blocks for j in b.joints.values()}
        for pieces, blocks in (left, right)
    )
    return frozenset(one & other)


def _halves(placer: Placer) -> tuple[Side, Side] | None:
    """Return a group cut between two columns near its middle, where few joints are parted."""
    middle = (placer.columns[0].x + placer.columns[-1].x) / 2.0
    cuts = [(k, _cut(placer, k)) for k in range(1, len(placer.columns))]
    cuts = [(k, sides) for k, sides in cuts if all(any(side) for side in sides)]
    if not cuts:
        return None
    return min(cuts, key=lambda c: abs(placer.columns[c[0]].x - middle) + 10.0 * len(_shared(*c[1])))[1]


def _cut(placer: Placer, at: int) -> tuple[Side, Side]:
    """Return what lies left and right of a column; a part across it stays left."""
    place = {column.name: k for k, column in enumerate(placer.columns)}
    left: Side = ([], [])
    right: Side = ([], [])
    for block in placer.blocks:
        (left if place[block.key] < at else right)[1].append(block)
    for piece in placer.pieces:
        ends = [place[placer.homes[j].column.name] for j in piece.ends if j in placer.homes]
        (left if min(ends) < at else right)[0].append(piece)
    return left, right


def _blame(figure: Figure, pieces: Sequence[Piece], blocks: Sequence[Block]) -> Counter[str]:
    """Return how often each part has to do with something lying on something else."""
    joints: list[str] = []
    owners: list[str] = []
    for index, one in enumerate(figure.marks):
        for other in figure.marks[index + 1 :]:
            if boxes_meet(one.bounds, other.bounds):
                for mark in (one, other):
                    (joints if mark.kind in ("flag", "sign") else owners).append(mark.owner)
        crossing = [wire.joint for wire in figure.wires if wire_meets(one.bounds, wire)]
        joints += crossing
        if crossing:
            (joints if one.kind in ("flag", "sign") else owners).append(one.owner)
    for index, wire in enumerate(figure.wires):
        for second in figure.wires[index + 1 :]:
            if wire.joint != second.joint and wires_touch(wire, second):
                joints += [wire.joint, second.joint]
    blame = Counter(owners)
    for joint in joints:
        blame.update(p.key for p in pieces if joint in p.ends)
        blame.update(b.key for b in blocks if joint in b.joints.values())
    return blame


def _block_of_flags(block: Block, content: StagePieces) -> Figure:
    """Return a block as a plain box, each terminal by name with the flag of its joint."""
    symbol = rows_of_flags(tuple(block.joints))
    return draw(Placer([], [replace(block, symbol=symbol)], content))


def island(piece: Piece) -> Figure:
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
    figure.words(
        piece.key, lines, (0.0, -half_height_mm(piece.kind) - 1.4 - LINE_STEP * (len(lines) - 1)), anchor="middle"
    )
    return figure
