"""Many wirings of one compiled circuit side by side: where every end stands, every value, what differs from the base.

Rows of joints are those of the system, then a few rows for joints that a wiring makes, then ground. Ends are in the
order of the system's current scatter: both ends of every branch, tube electrodes, diodes, current sources; behind
them the bridges.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from functools import cached_property, lru_cache
from weakref import WeakKeyDictionary

import numpy as np

from lugwright.circuit.edits import SetValue
from lugwright.circuit.rewiring import Bridge, Rewiring, rewired
from lugwright.solve.rewired_layout import Layout, Sketch, laid_out
from lugwright.solve.rewired_ports import Ports
from lugwright.solve.system import TIE_S, Array, Index, System

ALTERNATING_LEAK_S = 1e-8  # the least that holds such a joint where volts alternate
LEAK_S = 1e-10  # from every joint that a wiring makes to ground: as strips leak, and enough to keep noise apart


@dataclass
class _Draft:
    """What one rewiring says, in rows."""

    names: dict[str, int]
    moved: dict[int, int]  # place among the ends -> row
    branches: set[int]  # that stand otherwise or have another value
    groups: set[int]  # of coils with another value
    bridges: list[tuple[int, int, float]]
    held: dict[int, float] = field(default_factory=dict)  # row -> siemens to ground that only this wiring has


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
        self._places = _places(system)
        self._owned = _owned_branches(system)
        drafts = [self._draft(rewiring) for rewiring in self.rewirings]
        self.new = max((len(d.names) for d in drafts), default=0)
        self.ground = system.size + self.new
        self.names = [d.names for d in drafts]
        self._drafts = drafts
        self._place_ends()
        self._collect_values()
        self._hold_islands()
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
        return {joint: self._settled(row) for joint, row in self.system.row.items()}

    def _draft(self, rewiring: Rewiring) -> _Draft:
        system = self.system
        draft = _Draft({}, {}, set(), set(), [])

        def row(joint: str) -> int:
            known = system.row.get(joint)
            return known if known is not None else -1 - draft.names.setdefault(joint, len(draft.names))

        for moved in rewiring.moved:
            places = self._places.get((moved.element, moved.end))
            if places is None:
                rewired(system.circuit, rewiring)  # says what does not fit
                continue
            for place in places:
                draft.moved[place] = row(moved.to)
        count = len(system.branch_a)
        draft.branches.update(place % count for place in draft.moved if place < 2 * count)
        for change in rewiring.changes:
            if (change.element, change.field) not in system.value_row:
                system.values([rewiring.edit])  # says what does not fit
            if change.field != "on":
                branches, group = self._owned.get(change.element, ((), -1))
                draft.branches.update(branches)
                if group >= 0:
                    draft.groups.add(group)
        draft.bridges = [(row(b.a), row(b.b), b.ohm) for b in rewiring.bridges]
        return draft

    def _place_ends(self) -> None:
        system = self.system
        base = np.concatenate([
            system.branch_a, system.branch_b, *system.triode_rows, *system.pentode_rows, system.port_a, system.port_b,
            system.current_a, system.current_b,
        ]).astype(np.intp)  # fmt: skip
        self.base_ends = np.where(base == system.size, self.ground, base)
        self.ends = np.repeat(self.base_ends[:, None], self.count, axis=1)
        self.spare = max((len(d.bridges) for d in self._drafts), default=0)
        self.bridge_ends = np.full((2, self.spare, self.count), self.ground, dtype=np.intp)
        self.bridge_s = np.zeros((self.spare, self.count))
        self.to_ground_s = np.zeros((self.ground + 1, self.count))
        for column, draft in enumerate(self._drafts):
            draft.names = {name: system.size + k for name, k in draft.names.items()}
            self.names[column] = draft.names
            draft.moved = {place: self._settled(row) for place, row in draft.moved.items()}
            for place, row in draft.moved.items():
                self.ends[place, column] = row
            draft.bridges = [(self._settled(a), self._settled(b), ohm) for a, b, ohm in draft.bridges]
            for k, (a, b, ohm) in enumerate(draft.bridges):
                self.bridge_ends[:, k, column] = a, b
                self.bridge_s[k, column] = 1.0 / ohm

    def _settled(self, row: int) -> int:
        """Return the row of a joint as drafted: new ones count down from -1, ground is that of the system."""
        if row < 0:
            return self.system.size - 1 - row
        return self.ground if row == self.system.size else row

    def _collect_values(self) -> None:
        where, columns, numbers, sets = [], [], [], []
        for column, rewiring in enumerate(self.rewirings):
            for change in rewiring.changes:
                where.append(self.system.value_row[change.element, change.field])
                columns.append(column)
                sets.append(isinstance(change, SetValue))
                numbers.append(change.value if isinstance(change, SetValue) else change.factor)
        self._changes = list(zip(where, columns, numbers, sets, strict=True))

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

    def leaks(self, column: int) -> tuple[Bridge, ...]:
        """Return what leads from joints to ground in a column so that each has a level, ties left out."""
        names = {row: name for name, row in self.names[column].items()}
        held = self._drafts[column].held.items()
        joints = [names[row] if row in names else self.system.joints[row] for row, s in held if s == self.leak_s]
        return tuple(Bridge(joint, self.system.circuit.ground, 1.0 / self.leak_s) for joint in joints)

    def changed_diodes(self, diodes: Index) -> list[int]:
        """Return the columns in which one of some diodes stands otherwise or has another value."""
        names = {self.system.diodes[int(d)].name for d in diodes}
        return [
            column
            for column, r in enumerate(self.rewirings)
            if any(m.element in names for m in r.moved) or any(c.element in names for c in r.changes)
        ]

    # ---- islands -----------------------------------------------------------------------------

    @cached_property
    def _near(self) -> list[list[tuple[int, int]]]:
        """Return the rows that each row is joined to in the base, and the branch that does it."""
        n = len(self.system.branch_a)
        near: list[list[tuple[int, int]]] = [[] for _ in range(self.ground + 1)]
        for branch, (a, b) in enumerate(
            zip(self.base_ends[:n].tolist(), self.base_ends[n : 2 * n].tolist(), strict=True)
        ):
            near[a].append((b, branch))
            near[b].append((a, branch))
        return near

    @cached_property
    def _tubes(self) -> list[tuple[int, ...]]:
        """Return the electrodes of each tube, as places among the ends."""
        first, found = 2 * len(self.system.branch_a), []
        for tubes, electrodes in ((len(self.system.triodes), 3), (len(self.system.pentodes), 4)):
            found += [tuple(first + e * tubes + k for e in range(electrodes)) for k in range(tubes)]
            first += electrodes * tubes
        return found

    def _hold_islands(self) -> None:
        """Give one joint of each island a path to ground: a leak where a tube joins it to others, or else a tie."""
        for column, draft in enumerate(self._drafts):
            for row in draft.names.values():
                self.to_ground_s[row, column] = self.leak_s
            if draft.moved:
                for island in self._islands(draft):
                    groups = [{int(self.ends[place, column]) for place in tube} for tube in self._tubes]
                    joined = any(group & island and group - island for group in groups)
                    self.to_ground_s[min(island), column] = self.leak_s if joined else TIE_S
            held = np.flatnonzero(self.to_ground_s[:, column]).tolist()
            draft.held = {row: float(self.to_ground_s[row, column]) for row in held}
        for joint in self.system.floating:
            self.to_ground_s[self.system.row[joint]] += TIE_S

    def _islands(self, draft: _Draft) -> Iterable[set[int]]:
        """Yield the rows of each island that no branch joins to ground."""
        n = len(self.system.branch_a)
        gone = draft.branches
        extra: dict[int, set[int]] = {}
        joined = [{draft.moved.get(p, int(self.base_ends[p])) for p in (k, n + k)} for k in gone]
        for group in (*joined, *({a, b} for a, b, _ in draft.bridges)):
            for row in group:
                extra.setdefault(row, set()).update(group)
        held = {self.ground, *draft.names.values()}  # new joints have their leak
        for start in {int(self.base_ends[p]) for k in gone for p in (k, n + k)}:
            if start in held:
                continue
            island, waiting, free = {start}, [start], True
            while waiting and free:
                row = waiting.pop()
                beside = {other for other, branch in self._near[row] if branch not in gone} | extra.get(row, set())
                free = not beside & held
                beside -= island
                island |= beside
                waiting += beside
            held |= island
            if free:
                yield island

    # ---- the matrix --------------------------------------------------------------------------

    def layouts(self, *, coupled: bool, held: tuple[int, ...] = ()) -> tuple[Layout, ...]:
        """Return where every column differs from the base, columns that touch about as many joints together.

        Without ``coupled`` a coil is its own resistance only. ``held`` are joints that the base inverse holds.
        """
        if (coupled, held) not in self._layouts:
            drawn = _DRAWN.setdefault(self.system, {}).setdefault((self.ground, self.leak_s, self.tie_s), {})
            sketches = []
            for column, r in enumerate(self.rewirings):
                key = (r.changes, r.moved, r.bridges, coupled, held)
                if key not in drawn:
                    drawn[key] = self._sketch(column, held, coupled=coupled)
                sketches.append(drawn[key].of(column))
            self._layouts[coupled, held] = laid_out(sketches, self.ground)
        return self._layouts[coupled, held]

    def _sketch(self, column: int, held: tuple[int, ...], *, coupled: bool) -> Sketch:
        """Return what a column stamps anew, its bridges among it, and what holds joints that hardly anything holds."""
        draft, n = self._drafts[column], len(self.system.branch_a)
        sketch = Sketch(column)
        for pair, p, q in self._pairs(draft, coupled=coupled):
            places = (p, p + n, q, q + n)
            old, new = ([int(e) for e in ends[list(places)]] for ends in (self.base_ends, self.ends[:, column]))
            sketch.restamp(pair, old, new)
        for a, b, ohm in draft.bridges:
            sketch.bridge(a, b, 1.0 / ohm)
        least = ALTERNATING_LEAK_S if coupled else 0.0
        for row, siemens in draft.held.items():
            if row not in held:
                sketch.hold(row, max(siemens, least), in_base=row >= self.system.size)
        for row in held:
            sketch.hold(row, max(draft.held.get(row, 0.0) + self.tie_s, least), in_base=True)
        return sketch

    @cached_property
    def _pair_of(self) -> dict[tuple[int, int], int]:
        pairs = zip(self.system.couple_i.tolist(), self.system.couple_j.tolist(), strict=True)
        return {pair: k for k, pair in enumerate(pairs)}

    def _pairs(self, draft: _Draft, *, coupled: bool) -> list[tuple[int, int, int]]:
        """Return the coupled pairs of branches that stand otherwise or have another admittance."""
        found = {(b, b) for b in draft.branches}
        if coupled:
            for group in self.system.groups:
                coils = group.branches.tolist()
                if group.magnetizing in draft.groups or not draft.branches.isdisjoint(coils):
                    found.update((p, q) for p in coils for q in coils)
        return [(self._pair_of[p, q], p, q) for p, q in sorted(found)]


# What wirings of a system stamp: in the steps of one power-up most of them are the same.
_DRAWN: WeakKeyDictionary[System, dict[tuple[object, ...], dict[tuple[object, ...], Sketch]]] = WeakKeyDictionary()

TRIODE, PENTODE = ("plate", "grid", "cathode"), ("plate", "screen", "grid", "cathode")


@lru_cache(maxsize=4)
def compiled(
    system: System, rewirings: tuple[Rewiring, ...], leak_s: float = LEAK_S, tie_s: float = 0.0
) -> RewiredColumns:
    """Return the wirings in the rows of a system; the steps of one power-up share them."""
    return RewiredColumns(system, rewirings, leak_s, tie_s)


def _places(system: System) -> dict[tuple[str, str], tuple[int, ...]]:
    """Return where each element's (or coil's) end stands among the ends; a diode's leak goes with it."""
    n = len(system.branch_a)
    places: dict[tuple[str, str], tuple[int, ...]] = {}
    for name, row in system.branch_row.items():
        places[name, "a"], places[name, "b"] = (row,), (n + row,)
    first = 2 * n
    triodes, pentodes = ([tube.name for tube in tubes] for tubes in (system.triodes, system.pentodes))
    for names, electrodes in ((triodes, TRIODE), (pentodes, PENTODE)):
        for electrode in electrodes:
            places |= {(name, electrode): (first + k,) for k, name in enumerate(names)}
            first += len(names)
    d, leaks = len(system.diodes), n - len(system.diodes)
    for k, diode in enumerate(system.diodes):
        del places[diode.name, "a"], places[diode.name, "b"]
        places[diode.name, "anode"] = (leaks + k, first + k)
        places[diode.name, "cathode"] = (n + leaks + k, first + d + k)
    first += 2 * d
    for k, source in enumerate(system.current_sources):
        places[source.name, "a"], places[source.name, "b"] = (first + k,), (first + len(system.current_sources) + k,)
    return places


def _owned_branches(system: System) -> dict[str, tuple[tuple[int, ...], int]]:
    """Return the branches whose admittance each owner of values sets, and the core it belongs to (else -1)."""
    owned: dict[str, tuple[tuple[int, ...], int]] = {name: ((row,), -1) for name, row in system.branch_row.items()}
    for group in system.groups:
        owned[group.name] = (tuple(group.branches.tolist()), group.magnetizing)
    return owned
