"""What the circuit for signals adds to the circuit for DC."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from lugwright.buildfile.build import Build
from lugwright.buildfile.read import read_build
from lugwright.catalogue.load import tube_type
from lugwright.circuit.audio import PRIMARY_F, SOCKET_F, audio_circuit
from lugwright.circuit.elements import Capacitor, Resistor
from lugwright.circuit.from_build import circuit_from_build
from lugwright.solve.response import load_admittance_s

EXAMPLES = sorted((Path(__file__).parents[3] / "examples").glob("*.toml"))


def _build(stem: str) -> Build:
    (path,) = (p for p in EXAMPLES if p.stem == stem)
    build = read_build(path).build
    assert build is not None
    return build


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda p: p.stem)
def test_every_joint_of_the_plain_circuit_is_in_it(path: Path) -> None:
    build = _build(path.stem)
    assert set(circuit_from_build(build).joints) <= set(audio_circuit(build).joints)


def test_each_section_has_its_capacitances_and_the_socket_s() -> None:
    build = _build("dunlin_5")
    by_name = audio_circuit(build).by_name
    inside = tube_type("12AX7").capacitances["a"]
    assert inside.grid_plate_f is not None
    between = by_name["V1a.grid-plate"]
    assert isinstance(between, Capacitor)
    assert between.farad == pytest.approx(inside.grid_plate_f.value + SOCKET_F)
    assert (between.a, between.b) == ("V1a.grid", "V1a.plate")
    turns = by_name["T2.primary.1-2.turns"]
    assert isinstance(turns, Capacitor)
    assert turns.farad == PRIMARY_F


def test_a_loudspeaker_is_near_its_nominal_impedance_above_its_resonance() -> None:
    """By definition of the nominal impedance it may dip to 80 percent of it there; IEC 60268-5, from memory."""
    build = _build("dunlin_5")
    hertz = np.array([110.0, 300.0, 400.0, 1000.0])
    ohm = 1.0 / np.abs(load_admittance_s(audio_circuit(build), "LS1", "J2.tip", "ground", hertz))
    assert 25.0 < ohm[0] < 40.0
    assert 0.8 * 8.0 < ohm[2] < 1.1 * 8.0
    assert np.all(ohm[1:] > 0.8 * 8.0)


def test_a_loudspeaker_s_impedance_rises_less_than_its_frequency() -> None:
    """Some 30 ohm at 10 kHz and 45 at 20 kHz, from memory of curves of guitar loudspeakers."""
    hertz = np.array([10e3, 20e3])
    ohm = 1.0 / np.abs(load_admittance_s(audio_circuit(_build("dunlin_5")), "LS1", "J2.tip", "ground", hertz))
    assert ohm == pytest.approx([30.0, 45.0], rel=0.2)


def test_a_dummy_load_is_a_resistor() -> None:
    build = _build("dunlin_5")
    load = audio_circuit(build, resistive_speaker=True).by_name["LS1"]
    assert isinstance(load, Resistor)
    assert load.ohm == 8.0


def test_a_tank_has_its_stated_impedance_at_one_kilohertz() -> None:
    build = _build("godwit_40")
    tank = build.part("DL1")
    a, b = tank.terminal("in").joint, tank.terminal("in_ground").joint
    ohm = 1.0 / np.abs(load_admittance_s(audio_circuit(build), "DL1.in", a, b, np.array([1000.0])))
    assert ohm[0] == pytest.approx(8.0, rel=1e-9)
