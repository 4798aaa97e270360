"""Power-off resistance on networks whose answer is known by hand."""

from __future__ import annotations

import numpy as np
import pytest

from lugwright.circuit.edits import Edit, ScaleValue, SetValue
from lugwright.circuit.elements import Capacitor, Coil, Junction, Resistor, VoltageSource, Windings
from lugwright.circuit.network import Circuit
from lugwright.solve.ohms import ohm_readings, resistance_ohm

NETWORK = Circuit(
    (
        Resistor("R1", "a", "b", 1000.0),
        Resistor("R2", "b", "ground", 2200.0),
        Resistor("R3", "b", "ground", 4700.0),
        Capacitor("C1", "a", "ground", 1e-6),
        Resistor("R4", "far", "ground", 1e12),
        Windings("T1", (Coil("T1.p.1-2", "p", "q", 10.0, 55.0), Coil("T1.s.1-2", "s", "ground", 1.0, 0.5)), 10.0),
        Resistor("R5", "q", "ground", 100.0),
        VoltageSource("mains", "a", "ground", 0.0, 120.0, 0.4),
    )
)


def test_series_and_parallel_and_the_mains_does_not_count() -> None:
    expected = 1000.0 + 2200.0 * 4700.0 / 6900.0
    found = resistance_ohm(NETWORK, [("a", "ground"), ("a", "b"), ("ground", "a"), ("a", "a")])
    assert found[0] == pytest.approx([expected, 1000.0, expected, 0.0], rel=1e-6)


def test_windings_read_their_copper_and_beyond_the_last_range_is_infinite() -> None:
    found = resistance_ohm(NETWORK, [("p", "q"), ("p", "ground"), ("s", "ground"), ("far", "ground")])
    assert found[0][:3] == pytest.approx([55.0, 155.0, 0.5], rel=1e-6)
    assert np.isinf(found[0][3])


def test_edits_change_their_own_row_only() -> None:
    found = resistance_ohm(NETWORK, [("a", "b")], [Edit("as is"), Edit("high", (ScaleValue("R1", "ohm", 1.1),))])
    assert found[:, 0] == pytest.approx([1000.0, 1100.0], rel=1e-6)


def test_a_junction_conducts_one_way_and_is_marked() -> None:
    circuit = Circuit(
        (Junction("CR1", "a", "ground"), Resistor("R1", "a", "ground", 1e6), Resistor("R2", "b", "ground", 50.0))
    )
    found = ohm_readings(circuit, [("a", "ground"), ("ground", "a"), ("b", "ground")])
    forward, backward, plain = found.ohm[0]
    assert forward < 1e5 < backward
    assert backward == pytest.approx(1e6, rel=1e-2)
    assert plain == pytest.approx(50.0, rel=1e-6)
    assert list(found.through_junction) == [True, False, False]


def test_an_edit_that_opens_a_contact_reads_through_the_junction_behind_it() -> None:
    behind = (Junction("CR1", "a", "b"), Resistor("R1", "b", "ground", 390e3))
    contact = Resistor("S1", "a", "ground", 0.02)
    edits = [Edit("closed"), Edit("open", (SetValue("S1", "ohm", 1e15),))]
    closed, opened = resistance_ohm(Circuit((contact, *behind)), [("a", "ground")], edits)[:, 0]
    assert closed == pytest.approx(0.02, rel=1e-6)
    assert 391e3 < opened < 2e6
    assert opened == pytest.approx(resistance_ohm(Circuit(behind), [("a", "ground")])[0, 0], rel=1e-6)
