"""What wirings of one system say in rows, each read and drawn once: the steps of one power-up share most of them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import cached_property
from weakref import WeakKeyDictionary

import numpy as np

from lugwright.circuit.edits import SetValue
from lugwright.circuit.rewiring import Bridge, Moved, Rewiring, rewired
from lugwright.solve.system import TIE_S, Array, Index, System

LOOKED_AT = np.array([0.0, 2j * np.pi * 50.0])  # where capacitors and coils are looked at for how strongly they join


@dataclass(frozen=True, eq=False)
class Draft:
    """What one rewiring says, in rows; new joints count down from -1."""

    names: tuple[str, ...]  # new joints
    moved: dict[int, int]  # place among the ends -> row
    branches: frozenset[int]  # that stand otherwise or have another value
    valued: frozenset[int]  # of these, those with another value
    groups: frozenset[int]  # of coils with another value
    bridges: tuple[tuple[int, int, float], ...]
    changes: tuple[tuple[int, float, bool], ...]  # row of the value, number, whether it is set and not scaled


@dataclass(frozen=True, eq=False)
class Drawing:
    """A draft with its new joints and ground on their rows."""

    draft: Draft
    names: dict[str, int]
    moved: dict[int, int]
    bridges: tuple[tuple[int, int, float], ...]
    held: dict[int, float] = field(default_factory=dict)  # row -> siemens to ground that only this wiring has


class Drafts:
    """Every rewiring of a system that was read."""

    def __init__(self, system: System) -> None:
        self._row, self._places, self._owned = system.row, _places(system), _owned_branches(system)
        self._branches = len(system.branch_a)
        self._read: dict[tuple[object, ...], Draft] = {}
        self._drawn: dict[tuple[int, float, float], Drawings] = {}

    def of(self, system: System, rewiring: Rewiring) -> Draft:
        """Return what a rewiring says.

        Raises
        ------
        CircuitError
            It moves an end, or sets a value, that the circuit does not have.
        """
        key = (rewiring.changes, rewiring.moved, rewiring.bridges)
        if (found := self._read.get(key)) is None:
            found = self._read[key] = self._draft(system, rewiring)
        return found

    def on(self, system: System, ground: int, leak_s: float, tie_s: float) -> Drawings:
        """Return these drafts with ground on a row."""
        key = (ground, leak_s, tie_s)
        if key not in self._drawn:
            self._drawn[key] = Drawings(system, ground, leak_s, tie_s)
        return self._drawn[key]

    def _draft(self, system: System, rewiring: Rewiring) -> Draft:
        names: dict[str, int] = {}
        valued = set[int]()

        def row(joint: str) -> int:
            known = self._row.get(joint)
            return known if known is not None else -1 - names.setdefault(joint, len(names))

        count, branches, groups = self._branches, set[int](), set[int]()
        moved = {place: row(m.to) for m in rewiring.moved for place in self._ends_of(system, rewiring, m)}
        branches.update(place % count for place in moved if place < 2 * count)
        for change in rewiring.changes:
            if (change.element, change.field) not in system.value_row:
                system.values([rewiring.edit])  # says what does not fit
            if change.field != "on":
                owned, group = self._owned.get(change.element, ((), -1))
                valued.update(owned)
                groups.update({group} - {-1})
        bridges = tuple((row(b.a), row(b.b), b.ohm) for b in rewiring.bridges)
        changes = [
            (system.value_row[c.element, c.field], *((c.value, True) if isinstance(c, SetValue) else (c.factor, False)))
            for c in rewiring.changes
        ]
        every = frozenset(branches | valued)
        return Draft(tuple(names), moved, every, frozenset(valued), frozenset(groups), bridges, tuple(changes))

    def _ends_of(self, system: System, rewiring: Rewiring, moved: Moved) -> tuple[int, ...]:
        places = self._places.get((moved.element, moved.end), ())
        if not places:
            rewired(system.circuit, rewiring)  # says what does not fit
        return places


class Drawings:
    """Drafts of a system with ground on one row, ``leak_s`` from each new joint to it; what they touch and hold."""

    def __init__(self, system: System, ground: int, leak_s: float, tie_s: float) -> None:
        self.ground, self.leak_s, self.tie_s = ground, leak_s, tie_s
        self._size, self._branches = system.size, len(system.branch_a)
        base = np.concatenate([
            system.branch_a, system.branch_b, *system.triode_rows, *system.pentode_rows, system.port_a, system.port_b,
            system.current_a, system.current_b,
        ]).astype(np.intp)  # fmt: skip
        self.base_ends: Index = np.where(base == system.size, ground, base)
        self._base = self.base_ends.tolist()
        self._triodes, self._pentodes = len(system.triodes), len(system.pentodes)
        self._groups = [(tuple(g.branches.tolist()), g.magnetizing) for g in system.groups]
        pairs = zip(system.couple_i.tolist(), system.couple_j.tolist(), strict=True)
        self._pair_of = {pair: k for k, pair in enumerate(pairs)}
        own = [self._pair_of[b, b] for b in range(self._branches)]
        siemens = [np.abs(system.admittances(system.base_values, s)[own, 0]) for s in LOOKED_AT[:, None]]
        self.strength: Array = np.max(siemens, axis=0)  # of each branch
        self._known: dict[Draft, Drawing] = {}
        self._stamped: dict[tuple[Draft, bool], list[int]] = {}

    def of(self, draft: Draft) -> Drawing:
        """Return a draft on these rows."""
        if (found := self._known.get(draft)) is None:
            found = self._known[draft] = self._drawing(draft)
        return found

    def settled(self, row: int) -> int:
        """Return the row of a joint as drafted."""
        if row < 0:
            return self._size - 1 - row
        return self.ground if row == self._size else row

    def pairs(self, draft: Draft, *, coupled: bool) -> list[int]:
        """Return the coupled pairs of branches that stand otherwise or have another admittance."""
        if (found := self._stamped.get((draft, coupled))) is None:
            found = self._stamped[draft, coupled] = self._pairs(draft, coupled=coupled)
        return found

    def _pairs(self, draft: Draft, *, coupled: bool) -> list[int]:
        found = {(b, b) for b in draft.branches}
        if coupled:
            for coils, magnetizing in self._groups:
                if magnetizing in draft.groups or not draft.valued.isdisjoint(coils):
                    found.update((p, q) for p in coils for q in coils)
                elif not draft.branches.isdisjoint(coils):
                    moved = draft.branches.intersection(coils)
                    found.update((p, q) for p in coils for q in coils if p in moved or q in moved)
        return [self._pair_of[pair] for pair in sorted(found)]

    def _drawing(self, draft: Draft) -> Drawing:
        names = {name: self._size + k for k, name in enumerate(draft.names)}
        moved = {place: self.settled(row) for place, row in draft.moved.items()}
        bridges = tuple((self.settled(a), self.settled(b), ohm) for a, b, ohm in draft.bridges)
        held = dict.fromkeys(names.values(), self.leak_s)
        drawing = Drawing(draft, names, moved, bridges)
        if moved:
            for island in self._islands(drawing):
                held[min(island)] = self.leak_s if self._joined(drawing, island) else TIE_S
        drawing.held.update(sorted(held.items()))
        return drawing

    # ---- islands -----------------------------------------------------------------------------

    @cached_property
    def _near(self) -> list[list[tuple[int, int]]]:
        """Return the rows that each row is joined to in the base, and the branch that does it."""
        n = self._branches
        near: list[list[tuple[int, int]]] = [[] for _ in range(self.ground + 1)]
        for branch, (a, b) in enumerate(zip(self._base[:n], self._base[n : 2 * n], strict=True)):
            near[a].append((b, branch))
            near[b].append((a, branch))
        return near

    @cached_property
    def _tubes(self) -> list[tuple[int, ...]]:
        """Return the electrodes of each tube, as places among the ends."""
        first, found = 2 * self._branches, []
        for tubes, electrodes in ((self._triodes, 3), (self._pentodes, 4)):
            found += [tuple(first + e * tubes + k for e in range(electrodes)) for k in range(tubes)]
            first += electrodes * tubes
        return found

    def _joined(self, drawing: Drawing, island: set[int]) -> bool:
        """Return whether a tube joins an island to something else."""
        groups = [{drawing.moved.get(place, self._base[place]) for place in tube} for tube in self._tubes]
        return any(group & island and group - island for group in groups)

    def _islands(self, drawing: Drawing) -> Iterator[set[int]]:
        """Yield the rows of each island that no branch joins to ground."""
        n, gone, base = self._branches, drawing.draft.branches, self._base
        extra: dict[int, set[int]] = {}
        joined = [{drawing.moved.get(p, base[p]) for p in (k, n + k)} for k in gone]
        for group in (*joined, *({a, b} for a, b, _ in drawing.bridges)):
            for row in group:
                extra.setdefault(row, set()).update(group)
        held = {self.ground, *drawing.names.values()}  # new joints have their leak
        for start in {base[p] for k in gone for p in (k, n + k)}:
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


def drafts_of(system: System) -> Drafts:
    """Return what is known of the wirings of a system, which whoever asks next finds again."""
    found = _DRAFTS.get(system)
    if found is None:
        found = _DRAFTS[system] = Drafts(system)
    return found


_DRAFTS: WeakKeyDictionary[System, Drafts] = WeakKeyDictionary()

TRIODE, PENTODE = ("plate", "grid", "cathode"), ("plate", "screen", "grid", "cathode")


def leaks_of(drawing: Drawing, system: System, leak_s: float) -> tuple[Bridge, ...]:
    """Return what leads from joints to ground in a wiring so that each has a level, ties left out."""
    names = {row: name for name, row in drawing.names.items()}
    joints = [names[row] if row in names else system.joints[row] for row, s in drawing.held.items() if s == leak_s]
    return tuple(Bridge(joint, system.circuit.ground, 1.0 / leak_s) for joint in joints)


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
