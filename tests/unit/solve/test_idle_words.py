"""What the solver says when it cannot answer."""

from __future__ import annotations

from pathlib import Path

import pytest

from lugwright.buildfile.read import read_text
from lugwright.catalogue.load import tube_type
from lugwright.catalogue.records import PentodeLaw
from lugwright.circuit.edits import Edit, SetValue
from lugwright.circuit.elements import Capacitor, Junction, PentodeTube, Resistor, VoltageSource
from lugwright.circuit.from_build import circuit_from_build
from lugwright.circuit.network import Circuit
from lugwright.errors import CircuitError, NoIdlePoint
from lugwright.solve.idle import solve_idle

EXAMPLES = Path(__file__).parents[3] / "examples"


def test_an_edit_of_a_part_that_is_not_there_is_named() -> None:
    circuit = Circuit((Resistor("R1", "a", "ground", 1e3), VoltageSource("S1", "a", "ground", 10.0, 0.0, 1.0)))
    with pytest.raises(CircuitError) as caught:
        solve_idle(circuit, [Edit("typo", (SetValue("R2", "ohm", 1.0),))])
    assert str(caught.value) == (
        "edit 'typo' does not fit the circuit\n"
        "  found:  R2.ohm\n"
        "  wanted: an element of the circuit and one of its values\n"
        "  do:     check the part's name"
    )


def test_a_value_that_is_not_a_number_gives_no_number() -> None:
    circuit = Circuit((Resistor("R1", "a", "ground", float("nan")), VoltageSource("S1", "a", "ground", 10.0, 0.0, 1.0)))
    with pytest.raises(NoIdlePoint, match="no idle point found") as caught:
        solve_idle(circuit)
    assert caught.value.do == "look for an open or shorted path at a"


def test_a_plate_that_only_leaks_stops_just_below_its_cathode() -> None:
    law = tube_type("EL84").law
    assert isinstance(law, PentodeLaw)
    supply = (VoltageSource("S1", "a", "ground", 250.0, 0.0, 1.0), Resistor("R1", "a", "screen", 1e3))
    parts = (Resistor("R2", "screen", "ground", 10e3), Resistor("leak", "plate", "ground", 1e10))
    (idle,) = solve_idle(Circuit((*supply, *parts, PentodeTube("V1", "plate", "screen", "ground", "ground", law))))
    assert -10.0 < idle.joints["plate"].volts < -2.0
    assert abs(idle.tubes["V1"].plate_a) < 1e-9
    assert idle.tubes["V1"].screen_a > 1e-3


@pytest.mark.parametrize("on", [1.0, 0.0])
def test_a_screen_joined_to_nothing_is_named(on: float) -> None:
    law = tube_type("EL84").law
    assert isinstance(law, PentodeLaw)
    circuit = Circuit(
        (
            VoltageSource("S1", "a", "ground", 0.0, 100.0, 1.0),
            Junction("CR1", "a", "B+"),
            Capacitor("C1", "B+", "ground", 47e-6),
            PentodeTube("V1", "B+", "V1.screen", "ground", "ground", law),
        )
    )
    with pytest.raises(NoIdlePoint) as caught:
        solve_idle(circuit, [Edit("pulled", (SetValue("V1", "on", on),))])
    assert str(caught.value) == (
        "no idle point found\n"
        "  found:  V1.screen: nothing holds its volts\n"
        "  wanted: a path for direct current from every joint\n"
        "  do:     join V1.screen to what it belongs to"
    )


def test_an_island_floats_without_upsetting_the_rest() -> None:
    """An unused winding reads nothing against ground, and the rest is solved."""
    circuit = Circuit(
        (
            VoltageSource("S1", "a", "ground", 0.0, 100.0, 1.0),
            Junction("CR1", "a", "out"),
            Capacitor("C1", "out", "ground", 47e-6),
            Resistor("R1", "out", "ground", 10e3),
            Resistor("R2", "x", "y", 1e3),
        )
    )
    idle = solve_idle(circuit)[0]
    assert idle.joints["out"].volts == pytest.approx(138.0, abs=3.0)
    assert idle.joints["x"].volts == pytest.approx(0.0, abs=1e-9)


def test_a_circuit_without_rectifier_is_plain_alternating_current() -> None:
    circuit = Circuit(
        (VoltageSource("S1", "a", "ground", 0.0, 6.3, 0.1), Resistor("R1", "a", "ground", 10.0)), mains_hz=50.0
    )
    idle = solve_idle(circuit)[0]
    assert idle.joints["a"].ripple_rms_v == pytest.approx(6.3 * 10.0 / 10.1, rel=1e-9)
    assert idle.parts["R1"].watts == pytest.approx((6.3 / 10.1) ** 2 * 10.0, rel=1e-9)


def test_an_amplifier_that_is_switched_off_is_certified_at_nothing() -> None:
    text = (EXAMPLES / "dunlin_5.toml").read_text()
    off = text.replace('S1 = { label = "Mains", positions', 'S1 = { position = "off", label = "Mains", positions')
    assert off != text
    build = read_text(off).build
    assert build is not None
    (idle,) = solve_idle(circuit_from_build(build))
    assert idle.certificate.passed
    assert idle.mains_rms_a < 1e-9
    assert abs(idle.joints["B+1"].volts) < 1.0
