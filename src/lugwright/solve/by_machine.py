"""Direct current of one column by machine code, in a process that has asked for it.

Loading the compiler costs a third of a second, so only a process that solves hundreds of columns one by one loads it:
the one that answers sliders. Whatever the machine code does not solve is left to `lugwright.solve.dc`, and so is all of
it where none has been loaded. Either way the certificate is the same.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, cast
from weakref import WeakKeyDictionary

import numpy as np
from numpy.typing import NDArray

from lugwright.circuit.network import Circuit
from lugwright.solve.device_laws import diode_laws, law_table
from lugwright.solve.port_laws import Plane, PortLaw
from lugwright.solve.sparse_lu import Numbers, Pattern, Reach
from lugwright.solve.system import TIE_S, Array, Index, System

if TYPE_CHECKING:
    from lugwright.solve.kernel import column as kernel
    from lugwright.solve.kernel import frequencies
    from lugwright.solve.kernel.lu import Pivots

Way = tuple[float, float, int, int, float, float, float, float]  # as `lugwright.solve.kernel.column.Way`
_STAY: Way = (1.0, 0.0, 0, 0, 0.0, 0.0, 0.0, 0.0)
_LOADED: set[str] = set()  # what this process has loaded
_TABLES: WeakKeyDictionary[System, Tables] = WeakKeyDictionary()


def load() -> None:
    """Have this process solve single columns by machine code from now on; compiles what has not been compiled yet."""
    from lugwright.solve.kernel.diodes import SIZE

    nothing = System(Circuit(()))
    tables, values, v = Tables(nothing), nothing.base_values, np.zeros((1, 1))
    numbers, ports = numbers_of(nothing, values, np.zeros((0, 1)), None), ports_of(Plane.nothing(0), np.arange(1))
    one = OneColumn(tables, numbers, ports)
    one.answers(v)
    none, once = np.zeros((0, 2), dtype=np.intp), np.ones(1, dtype=complex)
    tables.between(nothing.whole, none, branches_of(nothing, values), once, np.zeros(1))
    laws, wave = np.zeros((1, SIZE)), np.zeros((1, 1))
    stepped(laws, wave, *reflected(laws, wave + 1.0, wave, wave, 1.0), wave)
    conducting(wave[None], wave, np.zeros(1, dtype=np.intp))
    _LOADED.add("columns")


def loaded() -> bool:
    """Return whether this process solves single columns by machine code."""
    return bool(_LOADED)


def is_kept() -> bool:
    """Return whether what has been compiled is kept for other processes."""
    from lugwright.solve.kernel import column

    return bool(cast(Any, column.newton).stats.cache_path)


def unload() -> None:
    """Have this process solve everything as if no machine code had been loaded."""
    _LOADED.clear()


def tables_of(system: System) -> Tables | None:
    """Return a system as the machine code wants it; None in a process that has not loaded any."""
    if not _LOADED:
        return None
    if system not in _TABLES:
        _TABLES[system] = Tables(system)
    return _TABLES[system]


class Tables:
    """What never changes of a system."""

    def __init__(self, system: System) -> None:
        self.size, self.diodes = system.size, len(system.diodes)
        self.joined, self.pivots = _joined(system), pivots_of(system.pattern)
        self._stamps = self.joined.couple_slots, self.joined.tie_slots, TIE_S
        self._reaches: WeakKeyDictionary[Reach, Pivots] = WeakKeyDictionary()
        branches, joints = len(system.branch_a), system.size + 1
        self._room = branches, branches, joints, joints, system.pattern.entries + 1, joints

    def between(
        self, reach: Reach, ports: Index, branches: frequencies.Branches, at: NDArray[np.complex128], devices: Array
    ) -> tuple[Numbers, Numbers]:
        """Return what some ports see, and the factors of the first frequency.

        Parameters
        ----------
        reach : Reach
            The joints of the ports.
        ports : array
            Rows of their ends in the system (port, 2). [-]
        branches : Branches
            The numbers of the branches, from `branches_of`.
        at : array
            Complex frequencies. [1/s]
        devices : array
            What tubes and diodes add, in their slots (slot). [S]

        Returns
        -------
        tuple of arrays
            Volts for a unit of current (across, driven, frequency). [ohm] Factors as `factor` has them (slot).

        Source
        ------
        Gauss's elimination.
        """
        from lugwright.solve.kernel import frequencies

        if reach not in self._reaches:
            self._reaches[reach] = pivots_of(reach.pattern)
        first = np.empty(len(devices), dtype=complex)
        into = np.empty((len(ports), len(ports), len(at)), dtype=complex)
        frequencies.between(
            self.pivots, self._reaches[reach], frequencies.Stamps(*self._stamps), branches, at, devices,
            reach.pattern.size, _rows(reach.where[ports]), first, into,
        )  # fmt: skip
        return into, first

    def room(self) -> kernel.Space:
        """Return room for numbers in between."""
        from lugwright.solve.kernel import column

        return column.Space(*map(np.empty, self._room))


@dataclass(frozen=True)
class OneColumn:
    """One column of a system, and the law of its diodes."""

    tables: Tables
    numbers: kernel.Numbers
    ports: kernel.Ports

    def newton(self, start: Array, way: Way) -> tuple[Array, NDArray[np.bool_], Array, Array, Array, int]:
        """Return where Newton's method arrives, in the order of `lugwright.solve.dc.DcPoint`."""
        room, v, allowed, move, count, solved = self._run(start, way)
        return v[:, None], np.array([solved]), room.left[:-1, None], allowed[:, None], move[:, None], count

    def linearized(self, v: Array) -> tuple[Array, Array]:
        """Return the current left over at every joint and the matrix of slopes (slot, 1). [A], [S]"""
        room = self._run(v, _STAY)[0]
        return room.left[:-1, None], room.matrix[:, None]

    def answers(self, v: Array) -> Array:
        """Return what joints do for a unit of current out of each diode, and for what is left over (joint, side)."""
        from lugwright.solve.kernel import column

        tables, room = self.tables, self._run(v, _STAY)[0]
        sides = np.zeros((tables.diodes + 1, tables.size + 1))
        for k, (anode, cathode) in enumerate(tables.joined.ports):
            sides[k, anode] += 1.0
            sides[k, cathode] -= 1.0
        sides[-1] = room.left
        found = np.ascontiguousarray(sides[:, :-1])
        column.solve(tables.pivots, room.matrix, found)
        sides[:, :-1], sides[:, -1] = found, 0.0
        return sides.T

    def _run(self, start: Array, way: Way) -> tuple[kernel.Space, Array, Array, Array, int, bool]:
        """Return numbers in between, volts, what may be left over, the last step, how many, and whether it ended."""
        from lugwright.solve.kernel import column

        tables = self.tables
        v, room = np.empty(tables.size + 1), tables.room()
        allowed, move = np.zeros(tables.size), np.empty(tables.size)
        count, solved = column.newton(
            tables.joined, tables.pivots, self.numbers, self.ports, column.Way(*way),
            np.ascontiguousarray(start[:, 0]), v, room, allowed, move,
        )  # fmt: skip
        return room, v, allowed, move, count, solved


def reflected(laws: Array, at_once: Array, wave: Array, near_v: Array, close_v: float) -> tuple[Array, Array, Array]:
    """Return volts, current and slope of each diode for its incident wave (diode, instant)."""
    from lugwright.solve.kernel import waves

    v, amps, slope = np.empty_like(wave), np.empty_like(wave), np.empty_like(wave)
    waves.reflect(laws, at_once, wave, near_v, close_v, v, amps, slope)
    return v, amps, slope


def stepped(laws: Array, at_once: Array, onward: Array, slope: Array, moved: Array, wave: Array) -> Array:
    """Return waves moved along themselves or along the volts, whichever is the shorter way (diode, instant)."""
    from lugwright.solve.kernel import waves

    found = wave.copy()
    waves.step(laws, at_once, onward, slope, moved, found)
    return found


def conducting(response: Array, slope: Array, places: Index) -> Array:
    """Return 1 + Z D for some instants, given by their places in the table of slopes."""
    from lugwright.solve.kernel import waves

    matrix = np.empty((len(places), len(places)))
    waves.conducting(response, slope, _rows(places), matrix)
    return matrix


def numbers_of(system: System, values: Array, admittances: Array, push_v: Array | None) -> kernel.Numbers:
    """Return the numbers of one column."""
    from lugwright.solve.kernel import column

    push, source = np.zeros(len(system.branch_a)), np.zeros(len(system.branch_a))
    first = len(system.resistors) + len(system.capacitors)
    source[first : first + len(system.sources)] = values[system.source_dc, 0]
    if push_v is not None:
        push += push_v[:, 0]
    return column.Numbers(
        np.ascontiguousarray(admittances[:, 0]), push, source, values[system.current_amps, 0],
        _figures(system.triode_law, column.TRIODE_FIGURES), values[system.triode_on, 0],
        _figures(system.triode_law, ("grid_gain",))[:, 0].copy(),
        _figures(system.pentode_law, column.PENTODE_FIGURES), values[system.pentode_on, 0],
        _figures(system.pentode_law, ("grid_gain",))[:, 0].copy(), TIE_S,
    )  # fmt: skip


def branches_of(system: System, values: Array) -> frequencies.Branches:
    """Return the numbers of the branches of one column."""
    from lugwright.solve.kernel import frequencies

    v, groups = values[:, 0], system.groups
    siemens = (1.0 / v[system.ohm_of], v[system.leak_of], 1.0 / v[system.source_ohm], system.diode_leaks(values)[:, 0])
    turns, ohm, leakage = (
        np.concatenate([*(v[getattr(group, name)] for group in groups), np.zeros(0)])
        for name in ("turns", "ohm", "leakage")
    )
    return frequencies.Branches(
        np.concatenate(siemens), v[system.farad_of], len(system.resistors),
        _rows([len(group.branches) for group in groups]), turns, ohm, leakage,
        np.array([v[group.magnetizing] for group in groups], dtype=float),
    )  # fmt: skip


def ports_of(law: PortLaw, which: Index) -> kernel.Ports:
    """Return the law of the diodes of one column of a batch."""
    from lugwright.solve.kernel import column

    if isinstance(law, Plane):
        scale = law.scales[which if len(law.scales) > 1 else [0]]
        none = np.zeros((0, column.DIODE_FIGURES))
        follow, slope = (np.ascontiguousarray(each, dtype=float) for each in (law.follow, law.slope))
        return column.Ports(law.amps * scale, law.at_v * scale, follow, slope, none)
    k = len(law.system.diodes)
    own = np.ascontiguousarray(law_table(diode_laws(law.system, law.values[:, which]))[0])
    return column.Ports(np.zeros(k), np.zeros(k), np.zeros((k, k)), np.zeros((k, k)), own)


def pivots_of(pattern: Pattern) -> Pivots:
    """Return the pivots of a pattern."""
    from lugwright.solve.kernel.lu import Pivots

    later = [p.later for p in pattern.pivots]
    blocks = [p.block.ravel() for p in pattern.pivots]
    count = [len(each) for each in later]
    return Pivots(
        _rows([p.row for p in pattern.pivots]), _rows([p.diagonal for p in pattern.pivots]), _rows(count),
        _starts(count), _joined_rows(later), _starts([len(each) for each in blocks]), _joined_rows(blocks),
    )  # fmt: skip


def _joined(system: System) -> kernel.Joined:
    from lugwright.solve.kernel import column

    a, b, p, q = system.branch_a, system.branch_b, system.couple_i, system.couple_j
    couples = np.stack([system.slots(x[p], y[q]) for x, y in ((a, a), (a, b), (b, a), (b, b))], axis=-1)
    k = len(system.diodes)
    i, j, pa, pb = np.repeat(np.arange(k), k), np.tile(np.arange(k), k), system.port_a, system.port_b
    ports = np.stack([system.slots(x[i], y[j]) for x, y in ((pa, pa), (pa, pb), (pb, pa), (pb, pb))], axis=-1)
    return column.Joined(
        _rows(a), _rows(b), _rows(p), _rows(q), _rows(couples),
        _rows(np.stack(system.triode_rows, axis=-1)), _square_slots(system, system.triode_rows),
        _rows(np.stack(system.pentode_rows, axis=-1)), _square_slots(system, system.pentode_rows),
        _rows(np.stack([pa, pb], axis=-1)), _rows(ports.reshape(k, k, 4)),
        _rows(system.current_a), _rows(system.current_b),
        _rows(system.tied), _rows(system.tie_slots), _rows(system.diagonal_slots),
        _rows(np.stack(system.knees, axis=-1)),
    )  # fmt: skip


def _square_slots(system: System, rows: Sequence[Index]) -> Index:
    """Return the slots of each tube's ends over its ends (tube, end, end)."""
    ends = len(rows)
    found = np.stack([system.slots(i, j) for i in rows for j in rows], axis=-1)
    return _rows(found.reshape(len(rows[0]), ends, ends))


def _figures(law: Mapping[str, Array], names: Sequence[str]) -> Array:
    """Return figures of tubes (tube, figure)."""
    if not law:
        return np.zeros((0, len(names)))
    return np.ascontiguousarray(np.concatenate([law[name] for name in names], axis=1))


def _rows(numbers: Index | Sequence[int]) -> Index:
    return np.ascontiguousarray(numbers, dtype=np.int64)


def _starts(counts: Sequence[int]) -> Index:
    return _rows(np.cumsum([0, *counts])[:-1])


def _joined_rows(those: Sequence[Index]) -> Index:
    return _rows(np.concatenate([*those, np.zeros(0, dtype=np.int64)]))
