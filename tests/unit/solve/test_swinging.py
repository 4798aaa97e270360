"""Swinging chokes: the inductance follows the direct current, and the supply follows the inductance."""

from __future__ import annotations

import math

import pytest

from lugwright.buildfile.build import Choke
from lugwright.buildfile.read import read_text
from lugwright.circuit.elements import Capacitor, Coil, Element, Junction, Resistor, VoltageSource, Windings
from lugwright.circuit.network import Circuit
from lugwright.circuit.swinging_choke import choke_inductance_h
from lugwright.solve.idle import solve_idle

AVERAGE_V = 300.0 * 2.0 * math.sqrt(2.0) / math.pi


def supply(load_ohm: float, *, light_h: float = 20.0, rated_h: float = 4.0) -> Circuit:
    parts: list[Element] = [
        VoltageSource("S1", "a", "ground", 0.0, 300.0, 20.0), VoltageSource("S2", "ground", "b", 0.0, 300.0, 20.0),
        Junction("CR1", "a", "x"), Junction("CR2", "b", "x"), Capacitor("C9", "x", "ground", 10e-9),
        Windings("L1", (Coil("L1", "x", "out", 1.0, 60.0),), rated_h, light_h, 0.15),
        Capacitor("C1", "out", "ground", 47e-6), Resistor("R1", "out", "ground", load_ohm),
    ]  # fmt: skip
    return Circuit(tuple(parts))


def test_both_stated_figures_lie_on_the_law() -> None:
    law = {"light_h": 20.0, "rated_h": 4.0, "rated_a": 0.15}
    assert choke_inductance_h(amps=0.0, **law) == pytest.approx(20.0)
    assert choke_inductance_h(amps=0.15, **law) == pytest.approx(4.0)
    assert choke_inductance_h(amps=-0.15, **law) == pytest.approx(4.0)
    assert 4.0 < choke_inductance_h(amps=0.05, **law) < 20.0


@pytest.mark.parametrize("load_ohm", [2000.0, 12000.0])
def test_the_idle_is_that_of_a_plain_choke_of_the_inductance_it_has(load_ohm: float) -> None:
    swinging = solve_idle(supply(load_ohm))[0]
    amps = swinging.parts["R1"].amps
    henry = float(choke_inductance_h(light_h=20.0, rated_h=4.0, rated_a=0.15, amps=amps))
    plain = solve_idle(supply(load_ohm, light_h=0.0, rated_h=henry))[0]
    assert swinging.joints["out"].volts == pytest.approx(plain.joints["out"].volts, rel=1e-6)
    assert swinging.joints["out"].ripple_rms_v == pytest.approx(plain.joints["out"].ripple_rms_v, rel=1e-4)


def test_a_light_load_stays_near_the_average_where_a_plain_choke_lets_it_rise() -> None:
    swinging = solve_idle(supply(12000.0))[0].joints["out"].volts
    plain = solve_idle(supply(12000.0, light_h=0.0))[0].joints["out"].volts
    assert swinging < 1.03 * AVERAGE_V
    assert plain > 1.06 * AVERAGE_V


def test_a_build_file_may_say_so() -> None:
    text = (
        'format = 1\n[build]\ntitle = "Swing"\nmains = { volts = 120, hertz = 60 }\n[stage.supply]\nduty = "supply"\n'
        'L1 = { value = "4H", light = "20H", ohm = 60, amps = 0.15, ends = ["x", "ground"] }\n'
        'R1 = { value = "1k", ends = ["x", "ground"] }\n'
    )
    build = read_text(text).build
    assert build is not None
    values = build.part("L1").values
    assert isinstance(values, Choke)
    assert (values.light_h, values.henry) == (20.0, 4.0)
