"""Limits of handbooks as the rules apply them: just inside there is no finding, just outside there is."""

from __future__ import annotations

import pytest

from lugwright.buildfile.build import Capacitor
from lugwright.catalogue.load import tube_type
from lugwright.circuit.elements import CurrentSource, VoltageSource
from lugwright.circuit.elements import Resistor as ResistorElement
from lugwright.circuit.network import Circuit
from lugwright.circuit.rules.stacked_capacitors import equalizing_ohm
from lugwright.solve.idle import solve_idle

from ...unit.circuit_rules.rating_bench import BODY, build_of, idle_of, part, told, tube


# D-16: a cathode at 150 V and a limit of 100 V: heaters lifted by 50 V or more.
@pytest.mark.parametrize(("lifted_v", "flagged"), [(0.0, True), (49.0, True), (51.0, False), (60.0, False)])
def test_heaters_of_a_follower_are_lifted_by_what_its_limit_lacks(lifted_v: float, flagged: bool) -> None:
    assert tube_type("EL34").limits["heater_cathode_v"].value == 100.0
    build = build_of(tube("V1", "EL34", cathode="k", heater1="h1", heater2="h2"))
    lines = told(build, idle_of(build, {"k": 150.0, "h1": lifted_v, "h2": lifted_v}), rules=("heater-cathode-volts",))
    assert any("fault" in line for line in lines) is flagged, lines


# D-16: the same for every type, also with the heater above the cathode.
@pytest.mark.parametrize("name", ["12AX7", "12AT7", "6SN7GT", "EF86", "EL84", "6L6GC"])
@pytest.mark.parametrize("sign", [1.0, -1.0])
def test_every_type_is_held_to_its_own_limit(name: str, sign: float) -> None:
    limit_v = tube_type(name).limits["heater_cathode_v"].value
    for share, flagged in ((0.99, False), (1.01, True)):
        at = sign * share * limit_v
        cathodes = {"cathode": "k", "a_cathode": "k", "b_cathode": "k"}
        build = build_of(tube("V1", name, **cathodes, heater1="h1", heater2="h2"))
        lines = told(build, idle_of(build, {"k": at}), rules=("heater-cathode-volts",))
        assert any("fault" in line for line in lines) is flagged, (name, at, lines)


# the largest first capacitor behind a rectifier tube, at it and a tenth above.
@pytest.mark.parametrize(
    ("name", "microfarad"), [("5Y3GT", 20), ("5U4GB", 40), ("GZ34", 60), ("EZ81", 50), ("EZ80", 50)]
)
def test_a_larger_first_capacitor_is_flagged(name: str, microfarad: float) -> None:
    for farad, flagged in ((microfarad * 1e-6, False), (1.1e-6 * microfarad, True)):
        build = build_of(
            tube("V5", name, plate1="p1", plate2="p2", cathode="B+1", heater1="f1", heater2="B+1"),
            part("C1", "capacitor", Capacitor(farad, 0.2, 500.0, "electrolytic", BODY), _1="B+1", _2="ground"),
        )
        lines = told(build, idle_of(build), rules=("rectifier-reservoir",))
        assert any("fault" in line for line in lines) is flagged, (name, lines)


# E-18: R of at most (2 Vr - Vtot) / dI across each of two capacitors in series keeps the one that leaks less at Vr.
@pytest.mark.parametrize(("rated_v", "total_v", "leak_a"), [(350.0, 600.0, 1e-3), (450.0, 800.0, 0.6e-3)])
def test_equalizing_resistors_hold_a_stack_at_its_rating(rated_v: float, total_v: float, leak_a: float) -> None:
    ohm = equalizing_ohm(rated_v=rated_v, total_v=total_v, leak_a=leak_a)
    assert ohm == pytest.approx((2.0 * rated_v - total_v) / leak_a, rel=1e-12)
    circuit = Circuit(
        (
            VoltageSource("B", "top", "ground", total_v, 0.0, 1e-3),
            ResistorElement("R1", "top", "middle", ohm), ResistorElement("R2", "middle", "ground", ohm),
            CurrentSource("leak", "middle", "ground", leak_a),
        )
    )  # fmt: skip
    middle_v = solve_idle(circuit)[0].joints["middle"].volts
    assert total_v - middle_v == pytest.approx(rated_v, rel=1e-4)
