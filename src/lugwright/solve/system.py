"""A circuit made ready for solving: joints numbered, values in one array, every stamp in its slot.

Axes: values are (value, batch), voltages (joint, batch) with a last row for ground that stays zero.
The batch is either many edited circuits or many frequencies of one.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, fields
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from lugwright.circuit.edits import Edit, SetValue
from lugwright.circuit.elements import (
    Capacitor,
    CurrentSource,
    Element,
    Junction,
    PentodeTube,
    Resistor,
    TriodeTube,
    VacuumDiode,
    VoltageSource,
    Windings,
)
from lugwright.circuit.network import Circuit
from lugwright.errors import CircuitError
from lugwright.solve.scatter import Scatter
from lugwright.solve.sparse_lu import Pattern, Reach, find_pattern

Array = NDArray[np.float64]
Index = NDArray[np.intp]
TIE_S = 1e-9  # ties an island that nothing joins to ground, so that it has a defined (meaningless) level


@dataclass(frozen=True)
class _WindingGroup:
    name: str
    branches: Index  # rows of the two-ended branches that are its coils
    turns: Index
    ohm: Index
    leakage: Index
    magnetizing: int

    @property
    def values(self) -> Index:
        """Return the rows of all its values."""
        return np.concatenate([self.turns, self.ohm, self.leakage, [self.magnetizing]])


@dataclass(frozen=True)
class _DiodeRows:
    """Which diodes are junctions, Zeners (junctions, too) and vacuum, and the rows of their values."""

    on: Index
    junctions: Index
    threshold: Index
    smooth: Index
    bulk: Index
    leak: Index
    zeners: Index
    zener: Index
    vacuum: Index
    perveance: Index


class System:
    """A compiled circuit."""

    def __init__(self, circuit: Circuit) -> None:
        self.circuit = circuit
        self.joints = tuple(j for j in circuit.joints if j != circuit.ground)
        self.size = len(self.joints)
        self.row: Mapping[str, int] = {**{j: i for i, j in enumerate(self.joints)}, circuit.ground: self.size}
        self.value_row: dict[tuple[str, str], int] = {}
        values: list[float] = []
        for element in circuit.elements:
            for owner in _owners(element):
                for field in fields(owner):
                    if isinstance(number := getattr(owner, field.name), float | int):
                        self.value_row[owner.name, field.name] = len(values)
                        values.append(float(number))
        self.base_values: Array = np.array(values, dtype=float).reshape(-1, 1)
        self._collect()
        self._reaches: dict[frozenset[int], Reach] = {}
        self.floating = self._islands()
        self.pattern: Pattern = find_pattern(self.size, self._pattern_entries())
        self._prepare_scatters()

    # ---- collecting -------------------------------------------------------------------------

    def _of(self, kind: type[Any]) -> list[Any]:
        return [e for e in self.circuit.elements if isinstance(e, kind)]

    def _rows(self, elements: Sequence[Any], *fields_: str) -> list[Index]:
        return [np.array([self.row[getattr(e, f)] for e in elements], dtype=np.intp) for f in fields_]

    def _value_rows(self, elements: Sequence[Any], field: str) -> Index:
        return np.array([self.value_row[e.name, field] for e in elements], dtype=np.intp)

    def _collect(self) -> None:
        self.resistors: list[Resistor] = self._of(Resistor)
        self.capacitors: list[Capacitor] = self._of(Capacitor)
        self.sources: list[VoltageSource] = self._of(VoltageSource)
        self.current_sources: list[CurrentSource] = self._of(CurrentSource)
        self.diodes: list[Junction | VacuumDiode] = [
            e for e in self.circuit.elements if isinstance(e, Junction | VacuumDiode)
        ]
        self.diode_rows = self._diode_rows()
        self.triodes: list[TriodeTube] = self._of(TriodeTube)
        self.pentodes: list[PentodeTube] = self._of(PentodeTube)
        groups: list[Windings] = self._of(Windings)
        coils = [coil for group in groups for coil in group.coils]
        branches: list[Any] = [*self.resistors, *self.capacitors, *self.sources, *coils]
        a, b = self._rows(branches, "a", "b")
        anode, cathode = self._rows(self.diodes, "anode", "cathode")
        self.branch_a, self.branch_b = np.concatenate([a, anode]), np.concatenate([b, cathode])
        self.branch_names = tuple(e.name for e in (*branches, *self.diodes))
        self.branch_row = {name: i for i, name in enumerate(self.branch_names)}
        self.port_a, self.port_b = anode, cathode
        self.ohm_of = self._value_rows(self.resistors, "ohm")
        self.lamp_w_of = self._value_rows(self.resistors, "lamp_w")
        self.farad_of, self.leak_of = (self._value_rows(self.capacitors, f) for f in ("farad", "leak_s"))
        self.source_ohm = self._value_rows(self.sources, "ohm")
        self.source_dc, self.source_rms = (self._value_rows(self.sources, f) for f in ("dc_v", "rms_v"))
        self.current_amps = self._value_rows(self.current_sources, "amps")
        self.current_a, self.current_b = self._rows(self.current_sources, "a", "b")
        first = len(self.resistors) + len(self.capacitors) + len(self.sources)
        self.groups: list[_WindingGroup] = []
        for group in groups:
            rows = np.arange(first, first + len(group.coils), dtype=np.intp)
            first += len(group.coils)
            turns, ohm, leakage = (self._value_rows(group.coils, f) for f in ("turns", "ohm", "leakage_h"))
            magnetizing = self.value_row[group.name, "magnetizing_h"]
            self.groups.append(_WindingGroup(group.name, rows, turns, ohm, leakage, magnetizing))
        self.triode_rows = self._rows(self.triodes, "plate", "grid", "cathode")
        self.pentode_rows = self._rows(self.pentodes, "plate", "screen", "grid", "cathode")
        self.triode_on, self.pentode_on = self._value_rows(self.triodes, "on"), self._value_rows(self.pentodes, "on")
        self.knees = self._knees()
        self.triode_law = _law_arrays(self.triodes)
        self.pentode_law = _law_arrays(self.pentodes)

    def _diode_rows(self) -> _DiodeRows:
        def chosen(diodes: Sequence[Any]) -> Index:
            return np.array([place[d.name] for d in diodes], dtype=np.intp)

        place = {diode.name: row for row, diode in enumerate(self.diodes)}
        junctions = [d for d in self.diodes if isinstance(d, Junction)]
        zeners = [d for d in junctions if d.zener_v is not None]
        vacuum = [d for d in self.diodes if isinstance(d, VacuumDiode)]
        fields_ = ("threshold_v", "smooth_v", "bulk_ohm", "leak_s")
        threshold, smooth, bulk, leak = (self._value_rows(junctions, field) for field in fields_)
        return _DiodeRows(
            self._value_rows(self.diodes, "on"), chosen(junctions), threshold, smooth, bulk, leak, chosen(zeners),
            self._value_rows(zeners, "zener_v"), chosen(vacuum), self._value_rows(vacuum, "perveance"),
        )  # fmt: skip

    def _knees(self) -> tuple[Index, Index]:
        """Return plate and cathode rows of every tube whose plate is not on ground."""
        plate = np.concatenate([self.triode_rows[0], self.pentode_rows[0]])
        cathode = np.concatenate([self.triode_rows[-1], self.pentode_rows[-1]])
        free = plate < self.size
        return plate[free], cathode[free]

    def _islands(self) -> tuple[str, ...]:
        """Return one joint of each island that no resistor, coil, source, leak or tube joins to ground."""
        parent = list(range(self.size + 1))

        def find(i: int) -> int:
            while parent[i] != i:
                parent[i] = parent[parent[i]]
                i = parent[i]
            return i

        for a, b in zip(self.branch_a, self.branch_b, strict=True):
            parent[find(int(a))] = find(int(b))
        for rows in (self.triode_rows, self.pentode_rows):
            for group in zip(*rows, strict=True):
                for other in group[1:]:
                    parent[find(int(group[0]))] = find(int(other))
        seen = {find(self.size)}
        islands = []
        for i, joint in enumerate(self.joints):
            if (root := find(i)) not in seen:
                seen.add(root)
                islands.append(joint)
        return tuple(islands)

    # ---- stamps -----------------------------------------------------------------------------

    def _couplings(self) -> tuple[Index, Index]:
        """Return every ordered pair of branches whose admittance is not zero (coils of one core)."""
        first = [np.repeat(g.branches, len(g.branches)) for g in self.groups]
        second = [np.tile(g.branches, len(g.branches)) for g in self.groups]
        plain = len(self.resistors) + len(self.capacitors) + len(self.sources)
        alone = np.concatenate([np.arange(plain), np.arange(len(self.branch_a) - len(self.diodes), len(self.branch_a))])
        return np.concatenate([alone, *first]).astype(np.intp), np.concatenate([alone, *second]).astype(np.intp)

    def _pattern_entries(self) -> list[tuple[int, int]]:
        pairs: set[tuple[int, int]] = {(i, i) for i in range(self.size)}
        self.couple_i, self.couple_j = self._couplings()
        for p, q in zip(self.couple_i, self.couple_j, strict=True):
            ends_p, ends_q = (self.branch_a[p], self.branch_b[p]), (self.branch_a[q], self.branch_b[q])
            pairs.update((int(i), int(j)) for i in ends_p for j in ends_q)
        for rows in (self.triode_rows, self.pentode_rows):
            for group in zip(*rows, strict=True):
                pairs.update((int(i), int(j)) for i in group for j in group)
        ports = [*map(int, self.port_a), *map(int, self.port_b)]
        pairs.update((i, j) for i in ports for j in ports)
        return [(i, j) for i, j in pairs if i < self.size and j < self.size]

    def slots(self, i: Index, j: Index) -> Index:
        """Return the value slots of entries (i, j); entries that touch ground go to the trash slot."""
        trash = self.pattern.entries
        return np.array(
            [self.pattern.slot.get((int(a), int(b)), trash) for a, b in zip(i, j, strict=True)], dtype=np.intp
        )

    def _prepare_scatters(self) -> None:
        a, b, p, q = self.branch_a, self.branch_b, self.couple_i, self.couple_j
        targets = [self.slots(x[p], y[q]) for x, y in ((a, a), (a, b), (b, a), (b, b))]
        size = self.pattern.entries + 1
        self._matrix_scatter = Scatter(np.concatenate(targets), size, signs=(1.0, -1.0, -1.0, 1.0))
        self.branch_scatter = Scatter(np.concatenate([a, b]), self.size + 1)
        tubes = [pair for rows in (self.triode_rows, self.pentode_rows) for pair in _all_pairs(rows)]
        k = len(self.diodes)
        i, j = np.repeat(np.arange(k), k), np.tile(np.arange(k), k)
        pa, pb = self.port_a, self.port_b
        ports = [(x[i], y[j]) for x, y in ((pa, pa), (pa, pb), (pb, pa), (pb, pb))]
        nothing = np.zeros(0, np.intp)
        rows, columns = (np.concatenate([pair[n] for pair in (*tubes, *ports)] or [nothing]) for n in (0, 1))
        self.tube_matrix_scatter = Scatter(np.concatenate([self.slots(i, j) for i, j in tubes] or [nothing]), size)
        self.port_scatter = Scatter(np.concatenate([pa, pb]), self.size + 1)
        self.port_matrix_scatter = Scatter(np.concatenate([self.slots(i, j) for i, j in ports]), size)
        self.device_slots = self.slots(rows, columns)
        self.device_matrix_scatter = Scatter(self.device_slots, size)
        ends = [*self.triode_rows, *self.pentode_rows]
        self.current_scatter = Scatter(
            np.concatenate([a, b, *ends, pa, pb, self.current_a, self.current_b]).astype(np.intp), self.size + 1
        )
        self.device_joints, self.device_dense_scatter = self._device_block(rows, columns)
        self.tied = np.array([self.row[j] for j in self.floating], dtype=np.intp)
        self.tie_slots = self.slots(self.tied, self.tied)
        entries = np.array(list(self.pattern.slot), dtype=np.intp).reshape(-1, 2)
        self.dense_index = (entries[:, 0], entries[:, 1])
        self.diagonal_slots = self.slots(np.arange(self.size), np.arange(self.size))

    def _device_block(self, rows: Index, columns: Index) -> tuple[Index, Scatter]:
        """Return the joints that tubes and diodes touch, and the scatter of their slopes into a matrix of these."""
        joints = np.setdiff1d(np.concatenate([rows, columns]), [self.size]).astype(np.intp)
        count = len(joints)
        inside = (rows < self.size) & (columns < self.size)
        cell = np.searchsorted(joints, rows) * count + np.searchsorted(joints, columns)
        return joints, Scatter(np.where(inside, cell, count * count).astype(np.intp), count * count + 1)

    # ---- numbers ----------------------------------------------------------------------------

    def values(self, edits: Sequence[Edit]) -> Array:
        """Return the value array (value, batch), one column for each edit.

        Raises
        ------
        CircuitError
            An edit names an element or field the circuit does not have.
        """
        table = np.repeat(self.base_values, max(1, len(edits)), axis=1)
        for column, edit in enumerate(edits):
            for change in edit.changes:
                row = self.value_row.get((change.element, change.field))
                if row is None:
                    raise CircuitError(
                        what=f"edit {edit.name!r} does not fit the circuit",
                        found=f"{change.element}.{change.field}",
                        wanted="an element of the circuit and one of its values",
                        do="check the part's name",
                    )
                if isinstance(change, SetValue):
                    table[row, column] = change.value
                else:
                    table[row, column] *= change.factor
        return table

    def known(self, edit: Edit) -> Edit:
        """Return what of an edit this circuit has: that of signals has strays, and a loudspeaker for a resistor."""
        return Edit(edit.name, tuple(c for c in edit.changes if (c.element, c.field) in self.value_row))

    def admittances(self, values: Array, s: NDArray[Any] | float) -> NDArray[Any]:
        """Return the admittance of each coupled branch pair (pair, batch) at complex frequency ``s``. [S]"""
        resistors = 1.0 / values[self.ohm_of]
        capacitors = values[self.leak_of] + s * values[self.farad_of]
        sources = 1.0 / values[self.source_ohm]
        leaks = self.diode_leaks(values)
        parts = [resistors, capacitors, sources, leaks, *(self._winding_block(g, values, s) for g in self.groups)]
        batch = np.broadcast_shapes(*(p.shape[1:] for p in parts if p.size), np.shape(s))
        return np.concatenate([np.broadcast_to(p, (p.shape[0], *batch)) for p in parts])

    def admittances_beside(self, base: Array, values: Array, s: NDArray[Any]) -> NDArray[Any]:
        """Return the same (frequency, pair, column) of columns that differ from a base (value, 1) in few values. [S]"""
        found = np.repeat(self.admittances(base, s).T[:, :, None], values.shape[1], axis=2)
        differs, each, last = values != base, s[:, None], 0
        laws: tuple[tuple[tuple[Index, ...], Callable[..., NDArray[Any]]], ...] = (
            ((self.ohm_of,), lambda ohm: 1.0 / ohm),
            ((self.leak_of, self.farad_of), lambda leak, farad: leak + each * farad),
            ((self.source_ohm,), lambda ohm: 1.0 / ohm),
        )
        for rows, law in laws:
            pair, column = np.nonzero(np.any([differs[row] for row in rows], axis=0))
            found[:, last + pair, column] = law(*(values[row[pair], column] for row in rows))
            last += len(rows[0])
        junction, column = np.nonzero(differs[self.diode_rows.leak])
        own = values[self.diode_rows.leak[junction], column]
        found[:, last + self.diode_rows.junctions[junction], column] = own
        last += len(self.diodes)
        for group in self.groups:
            first, last = last, last + len(group.branches) ** 2
            column = np.flatnonzero(differs[group.values].any(axis=0))
            found[:, first:last, column] = self._winding_block(group, values[:, None, column], each).swapaxes(0, 1)
        return found

    def diode_leaks(self, values: Array) -> Array:
        """Return the admittance of each diode to any voltage, besides its law (diode, batch). [S]"""
        leaks = np.full((len(self.diodes), values.shape[1]), 1e-12)
        leaks[self.diode_rows.junctions] = values[self.diode_rows.leak]
        return leaks

    @staticmethod
    def _winding_block(group: _WindingGroup, values: Array, s: NDArray[Any] | float) -> NDArray[Any]:
        y = 1.0 / (values[group.ohm] + s * values[group.leakage])
        reach = values[group.turns] * y
        first = values[group.turns[0]] ** 2
        henry = s * values[group.magnetizing]
        core = henry / (henry * np.sum(values[group.turns] * reach, axis=0) + first)
        block = -reach[:, None] * reach[None, :] * core
        n = len(group.branches)
        block[np.arange(n), np.arange(n)] += y
        return np.asarray(block.reshape(n * n, *block.shape[2:]))

    def matrix(self, admittances: NDArray[Any]) -> NDArray[Any]:
        """Return the linear part of the nodal matrix (slot, batch)."""
        matrix = self._matrix_scatter(admittances)
        matrix[self.tie_slots] += TIE_S
        return matrix

    @cached_property
    def whole(self) -> Reach:
        """Return every joint, for solving."""
        return self.pattern.reaching(range(self.size))

    def reaching(self, rows: frozenset[int]) -> Reach:
        """Return some joints, ground left out, to be solved by themselves."""
        if rows not in self._reaches:
            self._reaches[rows] = self.pattern.reaching(rows - {self.size})
        return self._reaches[rows]

    @cached_property
    def supply(self) -> Reach:
        """Return the joints of diodes and sources, to be solved by themselves."""
        return self.supply_with(())

    def supply_with(self, elements: Sequence[Element]) -> Reach:
        """Return the joints of diodes, sources and some more elements, to be solved by themselves."""
        return self.reaching(
            frozenset(self.row[joint] for e in (*self.diodes, *self.sources, *elements) for joint in e.joints)
        )

    @cached_property
    def coupled_branches(self) -> Scatter:
        """Return the scatter that sums coupled-pair currents into branch currents."""
        return Scatter(self.couple_i, len(self.branch_a))

    def branch_currents(self, admittances: NDArray[Any], branch_v: NDArray[Any]) -> NDArray[Any]:
        """Return the current through each branch from a to b (branch, batch), sources left out. [A]"""
        return self.coupled_branches(admittances * branch_v[self.couple_j])

    def element(self, name: str) -> Element:
        """Return the element of that name."""
        return self.circuit.by_name[name]


def _owners(element: Element) -> tuple[Any, ...]:
    """Return the records that hold an element's values: itself, and the coils of a winding group."""
    return (element, *element.coils) if isinstance(element, Windings) else (element,)


def _law_arrays(tubes: Sequence[TriodeTube | PentodeTube]) -> dict[str, Array]:
    if not tubes:
        return {}
    names = [f.name for f in fields(tubes[0].law)]
    return {n: np.array([[getattr(t.law, n)] for t in tubes], dtype=float) for n in names}


def _all_pairs(rows: list[Index]) -> list[tuple[Index, Index]]:
    return [(i, j) for i in rows for j in rows]
