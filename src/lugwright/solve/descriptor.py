"""A circuit as plain matrices: E dx/dt + G x + tubes and diodes = B u.

The unknowns are the volts of every joint and then the current of every coil. Unlike the admittances of `System`,
which hold for one frequency at a time, this form has no frequency in it: it is what poles are found from and
what stepping through time needs. E and the symmetric part of G have no negative eigenvalue, so that a circuit of
passive parts can only come to rest; E is singular wherever a joint has no capacitor or a coil no leakage.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from lugwright.solve.device_laws import diode_laws, tube_matrix_entries, tube_state
from lugwright.solve.system import TIE_S, Array, Index, System


@dataclass(frozen=True)
class Descriptor:
    """``storage`` dx/dt + ``conductance`` x = ``input`` u, for one column of values and without tubes and diodes.

    Rows of x: ``system.size`` joints in the order of ``system.joints`` [V], then the coils in the order of
    ``coil_branches`` [A, from a to b through the coil]. Rows of the equations: currents out of each joint [A], then
    volts around each coil [V]. Columns of ``input``: the voltage sources in the order of ``system.sources`` [V], then
    the current sources [A]. ``storage`` is ``roots @ roots.T``, one column of roots for each capacitor, leakage
    inductance and core: what is stored in it is half the square of that column's share of x.
    """

    system: System
    storage: Array
    conductance: Array
    input: Array
    roots: Array
    coil_branches: Index  # rows of the system's branches that are coils

    @property
    def rows(self) -> int:
        """Return how many unknowns there are."""
        return len(self.storage)


def descriptor(system: System, values: Array) -> Descriptor:
    """Return the matrices of the linear parts of a circuit.

    Parameters
    ----------
    system : System
        The compiled circuit.
    values : array
        One column of values (value, 1).

    Returns
    -------
    Descriptor
        Volts, amps, farads, henries and siemens throughout; the leak of a diode is in it, its law is not.

    Source
    ------
    Kirchhoff's laws. A coil: volts = ohm x i + leakage x di/dt + its share of the core's volts per turn, which
    are magnetizing inductance / (turns of the first coil)^2 x d(ampere-turns)/dt.
    """
    table = values[:, 0]
    coils = np.concatenate([np.zeros(0, np.intp), *(g.branches for g in system.groups)]).astype(np.intp)
    rows = system.size + len(coils)
    roots = _roots(system, table, coils)
    conductance = np.zeros((rows + 1, rows + 1))
    _stamp_conductances(system, table, conductance)
    place = _place(system, rows)
    for count, branch in enumerate(coils):
        a, b, row = place[system.branch_a[branch]], place[system.branch_b[branch]], system.size + count
        conductance[[a, b], row] += (1.0, -1.0)
        conductance[row, [a, b]] += (-1.0, 1.0)
    ohms = np.concatenate([np.zeros(0, np.intp), *(g.ohm for g in system.groups)]).astype(np.intp)
    own = np.arange(system.size, rows)
    conductance[own, own] += table[ohms]
    return Descriptor(
        system, roots @ roots.T, conductance[:-1, :-1], _inputs(system, table, rows), roots, coils
    )  # fmt: skip


def tube_conductance(system: System, values: Array, v: Array) -> Array:
    """Return the slopes of all tubes at joint voltages ``v`` (joint + ground, 1) as a matrix (joint, joint).

    Parameters
    ----------
    system : System
        The compiled circuit.
    values : array
        One column of values (value, 1).
    v : array
        Joint voltages, ground last. [V]

    Returns
    -------
    array
        To be added to the joints' part of ``Descriptor.conductance``. [A/V]
    """
    return tube_matrix(system, tube_matrix_entries(tube_state(system, values, v)))


def tube_matrix(system: System, entries: Array) -> Array:
    """Return slopes in the order of the tube matrix scatter, one column of them, as a matrix (joint, joint)."""
    return _dense(system, system.tube_matrix_scatter(entries))


def diode_conductance(system: System, slopes: Array) -> Array:
    """Return diode slopes (diode, diode) as a matrix (joint, joint), to be added like `tube_conductance`."""
    flat = slopes.reshape(-1, 1)
    return _dense(system, system.port_matrix_scatter(np.concatenate([flat, -flat, -flat, flat])))


def diode_slopes(system: System, values: Array, v: Array) -> Array:
    """Return the slope of every diode at joint voltages ``v`` (joint + ground, 1) as a matrix (diode, diode)."""
    _, slope = diode_laws(system, values).currents_a(v[system.port_a] - v[system.port_b])
    return np.diag(slope[:, 0])


def _dense(system: System, slots: Array) -> Array:
    matrix = np.zeros((system.size, system.size))
    matrix[system.dense_index] = slots[:-1, 0]
    return matrix


def _place(system: System, rows: int) -> Index:
    """Return the row of each joint; ground goes to a row past the last, which is cut off in the end."""
    return np.append(np.arange(system.size), rows).astype(np.intp)


def _roots(system: System, table: Array, coils: Index) -> Array:
    """Return the square roots of what stores energy (row, store)."""
    rows = system.size + len(coils)
    place = _place(system, rows)
    first, count = len(system.resistors), len(system.capacitors)
    columns = []
    for branch, farad in zip(range(first, first + count), table[system.farad_of], strict=True):
        column = np.zeros(rows + 1)
        column[place[system.branch_a[branch]]] += np.sqrt(farad)
        column[place[system.branch_b[branch]]] -= np.sqrt(farad)
        columns.append(column)
    start = system.size
    for group in system.groups:
        own = slice(start, start + len(group.branches))
        turns = table[group.turns]
        core = np.zeros(rows + 1)
        core[own] = np.sqrt(table[group.magnetizing]) / turns[0] * turns
        columns.append(core)
        for row, henry in zip(range(own.start, own.stop), table[group.leakage], strict=True):
            if henry > 0.0:
                leak = np.zeros(rows + 1)
                leak[row] = np.sqrt(henry)
                columns.append(leak)
        start = own.stop
    found = np.array(columns).reshape(len(columns), rows + 1).T[:-1]
    return np.asarray(found[:, np.any(found != 0.0, axis=0)])


def _stamp_conductances(system: System, table: Array, matrix: Array) -> None:
    place = _place(system, len(matrix) - 1)
    plain = len(system.resistors) + len(system.capacitors) + len(system.sources)
    leaks = np.array([table[system.value_row[d.name, "leak_s"]] if (d.name, "leak_s") in system.value_row else 1e-12
                      for d in system.diodes])  # fmt: skip
    siemens = np.concatenate([1.0 / table[system.ohm_of], table[system.leak_of], 1.0 / table[system.source_ohm], leaks])
    branches = np.append(np.arange(plain), np.arange(len(system.branch_a) - len(leaks), len(system.branch_a)))
    a, b = place[system.branch_a[branches]], place[system.branch_b[branches]]
    for i, j, sign in ((a, a, 1.0), (a, b, -1.0), (b, a, -1.0), (b, b, 1.0)):
        np.add.at(matrix, (i, j), sign * siemens)
    matrix[system.tied, system.tied] += TIE_S


def _inputs(system: System, table: Array, rows: int) -> Array:
    place = _place(system, rows)
    matrix = np.zeros((rows + 1, len(system.sources) + len(system.current_sources)))
    for column, (source, ohm) in enumerate(zip(system.sources, table[system.source_ohm], strict=True)):
        matrix[place[system.row[source.a]], column] += 1.0 / ohm
        matrix[place[system.row[source.b]], column] -= 1.0 / ohm
    for column, (a, b) in enumerate(zip(system.current_a, system.current_b, strict=True), len(system.sources)):
        matrix[place[a], column] -= 1.0
        matrix[place[b], column] += 1.0
    return matrix[:-1]
