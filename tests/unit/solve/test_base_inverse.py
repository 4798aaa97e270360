"""What the base's matrices and their inverses are, of many frequencies and many values at once."""

from __future__ import annotations

import numpy as np

from lugwright.circuit.edits import Edit, SetValue
from lugwright.circuit.elements import (
    Capacitor,
    Coil,
    CurrentSource,
    Junction,
    Resistor,
    VoltageSource,
    Windings,
)
from lugwright.circuit.network import Circuit
from lugwright.circuit.rewiring import Moved, Rewiring
from lugwright.solve.rewired_columns import RewiredColumns
from lugwright.solve.rewired_layout import HELD_S
from lugwright.solve.rewired_matrix import WEAK_OHM, base_inverse, base_inverses
from lugwright.solve.sparse_lu import Numbers
from lugwright.solve.system import System

# Two ways to the same inverse, each entry as a share of what its two joints show: the rounding of a dozen sums.
SAME = 1e-11
S = 2j * np.pi * 50.0 * np.arange(1.0, 8.0)
COILS = (Coil("T1.1", "line", "ground", 120.0, 2.0), Coil("T1.2", "a", "b", 100.0, 40.0))


def supply() -> System:
    """Return a supply with a divider that no frequency changes, and a heater pair that hardly anything holds."""
    return System(
        Circuit((
            VoltageSource("mains", "line", "ground", 0.0, 120.0, 0.4), Windings("T1", COILS, 2.0),
            Resistor("R0", "b", "ground", 10.0), Junction("CR1", "a", "raw"), Capacitor("C1", "raw", "ground", 47e-6),
            Resistor("R1", "raw", "top", 1e3), Resistor("R2", "top", "mid", 1e4), Resistor("R3", "mid", "low", 1e4),
            Resistor("R4", "low", "ground", 2e3), CurrentSource("I1", "top", "low", 1e-3),
            Resistor("heater", "h1", "h2", 1.0), Resistor("leak", "h1", "ground", 1e10),
        ))
    )  # fmt: skip


def dense(system: System, slots: Numbers, held: tuple[int, ...]) -> Numbers:
    """Return a matrix of the system."""
    matrix = np.zeros((system.size, system.size), dtype=slots.dtype)
    matrix[system.dense_index] = slots[:-1]
    matrix[held, held] += HELD_S
    return matrix


def test_inverses_at_all_frequencies_are_those_at_each() -> None:
    system = supply()
    columns = RewiredColumns(system, [Rewiring("off", moved=(Moved("R4", "b", "nowhere"),))])
    slots = system.matrix(system.admittances(system.base_values, S))
    first, inverses = base_inverses(columns, slots)
    (new,) = range(system.size, columns.ground)
    assert len(first.held) == 1
    for k, found in enumerate(inverses):
        wanted = np.linalg.inv(dense(system, slots[:, k], first.held))
        scale = np.sqrt(np.abs(np.outer(wanted.diagonal(), wanted.diagonal())))
        assert np.all(np.abs(found[: system.size, : system.size] - wanted) <= SAME * scale)
        alone = np.where(np.arange(len(found)) == new, 1.0 / HELD_S, 0.0)
        for table in (found, found.T):
            assert np.array_equal(table[new], alone)
            assert not table[-1].any()
    assert np.array_equal(first.matrix[: system.size, : system.size], dense(system, slots[:, 0], first.held))


def test_a_matrix_of_plain_numbers_is_inverted_whole() -> None:
    system = supply()
    columns = RewiredColumns(system, [Rewiring("")])
    slots = system.matrix(np.real(system.admittances(system.base_values, 0.0)))[:, 0]
    found = base_inverse(columns, slots)
    assert found.inverse.dtype == float
    np.testing.assert_allclose(found.matrix[:-1, :-1] @ found.inverse[:-1, :-1], np.eye(system.size), atol=1e-9)
    assert np.abs(found.inverse).max() <= WEAK_OHM


def test_admittances_beside_a_base_are_those_worked_out_from_nothing() -> None:
    system = supply()
    changed = [
        ("R2", "ohm", 5.0), ("C1", "farad", 1e-6), ("C1", "leak_s", 1e-3), ("mains", "ohm", 7.0),
        ("CR1", "leak_s", 1e-5), ("T1", "magnetizing_h", 0.1), ("T1.2", "ohm", 4e3), ("T1.1", "turns", 60.0),
        ("T1.1", "leakage_h", 0.2),
    ]  # fmt: skip
    values = system.values([Edit(""), *(Edit("", (SetValue(*change),)) for change in changed)])
    found = system.admittances_beside(system.base_values, values, S)
    wanted = [system.admittances(values, np.array([s])) for s in S]
    np.testing.assert_allclose(found, wanted, rtol=1e-14)
    assert all((found[:, :, k] != found[:, :, 0]).any() for k in range(1, len(changed) + 1))
