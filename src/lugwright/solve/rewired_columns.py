"""Many wirings of one compiled circuit side by side: where every end stands, every value, what differs from the base.

Rows of joints are those of the system, then a few rows for joints that a wiring makes, then ground. Ends are in the
order of the system's current scatter: both ends of every branch, tube electrodes, diodes, current sources; behind
them the bridges.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property, lru_cache
from itertools import chain
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from lugwright.circuit.rewiring import Bridge, Rewiring
from lugwright.solve.rewired_drafts import drafts_of, leaks_of
from lugwright.solve.rewired_layout import Layout, laid_out
from lugwright.solve.rewired_ports import Ports
from lugwright.solve.system import TIE_S, Array, Index, System

if TYPE_CHECKING:
    from lugwright.solve.kernel.drops import Stamped

ALTERNATING_LEAK_S = 1e-8  # the least that holds a joint that a wiring makes where volts alternate
LEAK_S = 1e-10  # from every joint that a wiring makes to ground: as strips leak, and enough to keep noise apart


class RewiredColumns:
    """Every rewiring one column, on the joints of one system.

    ``leak_s`` leads from each joint that a wiring makes to ground; ``tie_s`` stays with joints of the base that hardly
    anything holds.
    """

    def __init__(
        self, system: System, rewirings: Sequence[Rewiring], leak_s: float = LEAK_S, tie_s: float = 0.0
    ) -> None:
        self.system, self.rewirings = system, tuple(rewirings)
        self.leak_s, self.tie_s = leak_s, tie_s
        self.count = len(self.rewirings)
        drafts = drafts_of(system)
        read = [drafts.of(system, rewiring) for rewiring in self.rewirings]
        self.new = max((len(d.names) for d in read), default=0)
        self.ground = system.size + self.new
        self._table = drafts.on(system, self.ground, leak_s, tie_s)
        self._drawings = [self._table.of(draft) for draft in read]
        self.base_ends = self._table.base_ends
        self.names = [d.names for d in self._drawings]
        self._place_ends()
        self._changes = [(row, column, number, is_set) for column, d in enumerate(read)
                         for row, number, is_set in d.changes]  # fmt: skip
        self._layouts: dict[tuple[bool, tuple[int, ...]], tuple[Layout, ...]] = {}

    # ---- what stands where -------------------------------------------------------------------

    def row_of(self, column: int, joint: str) -> int:
        """Return the row of a joint in a column; KeyError when there is no such joint."""
        row = self._known.get(joint)
        return self.names[column][joint] if row is None else row

    def rows(self, joints: Sequence[str] | Sequence[Sequence[str]]) -> Index:
        """Return the rows of joints (column, joint): one list for all, or one list for each column."""
        if all(isinstance(joint, str) for joint in joints):
            alike = [j for j in joints if isinstance(j, str)]
            return self.rows_in(range(self.count), [alike] * self.count)
        return self.rows_in(range(self.count), [own for own in joints if not isinstance(own, str)])

    def rows_in(self, columns: Sequence[int], joints: Sequence[Sequence[str]]) -> Index:
        """Return the rows of joints in some columns, one list for each (column, joint); a list is read once."""
        told: dict[int, list[int]] = {}
        rows = np.empty((len(columns), len(joints[0]) if len(joints) else 0), dtype=np.intp)
        for k, (column, own) in enumerate(zip(columns, joints, strict=True)):
            if id(own) not in told:
                told[id(own)] = [self._known.get(joint, -1) for joint in own]
            found = told[id(own)]
            rows[k] = [self.row_of(column, joint) for joint in own] if -1 in found else found
        return rows

    @cached_property
    def _known(self) -> dict[str, int]:
        """Return the rows of the base's joints."""
        return {joint: self._table.settled(row) for joint, row in self.system.row.items()}

    def _place_ends(self) -> None:
        self.ends = np.repeat(self.base_ends[:, None], self.count, axis=1)
        self.spare = max((len(d.bridges) for d in self._drawings), default=0)
        self.bridge_ends = np.full((2, self.spare, self.count), self.ground, dtype=np.intp)
        self.bridge_s = np.zeros((self.spare, self.count))
        self._held_s = np.zeros((self.ground + 1, self.count))
        for column, drawing in enumerate(self._drawings):
            for place, row in drawing.moved.items():
                self.ends[place, column] = row
            for k, (a, b, ohm) in enumerate(drawing.bridges):
                self.bridge_ends[:, k, column] = a, b
                self.bridge_s[k, column] = 1.0 / ohm
            for row, siemens in drawing.held.items():
                self._held_s[row, column] = siemens
        self.to_ground_s = self._held_s.copy()
        for joint in self.system.floating:
            self.to_ground_s[self.system.row[joint]] += TIE_S

    @cached_property
    def ports(self) -> Ports:
        """Return where the tubes and diodes of every column stand."""
        return Ports.of(self.system, self.ends)

    def values(self, base: Array) -> Array:
        """Return every column's values (value, column), from those of the base (value, 1)."""
        table = np.repeat(base, self.count, axis=1)
        for row, column, number, is_set in self._changes:
            table[row, column] = number if is_set else table[row, column] * number
        return table

    def distinct(self, chosen: Index) -> tuple[Index, Index]:
        """Return some of these columns, each with values of its own, and where the values of all of them are found."""
        changed = self._changed[chosen]
        first = np.flatnonzero(~changed)[:1]
        place = np.zeros(len(chosen), dtype=np.intp)
        place[changed] = len(first) + np.arange(int(changed.sum()))
        return np.concatenate([chosen[first], chosen[changed]]), place

    @cached_property
    def _changed(self) -> NDArray[np.bool_]:
        return np.array([bool(r.changes) for r in self.rewirings], dtype=bool)

    def leaks(self, column: int) -> tuple[Bridge, ...]:
        """Return what leads from joints to ground in a column so that each has a level, ties left out."""
        return leaks_of(self._drawings[column], self.system, self.leak_s)

    def changed_diodes(self, diodes: Index) -> NDArray[np.bool_]:
        """Return in which columns one of some diodes stands otherwise or has another value."""
        first = len(self.ports.a) - len(self.system.diodes)
        a, b = (np.where(r == self.system.size, self.ground, r) for r in (self.system.port_a, self.system.port_b))
        otherwise = (self.ports.a[first:] != a[:, None]) | (self.ports.b[first:] != b[:, None])
        changed = np.asarray(otherwise[diodes].any(axis=0))
        names = {self.system.diodes[int(d)].name for d in diodes}
        rows = {row for (element, _), row in self.system.value_row.items() if element in names}
        changed[[column for row, column, _, _ in self._changes if row in rows]] = True
        return changed

    # ---- the matrix --------------------------------------------------------------------------

    def layouts(self, *, coupled: bool, held: tuple[int, ...] = ()) -> tuple[Layout, ...]:
        """Return where every column differs from the base, columns that touch about as many joints together.

        Without ``coupled`` a coil is its own resistance only. ``held`` are joints that the base inverse holds.
        """
        if (coupled, held) not in self._layouts:
            self._layouts[coupled, held] = laid_out(self._stamped(held, coupled=coupled), self.ground)
        return self._layouts[coupled, held]

    def _stamped(self, held: tuple[int, ...], *, coupled: bool) -> Stamped:
        """Return what every column stamps anew, its bridges, and what holds joints that hardly anything holds."""
        from lugwright.solve.kernel.drops import Stamped

        system, n = self.system, len(self.system.branch_a)
        own = [self._table.pairs(d.draft, coupled=coupled) for d in self._drawings]
        counts = np.array([len(pairs) for pairs in own], dtype=np.intp)
        pairs = np.fromiter(chain.from_iterable(own), dtype=np.intp, count=int(counts.sum()))
        both = np.stack([system.couple_i[pairs], system.couple_j[pairs]], axis=1)
        places = np.stack([both, both + n], axis=2).reshape(len(pairs), 4)
        column = np.repeat(np.arange(self.count), counts)
        ends = np.concatenate([self.base_ends[places], self.ends[places, column[:, None]]], axis=1)
        return Stamped(
            _starts(counts), pairs, ends, self._table.strength[both], self.bridge_ends, self.bridge_s,
            *self._holds(held, ALTERNATING_LEAK_S if coupled else 0.0),
        )  # fmt: skip

    @cached_property
    def _own_holds(self) -> tuple[NDArray[np.intp], ...]:
        """Return the rows that columns hold themselves, and which columns."""
        return np.nonzero(self._held_s)

    def _holds(self, held: tuple[int, ...], least_s: float) -> tuple[Index, Index, Array, NDArray[np.bool_]]:
        """Return where each column's holds begin, their rows and siemens, and whether the base holds the row already.

        A column's own come first, then those of the base.
        """
        row, column = self._own_holds
        mine = ~np.isin(row, held)
        row, column = row[mine], column[mine]
        everywhere = np.array(held, dtype=np.intp)
        siemens = np.concatenate([self._held_s[row, column], (self._held_s[everywhere] + self.tie_s).ravel()])
        in_base = np.concatenate([row >= self.system.size, np.ones(len(held) * self.count, dtype=bool)])
        row = np.concatenate([row, np.repeat(everywhere, self.count)])
        column = np.concatenate([column, np.tile(np.arange(self.count), len(held))])
        order = np.argsort(column, kind="stable")
        first = _starts(np.bincount(column, minlength=self.count))
        return first, row[order], np.maximum(siemens, least_s)[order], in_base[order]


def _starts(counts: Index) -> Index:
    """Return where each begins of some that stand one behind the other, and where the last ends."""
    return np.concatenate([[0], np.cumsum(counts)]).astype(np.intp)


@lru_cache(maxsize=4)
def compiled(
    system: System, rewirings: tuple[Rewiring, ...], leak_s: float = LEAK_S, tie_s: float = 0.0
) -> RewiredColumns:
    """Return the wirings in the rows of a system; the steps of one power-up share them."""
    return RewiredColumns(system, rewirings, leak_s, tie_s)
