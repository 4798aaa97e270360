from __future__ import annotations

from dataclasses import replace

from lugwright.bringup.faults.fault import Fault
from lugwright.bringup.trace.hypotheses import hypotheses_of, together
from lugwright.circuit.edits import SetValue
from lugwright.circuit.elements import Resistor
from lugwright.circuit.network import Circuit
from lugwright.circuit.rewiring import Bridge, Moved, Rewiring, rewired

CIRCUIT = Circuit((Resistor("R1", "a", "b", 1e3), Resistor("R2", "b", "ground", 1e3), Resistor("R3", "b", "c", 1e3)))


def fault(key: str, rewiring: Rewiring, **other: object) -> Fault:
    return replace(Fault(key, "F57", key, "mend it", 1.0, rewiring), **other)  # type: ignore[arg-type]


def test_the_good_build_stands_first_and_has_no_fault() -> None:
    (good,) = hypotheses_of(CIRCUIT, ())
    assert good.faults == ()
    assert good.odds == 0.0


def test_two_names_for_a_new_joint_are_one_hypothesis_and_their_odds_add_up() -> None:
    one = fault("missing W1", Rewiring("x", moved=(Moved("R1", "b", "b'"),)), stands={"A.1": "b'"})
    other = fault("cold W1", Rewiring("y", moved=(Moved("R1", "b", "other"),)), stands={"A.1": "other"}, odds=2.0)
    _, both = hypotheses_of(CIRCUIT, (one, other))
    assert [f.key for f in both.faults] == ["cold W1", "missing W1"]
    assert both.odds == 3.0


def test_the_same_circuit_read_at_other_terminals_is_another_hypothesis() -> None:
    rewiring = Rewiring("x", moved=(Moved("R1", "b", "b'"),))
    found = hypotheses_of(CIRCUIT, (fault("p", rewiring, stands={"A.1": "b'"}), fault("q", rewiring)))
    assert len(found) == 3


def test_what_a_circuit_does_not_compute_keeps_faults_apart() -> None:
    change = Rewiring("x", changes=(SetValue("R1", "ohm", 1.0),))
    found = hypotheses_of(CIRCUIT, (fault("p", change, shows=frozenset({"howl"})), fault("q", change)))
    assert len(found) == 3


def test_two_at_once_keep_their_new_joints_apart() -> None:
    first = fault("p", Rewiring("p", moved=(Moved("R1", "b", "b'"),)), stands={"A.1": "b'"})
    second = fault(
        "q", Rewiring("q", moved=(Moved("R3", "a", "b'"),), bridges=(Bridge("b'", "c", 1.0),)), stands={"A.2": "b'"}
    )
    _, one, other = hypotheses_of(CIRCUIT, (first, second))
    both = together(CIRCUIT, one, other)
    circuit = rewired(CIRCUIT, both.rewiring)
    assert circuit.by_name["R1"].joints == ("a", "b'")
    assert circuit.by_name["R3"].joints == ("b', too", "c")
    assert circuit.by_name["bridge.0"].joints == ("b', too", "c")
    assert both.stands == {"A.1": "b'", "A.2": "b', too"}
    assert [f.key for f in both.faults] == ["p", "q"]
