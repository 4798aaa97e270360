"""Drawing a placed group of a stage: symbols, wires, dots, signs and flags."""

from __future__ import annotations

import math

from lugwright.documents.drawings.circuit_figure import LINE_STEP, End, Figure, words_width_mm
from lugwright.documents.drawings.circuit_order import is_tube
from lugwright.documents.drawings.circuit_pieces import SIGNS, Block
from lugwright.documents.drawings.circuit_place import GAP, PART, Column, Edge, Placer, Twig, label_side, label_start
from lugwright.documents.drawings.circuit_symbols import half_height_mm


def draw(placer: Placer) -> Figure:
    """Return the figure of a placed group."""
    figure = Figure()
    for column in placer.columns:
        if column.block is not None:
            _draw_block(figure, column, column.block)
    for edge in placer.edges:
        _draw_edge(figure, edge)
    for joint, dx, y, column in placer.port_signs:
        _port_sign(figure, joint, dx, y, column)
    for joint, port, column in placer.port_flags:
        figure.flag(joint, (column.x + port.x, port.y), "W" if port.way == "W" else "E")
    heights = [edge.row_y for edge in placer.edges]
    tops = [c.block.symbol.bounds[1] - 2.5 for c in placer.columns if c.block] + [y - 5.5 for y in heights] + [-7.5]
    bottoms = [c.block.symbol.bounds[3] + 2.5 for c in placer.columns if c.block] + [y + 2.5 for y in heights] + [5.0]
    labels = [mark.bounds for mark in figure.marks]
    top, bottom = min(*tops, *(b[1] - 1.0 for b in labels), 0.0), max(*bottoms, *(b[3] + 1.0 for b in labels), 0.0)
    top, bottom = math.floor(top / 1.25) * 1.25, math.ceil(bottom / 1.25) * 1.25
    for column in placer.columns:
        _draw_twigs(figure, column, "ups", top, -1.0)
        _draw_twigs(figure, column, "downs", bottom, 1.0)
        for bar in column.bars:
            if len(set(bar.ys)) > 1:
                figure.wire(bar.joint, (bar.x, min(bar.ys)), (bar.x, max(bar.ys)))
    _dots(figure)
    return figure


def _draw_block(figure: Figure, column: Column, block: Block) -> None:
    figure.symbol(block.key, block.symbol.shapes, (column.x, 0.0), block.symbol.bounds)
    figure.numbers += [(column.x + x, y) for x, y in block.symbol.numbers]
    for port in block.symbol.ports:
        if block.joints.get(port.terminal):
            figure.ends.append(End(block.key, block.joints[port.terminal], (column.x + port.x, port.y)))
    x0, y0, _, y1 = block.symbol.bounds
    lines, side = block.words, label_side(block)
    over = y0 - 1.2 - LINE_STEP * (len(lines) - 1)
    beside = -LINE_STEP * (len(lines) - 1) / 2.0
    if side == "NW":
        figure.words(block.key, lines, (column.x + (-1.2 if is_tube(block) else 3.8), over), anchor="end")
    elif side == "S":
        signs = any(
            p.way == "F" and block.joints.get(p.terminal) in SIGNS and p.y > y1 - 3.0 for p in block.symbol.ports
        )
        figure.words(block.key, lines, (column.x - 3.5, y1 + (4.0 if signs else 2.0)))
    elif side == "W":
        figure.words(block.key, lines, (column.x + x0 - 0.7, beside), anchor="end")
    else:
        figure.words(block.key, lines, (column.x + label_start(block), 3.7 if is_tube(block) else beside))


def _port_sign(figure: Figure, joint: str, dx: float, y: float, column: Column) -> None:
    x = column.x + dx
    if column.block is not None and any(p.way == "F" and abs(p.x + 2.0 - dx) < 1e-6 for p in column.block.symbol.ports):
        figure.wire(joint, (x - 2.0, y), (x, y))
    figure.sign(joint, (x, y))


def _draw_edge(figure: Figure, edge: Edge) -> None:
    y = edge.row_y
    if edge.b is None:
        low, high = edge.span()
        if edge.flag_way == "E":
            figure.wire(edge.a.joint, (low, y), (low + 2.5, y))
            figure.flag(edge.a.joint, (low + 2.5, y), "E")
        else:
            figure.wire(edge.a.joint, (high - 2.5, y), (high, y))
            figure.flag(edge.a.joint, (high - 2.5, y), "W")
        return
    left, right = sorted((edge.a, edge.b), key=lambda bar: bar.x)
    if edge.piece is None:
        figure.wire(left.joint, (left.x, y), (right.x, y))
        return
    wide = max(GAP, words_width_mm(edge.piece.words) + 3.0)
    x = max(left.x + PART / 2.0, right.column.x - max(right.column.left, -right.dx) - wide / 2.0)
    figure.wire(left.joint, (left.x, y), (x - PART / 2.0, y))
    figure.wire(right.joint, (x + PART / 2.0, y), (right.x, y))
    figure.lying(edge.piece.key, edge.piece.kind, (x, y), edge.piece.ends, turned=edge.piece.ends[0] != left.joint)
    above, lines = half_height_mm(edge.piece.kind) + 1.4, edge.piece.words
    figure.words(edge.piece.key, lines, (x, y - above - LINE_STEP * (len(lines) - 1)), anchor="middle")


def _draw_twigs(figure: Figure, column: Column, side: str, edge_y: float, sign: float) -> None:
    bars = [bar for bar in sorted(column.bars, key=lambda b: b.dx) if getattr(bar, side)]
    away = [bar for bar in bars if any(t.x != bar.x for t in getattr(bar, side))]
    start = edge_y + sign * 2.5 * max(0, len(away))
    for bar in bars:
        track = edge_y + sign * 2.5 * (away.index(bar) if bar in away else 0)
        for twig in getattr(bar, side):
            if twig.x != bar.x:
                figure.wire(bar.joint, (bar.x, track), (twig.x, track), (twig.x, start))
                bar.ys.append(track)
            else:
                bar.ys.append(start)
            _draw_twig(figure, bar.joint, twig, start, sign)


def _draw_twig(figure: Figure, joint: str, twig: Twig, start: float, sign: float) -> None:
    end = start
    if twig.piece is not None:
        end = start + sign * PART
        middle = (twig.x, (start + end) / 2.0)
        figure.standing(twig.piece.key, twig.piece.kind, middle, twig.piece.ends, turned=twig.turned)
        half, lines = half_height_mm(twig.piece.kind), twig.piece.words
        figure.words(
            twig.piece.key, lines, (twig.x + half + 0.8, (start + end) / 2.0 - LINE_STEP * (len(lines) - 1) / 2.0)
        )
    if twig.rail in SIGNS and sign > 0:
        figure.sign(twig.rail, (twig.x, end))
    else:
        figure.flag(twig.rail, (twig.x, end), "N" if sign < 0 else "S")


def _dots(figure: Figure) -> None:
    """Put a dot where three or more wire ends of one joint meet."""
    ends: dict[tuple[str, float, float], int] = {}
    for wire in figure.wires:
        for x, y in (wire.a, wire.b):
            ends[wire.joint, round(x, 3), round(y, 3)] = ends.get((wire.joint, round(x, 3), round(y, 3)), 0) + 1
    for (joint, x, y), count in sorted(ends.items()):
        through = sum(1 for w in figure.wires if w.joint == joint and _on(w.a, w.b, x, y))
        if count + 2 * through >= 3:
            figure.dot((x, y))


def _on(a: tuple[float, float], b: tuple[float, float], x: float, y: float) -> bool:
    """Return whether a point lies on an upright or lying wire, not at its ends."""
    if abs(a[0] - b[0]) < 1e-3:
        return abs(x - a[0]) < 1e-3 and min(a[1], b[1]) + 1e-2 < y < max(a[1], b[1]) - 1e-2
    return abs(y - a[1]) < 1e-3 and min(a[0], b[0]) + 1e-2 < x < max(a[0], b[0]) - 1e-2
