"""The plain matrices against the admittances of the same circuit, and against what they promise."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from lugwright.buildfile.read import read_build
from lugwright.circuit.elements import (
    Capacitor,
    Coil,
    CurrentSource,
    Element,
    Junction,
    Resistor,
    VoltageSource,
    Windings,
)
from lugwright.circuit.from_build import circuit_from_build
from lugwright.circuit.network import Circuit
from lugwright.solve.descriptor import descriptor, diode_conductance, diode_slopes, tube_conductance
from lugwright.solve.device_laws import tube_matrix_entries, tube_state
from lugwright.solve.system import System

EXAMPLES = sorted((Path(__file__).parents[3] / "examples").glob("*.toml"))


@pytest.fixture(params=EXAMPLES, ids=lambda p: p.stem)
def system(request: pytest.FixtureRequest) -> System:
    build = read_build(request.param).build
    assert build is not None
    return System(circuit_from_build(build))


def _dense(system: System, slots: np.ndarray) -> np.ndarray:
    matrix = np.zeros((system.size, system.size), dtype=slots.dtype)
    matrix[system.dense_index] = slots[:-1, 0]
    return matrix


@pytest.mark.parametrize("s", [1j * 2.0, 1j * 6283.0, 1j * 3e6, 250.0 + 900.0j])
def test_impedances_are_those_of_the_admittances(system: System, s: complex) -> None:
    form = descriptor(system, system.base_values)
    whole = np.linalg.inv(s * form.storage + form.conductance)[: system.size, : system.size]
    nodal = np.linalg.inv(_dense(system, system.matrix(system.admittances(system.base_values, np.array([s])))))
    scale = np.sqrt(np.abs(np.outer(np.diag(nodal), np.diag(nodal))))
    assert np.max(np.abs(whole - nodal) / scale) < 1e-6


def test_passive_parts_store_and_burn_but_never_give(system: System) -> None:
    form = descriptor(system, system.base_values)
    assert np.allclose(form.storage, form.roots @ form.roots.T)
    burnt = np.linalg.eigvalsh(form.conductance + form.conductance.T)
    assert burnt.min() > -1e-9 * burnt.max()


def test_tube_slopes_are_those_of_the_dc_matrix(system: System) -> None:
    v = np.linspace(-5.0, 200.0, system.size + 1)[:, None]
    slots = system.tube_matrix_scatter(tube_matrix_entries(tube_state(system, system.base_values, v)))
    assert np.array_equal(tube_conductance(system, system.base_values, v), _dense(system, slots))


def test_sources_enter_with_their_sign() -> None:
    parts: list[Element] = [
        VoltageSource("S", "a", "ground", 0.0, 0.0, 2.0), CurrentSource("I", "ground", "a", 0.0),
        Resistor("R", "a", "ground", 2.0),
    ]  # fmt: skip
    system = System(Circuit(tuple(parts)))
    form = descriptor(system, system.base_values)
    volts = np.linalg.solve(form.conductance, form.input @ np.array([6.0, 1.0]))
    assert volts[0] == pytest.approx(4.0)  # 6 V halved, and 1 A into two times 2 ohm side by side


def test_a_coil_in_series_with_a_resistor_decays_with_l_over_r() -> None:
    parts: list[Element] = [
        Windings("L", (Coil("L", "a", "ground", 1.0, 3.0),), 0.5), Resistor("R", "a", "ground", 2.0),
    ]  # fmt: skip
    system = System(Circuit(tuple(parts)))
    form = descriptor(system, system.base_values)
    assert np.linalg.det(-10.0 * form.storage + form.conductance) == pytest.approx(0.0, abs=1e-12)


def test_a_diode_conducts_by_its_slope() -> None:
    parts: list[Element] = [Junction("CR", "a", "ground"), Resistor("R", "a", "ground", 5.0),
                            Capacitor("C", "a", "ground", 1e-6)]  # fmt: skip
    system = System(Circuit(tuple(parts)))
    v = np.array([[2.0], [0.0]])
    slope = diode_slopes(system, system.base_values, v)
    assert slope[0, 0] == pytest.approx(4.0, rel=1e-6)  # well above the threshold: a bulk resistance of 0.25 ohm
    assert diode_conductance(system, slope)[0, 0] == pytest.approx(slope[0, 0])
