"""A driven period closed on its surroundings: linear limit, balance, continuation, supply."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lugwright.buildfile.read import read_build
from lugwright.catalogue.load import tube_type
from lugwright.circuit.elements import Capacitor, Element, Junction, Resistor, TriodeTube, VoltageSource
from lugwright.circuit.network import Circuit
from lugwright.solve.idle import solve_column
from lugwright.solve.power_bench import gain, power_bench
from lugwright.solve.power_readout import Reading, certificate, power_point, shares
from lugwright.solve.response_results import ResponseWish
from lugwright.solve.study import Study
from lugwright.solve.sustained import Sustained, Tone
from lugwright.solve.system import System

EXAMPLES = Path(__file__).parents[3] / "examples"
HZ = 1000.0


def stage(plate_ohm: float = 100e3, cathode_ohm: float = 1500.0, grid_ohm: float = 68e3) -> Sustained:
    """Return one triode stage on a battery, driven through its grid resistor."""
    parts: list[Element] = [
        VoltageSource("battery", "plus", "ground", 300.0, 0.0, 1000.0),
        VoltageSource("generator", "in", "ground", 0.0, 0.0, 600.0),
        Capacitor("C1", "in", "g", 22e-9), Resistor("R1", "g", "ground", 1e6), Resistor("R2", "g", "grid", grid_ohm),
        TriodeTube("V1", "plate", "grid", "cathode", tube_type("12AX7").law),
        Resistor("R3", "plus", "plate", plate_ohm), Resistor("R4", "cathode", "ground", cathode_ohm),
        Capacitor("C2", "plate", "out", 22e-9), Resistor("R5", "out", "ground", 1e6),
    ]  # fmt: skip
    system = System(Circuit(tuple(parts), "ground", 60.0))
    return Sustained(solve_column(system, system.values(())), "generator", hz=HZ, harmonics=32)


def out(driven: Sustained, reading: Reading) -> np.ndarray:
    return np.abs(reading.joint_v[driven.system.row["out"]])


@settings(max_examples=25, deadline=None, derandomize=True)
@given(
    st.floats(47e3, 220e3), st.floats(470.0, 4700.0), st.floats(1e3, 470e3), st.floats(0.05, 40.0),
)  # fmt: skip
def test_power_in_is_power_out_at_any_drive(plate: float, cathode: float, grid: float, peak_v: float) -> None:
    driven = stage(plate, cathode, grid)
    point = driven.drive([Tone(1, peak_v)])
    assert point.closed
    found = certificate(Reading(driven, point))
    assert found.passed
    assert found.power_in_w == pytest.approx(found.power_out_w, rel=1e-6)


def test_currents_cancel_at_every_joint_and_harmonic() -> None:
    driven = stage()
    reading = Reading(driven, driven.drive([Tone(1, 5.0)]))
    system, ports = driven.system, driven.ports
    total = system.branch_scatter(np.concatenate([reading.branch_a, -reading.branch_a]))
    amps = np.fft.rfft(reading.point.period.port_a, axis=1) / driven.instants
    np.add.at(total, ports.plus, amps)
    np.add.at(total, ports.minus, -amps)
    assert np.abs(total[:-1]).max() < 1e-9 * np.abs(reading.branch_a).max()


def test_twice_the_harmonics_give_the_same_period() -> None:
    driven = stage()
    point = driven.drive([Tone(1, 2.0)])
    finer = Sustained(driven.idle, "generator", hz=HZ, harmonics=64)
    same = finer.drive([Tone(1, 2.0)], point)
    before, after = out(driven, Reading(driven, point))[:20], out(finer, Reading(finer, same))[:20]
    assert np.abs(before - after).max() < 1e-3 * before[1]


def test_a_positive_grid_charges_its_coupling_capacitor() -> None:
    driven = stage(grid_ohm=1e3)
    quiet, loud = (Reading(driven, driven.drive([Tone(1, v)])) for v in (0.01, 20.0))
    row = driven.system.row["grid"]
    assert abs(float(np.real(quiet.joint_v[row, 0]))) < 0.01
    assert float(np.real(loud.joint_v[row, 0])) < -5.0


def test_a_diode_clips_symmetrically_with_its_twin() -> None:
    parts: list[Element] = [
        VoltageSource("generator", "in", "ground", 0.0, 0.0, 600.0), Resistor("R1", "in", "out", 10e3),
        Junction("CR1", "out", "ground"), Junction("CR2", "ground", "out"), Capacitor("C1", "out", "ground", 1e-10),
    ]  # fmt: skip
    system = System(Circuit(tuple(parts), "ground", 60.0))
    driven = Sustained(solve_column(system, system.values(())), "generator", hz=HZ, harmonics=64)
    point = driven.drive([Tone(1, 10.0)])
    assert point.closed
    spectrum = out(driven, Reading(driven, point))
    assert spectrum[2:21:2].max() < 1e-3 * spectrum[1]  # what folds back from beyond the harmonics kept
    top_v = float(np.max(point.period.port_v))
    assert top_v == pytest.approx(0.75 + 0.04 * np.log(np.expm1((10.0 - top_v) / 10.6e3 * 0.25 / 0.04)), abs=2e-3)


@pytest.mark.parametrize("name", ["dunlin_5", "curlew_18", "godwit_40", "redshank_50"])
def test_a_whisper_is_amplified_as_small_signals_are(name: str) -> None:
    """The driven period at a tenth of a millivolt against the small-signal response, within 1e-4."""
    build = read_build(EXAMPLES / f"{name}.toml").build
    assert build is not None
    bench = power_bench(build)
    driven = bench.driven(harmonics=8)
    response = Study(build, bench.idle, ResponseWish(resistive_speaker=True)).response()
    generator = 20.0 * np.log10(gain(driven, bench.load_on(driven)))
    assert generator == pytest.approx(response.curves[0].gain_1khz_db, abs=0.02)


def test_the_supply_sags_and_both_agree() -> None:
    build = read_build(EXAMPLES / "godwit_40.toml").build
    assert build is not None
    bench = power_bench(build)
    driven = bench.driven(harmonics=24)
    load = bench.load_on(driven)
    point = None
    for peak_v in (0.03, 0.1, 0.17):
        point = driven.drive([Tone(1, peak_v)], point)
    found = power_point(Reading(driven, point), load)
    assert found.certificate.passed
    assert found.certificate.supply_gap < 1e-4
    idle_v = float(bench.idle.dc.volts[bench.idle.system.row["B+1"], 0])
    assert found.b_plus_v["B+1"] < idle_v - 10.0
    assert found.supply_w > 1.5 * found.watts > 20.0
    assert shares(Reading(driven, point), load)[0] == 1.0
