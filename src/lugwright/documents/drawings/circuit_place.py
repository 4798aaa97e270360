"""Placing a group of a stage: joints are upright bars in columns, series parts lie between them, the rest hang off.

Rows: 0 is the height of the grids, negative ones lie above the tubes, positive ones below.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from lugwright.documents.drawings.circuit_figure import flag_width_mm, words_width_mm
from lugwright.documents.drawings.circuit_order import column_order, is_tube
from lugwright.documents.drawings.circuit_pieces import SIGNS, Block, Piece, StagePieces
from lugwright.documents.drawings.circuit_symbols import Port, half_height_mm

PART = 10.0
GAP = 15.0  # between bars with a part between them
ROW_1, ROW_STEP = 12.5, 10.0
MAX_ROWS = 60


@dataclass(eq=False)
class Twig:
    """What stands on a bar: a part to a rail, or only the flag of the joint itself."""

    piece: Piece | None
    rail: str
    turned: bool
    left: float
    right: float
    x: float = 0.0


@dataclass(eq=False)
class Bar:
    """An upright wire of a joint. ``way``: P for both ways, N only up from its port, S only down."""

    joint: str
    way: str
    dx: float
    port_y: float
    column: Column
    ups: list[Twig] = field(default_factory=list)
    downs: list[Twig] = field(default_factory=list)
    ys: list[float] = field(default_factory=list)

    @property
    def x(self) -> float:
        """Return where the bar stands."""
        return self.column.x + self.dx


@dataclass(eq=False)
class Column:
    """A joint of its own, or a block with the bars at its ports."""

    name: str
    block: Block | None = None
    bars: list[Bar] = field(default_factory=list)
    x: float = 0.0
    left: float = 0.0  # what it takes at the height of the rows
    right: float = 0.0
    label_left: bool = False


@dataclass(eq=False)
class Edge:
    """A lying part, a wire, or a flag (``b`` None) that needs a row."""

    piece: Piece | None
    a: Bar
    b: Bar | None
    flag_way: str = ""
    row_y: float = 0.0

    def span(self) -> tuple[float, float]:
        """Return from where to where it lies."""
        if self.b is None:
            far = self.a.x + (1.0 if self.flag_way == "E" else -1.0) * (flag_width_mm(self.a.joint) + 2.5)
            return min(self.a.x, far), max(self.a.x, far)
        return min(self.a.x, self.b.x), max(self.a.x, self.b.x)


def row_y_mm(row: int) -> float:
    """Return the height of a row.

    Parameters
    ----------
    row : int
        0 at the grids, negative above. [-]

    Returns
    -------
    float
        Height, downward. [mm]

    Source
    ------
    The grid of these drawings.
    """
    return 0.0 if row == 0 else (1 if row > 0 else -1) * (ROW_1 + ROW_STEP * (abs(row) - 1))


class Placer:
    """Lays out one group; `figure` draws it."""

    def __init__(self, pieces: Sequence[Piece], blocks: Sequence[Block], stage: StagePieces) -> None:
        """Take a group of a stage."""
        self.pieces, self.blocks, self.stage = list(pieces), list(blocks), stage
        self.rails = stage.up | stage.down
        self.columns: list[Column] = []
        self.homes: dict[str, Bar] = {}
        self.edges: list[Edge] = []
        self.port_signs: list[tuple[str, float, float, Column]] = []
        self.port_flags: list[tuple[str, Port, Column]] = []
        self._make_columns()
        self._hang_parts()
        self._flag_outside()
        self._set_x()
        self._set_rows()

    def _make_columns(self) -> None:
        order = column_order(self.pieces, self.blocks, self.stage)
        plain = self._plain_joints()
        names = [f"joint {j}" for j in plain] + [b.key for b in self.blocks]
        by_key = {b.key: b for b in self.blocks}
        for name in sorted(names, key=lambda n: (order.get(n, 500.0), names.index(n))):
            column = Column(name, by_key.get(name))
            self.columns.append(column)
            if column.block is None:
                joint = name.removeprefix("joint ")
                bar = Bar(joint, "P", 0.0, 0.0, column)
                column.bars.append(bar)
                self.homes[joint] = bar
        for column in self.columns:
            if column.block is not None:
                self._add_ports(column, column.block)

    def _plain_joints(self) -> list[str]:
        """Return the joints that need a column of their own."""
        ways: dict[str, set[str]] = {}
        for block in self.blocks:
            for port in block.symbol.ports:
                joint = block.joints.get(port.terminal, "")
                if joint and joint not in self.rails and port.way != "F":
                    ways.setdefault(joint, set()).add(port.way)
        joints = [j for p in self.pieces for j in p.ends if j not in self.rails]
        joints += list(ways)
        plain = [j for j in dict.fromkeys(joints) if ways.get(j, set()) not in ({"N"}, {"S"})]
        for piece in self.pieces:
            a, b = piece.ends
            if ways.get(a) == {"N"} and ways.get(b) == {"S"} and b not in plain and a not in plain:
                plain.append(b)
            if ways.get(a) == {"S"} and ways.get(b) == {"N"} and a not in plain and b not in plain:
                plain.append(a)
        return plain

    def _add_ports(self, column: Column, block: Block) -> None:
        x0, _, x1, _ = block.symbol.bounds
        column.left, column.right = -x0, x1
        for port in block.symbol.ports:
            joint = block.joints.get(port.terminal)
            if not joint:
                continue
            column.left, column.right = max(column.left, -port.x), max(column.right, port.x)
            if port.way == "F" or (joint in self.rails and joint not in SIGNS and port.way in "WE"):
                self._port_flag(joint, port, column)
            elif joint in SIGNS and port.way in "WES":
                self.port_signs.append((joint, port.x, port.y, column))
            else:
                self._port_bar(joint, port, column)
        side = label_side(block)
        wide = words_width_mm(block.words)
        if side == "E":
            column.right = max(column.right, label_start(block) + wide)
        elif side == "W":
            column.left = max(column.left, 0.7 - x0 + wide)
        elif side == "NW":
            column.left = max(column.left, wide + 1.2 if is_tube(block) else wide - 3.8)

    def _port_flag(self, joint: str, port: Port, column: Column) -> None:
        if joint in SIGNS:
            self.port_signs.append((joint, port.x + 2.0, port.y, column))
            column.right = max(column.right, port.x + 4.0)
            return
        self.port_flags.append((joint, port, column))
        if port.way == "W":
            column.left = max(column.left, -port.x + flag_width_mm(joint))
        else:
            column.right = max(column.right, port.x + flag_width_mm(joint))

    def _port_bar(self, joint: str, port: Port, column: Column) -> None:
        way = port.way if port.way in "NS" else "P"
        bar = Bar(joint, way, port.x, port.y, column)
        bar.ys.append(port.y)
        column.bars.append(bar)
        if joint in self.rails:
            down = port.way == "S" or (joint in self.stage.down and way == "P")
            (bar.downs if down else bar.ups).append(_flag_twig(joint, sign=down and joint in SIGNS))
            return
        home = self.homes.setdefault(joint, bar)
        if home is not bar:
            self.edges.append(Edge(None, home, bar))

    def _hang_parts(self) -> None:
        for piece in self.pieces:
            a, b = piece.ends
            if a in self.rails or b in self.rails:
                joint, rail = (b, a) if a in self.rails else (a, b)
                bar = self.homes[joint]
                up = bar.way == "N" if bar.way != "P" else rail in self.stage.up
                half = half_height_mm(piece.kind)
                wide = 0.0 if rail in SIGNS and not up else flag_width_mm(rail) / 2.0
                twig = Twig(piece, rail, (piece.ends[0] == rail) != up, max(half, wide, 1.75) + 0.5,
                            max(half + 0.8 + words_width_mm(piece.words), wide, 1.75) + 0.7)  # fmt: skip
                (bar.ups if up else bar.downs).append(twig)
            else:
                self.edges.append(Edge(piece, self.homes[a], self.homes[b]))

    def _flag_outside(self) -> None:
        for joint, bar in self.homes.items():
            if joint not in self.stage.outside:
                continue
            if bar.way != "P":
                (bar.ups if bar.way == "N" else bar.downs).append(_flag_twig(joint))
                continue
            place = self.columns.index(bar.column)
            others = [self.columns.index((e.b if e.a is bar else e.a).column) for e in self.edges
                      if e.b is not None and bar in (e.a, e.b)]  # fmt: skip
            if all(k > place for k in others):
                self.edges.append(Edge(None, bar, None, "W"))
                bar.column.left = flag_width_mm(joint) + 2.5
            elif all(k < place for k in others):
                self.edges.append(Edge(None, bar, None, "E"))
                bar.column.right = flag_width_mm(joint) + 2.5
            else:
                bar.ups.append(_flag_twig(joint))

    def _set_x(self) -> None:
        for index, column in enumerate(self.columns):
            slots = {side: _twig_slots(column, side) for side in ("ups", "downs")}
            x = 0.0
            if index:
                before = self.columns[index - 1]
                x = before.x + before.right + column.left + 2.5
                for edge in self.edges:
                    if edge.piece is not None and edge.b is not None:
                        late = max((edge.a, edge.b), key=lambda bar: self.columns.index(bar.column))
                        if late.column is column:
                            wide = max(GAP, words_width_mm(edge.piece.words) + 3.0)
                            x = max(x, before.x + before.right + wide + max(column.left, -late.dx))
            for side, (left, _) in slots.items():
                reach = max(
                    (c.x + _twig_slots(c, side)[1] for c in self.columns[:index] if _has_twigs(c, side)), default=-1e9
                )
                if _has_twigs(column, side):
                    x = max(x, reach + left)
            column.x = -(-x // 2.5) * 2.5
        for column in self.columns:
            for bar in column.bars:
                for twig in (*bar.ups, *bar.downs):
                    twig.x += column.x

    def _set_rows(self) -> None:
        taken: list[tuple[float, float, float]] = []
        for edge in sorted(self.edges, key=lambda e: (e.span()[1] - e.span()[0], self.edges.index(e))):
            options = sorted(range(-MAX_ROWS, MAX_ROWS + 1), key=lambda r: (abs(r), r))
            for row in options:
                if self._free(edge, row_y_mm(row), taken):
                    edge.row_y = row_y_mm(row)
                    break
            taken.append((edge.row_y, *edge.span()))
            for bar in (edge.a, edge.b):
                if bar is not None:
                    bar.ys.append(edge.row_y)

    def _free(self, edge: Edge, y: float, taken: list[tuple[float, float, float]]) -> bool:
        for bar in (edge.a, edge.b):
            if bar is not None and (
                (bar.way == "N" and y > bar.port_y - 2.0) or (bar.way == "S" and y < bar.port_y + 2.0)
            ):
                return False
        low, high = edge.span()
        if any(abs(y - ty) < 1e-6 and low < thigh + 1.0 and tlow - 1.0 < high for ty, tlow, thigh in taken):
            joints = {b.joint for b in (edge.a, edge.b) if b is not None}
            shared = [
                (ty, tl, th) for ty, tl, th in taken if abs(y - ty) < 1e-6 and low < th - 1e-6 and tl + 1e-6 < high
            ]
            touching = [
                t for t in taken if abs(y - t[0]) < 1e-6 and t not in shared and low < t[2] + 1.0 and t[1] - 1.0 < high
            ]
            if shared or not all(self._meets(t, joints) for t in touching):
                return False
        return not any(self._blocked(column, edge, y, low, high) for column in self.columns)

    def _meets(self, taken: tuple[float, float, float], joints: set[str]) -> bool:
        """Return whether what ends here in the same row belongs to one of these joints."""
        ends = [b for e in self.edges if (e.row_y, *e.span()) == taken for b in (e.a, e.b) if b is not None]
        return any(bar.joint in joints for bar in ends)

    def _blocked(self, column: Column, edge: Edge, y: float, low: float, high: float) -> bool:
        if column.block is None:
            return False
        x0, y0, x1, y1 = column.block.symbol.bounds
        top, bottom = min(y0, -5.0) - 2.0, max(y1, 5.0) + 2.0
        mine = [bar.x for bar in (edge.a, edge.b) if bar is not None and bar.column is column]
        left, right = column.x + min(x0, -column.left), column.x + max(x1, column.right)
        if not top < y < bottom or high <= left or low >= right:
            return False
        if not mine:
            return True
        port = mine[0]
        inner = (
            (low + high) / 2.0 < column.x and port <= column.x + x0,
            (low + high) / 2.0 > column.x and port >= column.x + x1,
        )
        return not any(inner)


def _has_twigs(column: Column, side: str) -> bool:
    return any(getattr(bar, side) for bar in column.bars)


def _flag_twig(joint: str, *, sign: bool = False) -> Twig:
    half = 1.75 if sign else flag_width_mm(joint) / 2.0
    return Twig(None, joint, False, half + 0.5, half + 0.7)


def _twig_slots(column: Column, side: str) -> tuple[float, float]:
    """Set the places of a column's twigs within it; return how far they reach left and right."""
    reach, least = -1e9, 0.0
    for bar in sorted(column.bars, key=lambda b: b.dx):
        for twig in getattr(bar, side):
            x = bar.dx if bar.dx - twig.left >= reach else -(-(reach + twig.left) // 1.25) * 1.25
            away = "S" if side == "ups" else "N"
            others = [other.dx for other in column.bars if other is not bar and other.way != away]
            while x != bar.dx and any(abs(dx - x) < 1.2 for dx in others):
                x += 1.25
            twig.x = x
            least = min(least, x - twig.left)
            reach = x + twig.right
    return -least, max(reach, 0.0)


def label_side(block: Block) -> str:
    """Return where the words of a block stand: E, W, NW over it to the left, S below it."""
    if any(port.way == "F" for port in block.symbol.ports):
        return "S"
    if "tip" in block.joints:
        return "W" if block.source else "E"
    if "line" in block.joints or "suppressor" in block.joints:
        return "NW"
    return "W" if "2" in block.joints else "E"


def label_start(block: Block) -> float:
    """Return how far right of a block's middle the words on its right begin."""
    x1 = block.symbol.bounds[2]
    if is_tube(block):
        return x1 + 0.4
    reach = max(port.x for port in block.symbol.ports)
    return reach + 2.5 if reach > x1 else x1 + 0.7
