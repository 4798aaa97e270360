"""A circuit wired otherwise: ends on other joints, bridges; what does not fit is refused in words."""

from __future__ import annotations

import pytest

from lugwright.circuit.elements import Coil, Resistor, Windings
from lugwright.circuit.network import Circuit
from lugwright.circuit.rewiring import Bridge, Moved, Rewiring, ends_of, rewired
from lugwright.errors import CircuitError

CIRCUIT = Circuit(
    (
        Resistor("R1", "in", "out", 100.0),
        Resistor("R2", "out", "ground", 200.0),
        Windings("L1", (Coil("L1.1", "out", "far", 1.0, 5.0),), 1.0),
    )
)


def test_an_end_moves_to_a_joint_of_its_own() -> None:
    found = rewired(CIRCUIT, Rewiring("off", moved=(Moved("R2", "a", "out'"), Moved("L1.1", "b", "in"))))
    assert found.by_name["R2"].joints == ("out'", "ground")
    assert found.by_name["L1"].joints == ("out", "in")
    assert found.by_name["R1"] is CIRCUIT.by_name["R1"]


def test_a_bridge_is_a_resistor_more() -> None:
    found = rewired(CIRCUIT, Rewiring("blob", bridges=(Bridge("in", "far", 0.1),)))
    assert [(e.name, e.joints) for e in found.elements[3:]] == [("bridge.0", ("in", "far"))]


def test_two_at_once_and_the_later_move_of_one_end_counts() -> None:
    both = Rewiring("one", moved=(Moved("R1", "a", "x"),)) + Rewiring("two", moved=(Moved("R1", "a", "y"),))
    assert both.name == "one, and two"
    assert rewired(CIRCUIT, both).by_name["R1"].joints == ("y", "out")


def test_every_end_is_told_coils_by_their_own_names() -> None:
    assert ("L1.1", "b", "far") in list(ends_of(CIRCUIT.elements))
    assert len(list(ends_of(CIRCUIT.elements))) == 6


@pytest.mark.parametrize("moved", [Moved("R9", "a", "x"), Moved("R1", "plate", "x"), Moved("R1", "ohm", "x")])
def test_an_end_that_nothing_has_is_refused(moved: Moved) -> None:
    with pytest.raises(CircuitError, match=rf"found:  {moved.element}\.{moved.end}"):
        rewired(CIRCUIT, Rewiring("wrong", moved=(moved,)))
