"""Hiss through the transposed equations against every source driven by itself."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from lugwright.circuit.elements import Coil, Element, Windings
from lugwright.solve.frequencies import decade_steps_hz
from lugwright.solve.hiss import BOLTZMANN, FLICKER_HZ, ROOM_K, a_weighting, against_full_power, hiss_at
from lugwright.solve.response import across, port_of
from lugwright.solve.response_results import Hiss
from lugwright.solve.small_signal import SmallSignal

from ...given_slopes import capacitor, resistor, signal_of, triode

HERTZ = decade_steps_hz(low=20.0, high=20e3)
GM, RP = 1.6e-3, 62.5e3


def _stage() -> SmallSignal:
    coils = (Coil("T1.p", "plate", "ground", 20.0, 300.0), Coil("T1.s", "out", "ground", 1.0, 0.5))
    parts: list[Element] = [
        resistor("R1", "grid", "ground", 68e3), capacitor("C1", "grid", "ground", 100e-12),
        triode("V1", "plate", "grid", "cathode"), resistor("R2", "cathode", "ground", 1500.0),
        Windings("T1", coils, 50.0), resistor("R3", "out", "ground", 200.0),
    ]  # fmt: skip
    return signal_of(parts, {"V1": (GM * RP, RP)})


def _hiss(signal: SmallSignal) -> Hiss:
    ones = np.ones(len(HERTZ), dtype=complex)
    port = port_of(signal.system, "out")
    return hiss_at(signal.at(HERTZ), port, "out", gain=10.0 * ones)


def _band(density: np.ndarray) -> float:
    return float(np.sqrt(np.trapezoid(density * HERTZ, np.log(HERTZ))))


def test_every_source_alone_adds_up_to_the_hiss() -> None:
    signal = _stage()
    network = signal.at(HERTZ)
    out, kt4 = port_of(signal.system, "out"), 4 * BOLTZMANN * ROOM_K
    row, ground = signal.system.row, signal.system.size
    ports = [(row["grid"], ground), (row["cathode"], ground), (row["out"], ground), (row["plate"], row["cathode"])]
    volts = network.driven(ports)[:, :, 0]
    power = [np.abs(across(volts[:, k], out)) ** 2 for k in range(4)]
    flicker = 1.0 + FLICKER_HZ / HERTZ
    expected = {"R1": kt4 / 68e3 * power[0], "R2": kt4 / 1500.0 * power[1], "R3": kt4 / 200.0 * power[2],
                "V1": kt4 * 2.5 * GM * power[3] * flicker}  # fmt: skip
    found = {source.part: source.volts for source in _hiss(signal).sources}
    for name, density in expected.items():
        assert found[name] == pytest.approx(_band(density), rel=1e-9), name
    # The copper of both coils: what an added series resistor of that value makes, in a transformer without copper.
    assert found["T1"] == pytest.approx(_copper_alone(), rel=1e-3)


def _copper_alone() -> float:
    coils = (Coil("T1.p", "x", "ground", 20.0, 1e-4), Coil("T1.s", "y", "ground", 1.0, 1e-7))
    parts: list[Element] = [
        resistor("R1", "grid", "ground", 68e3), capacitor("C1", "grid", "ground", 100e-12),
        triode("V1", "plate", "grid", "cathode"), resistor("R2", "cathode", "ground", 1500.0),
        Windings("T1", coils, 50.0), resistor("R3", "out", "ground", 200.0),
        resistor("R4", "plate", "x", 300.0), resistor("R5", "out", "y", 0.5),
    ]  # fmt: skip
    sources = {s.part: s.volts for s in _hiss(signal_of(parts, {"V1": (GM * RP, RP)})).sources}
    return float(np.hypot(sources["R4"], sources["R5"]))


def test_shares_add_up_and_the_loudest_comes_first() -> None:
    hiss = _hiss(_stage())
    assert sum(source.share for source in hiss.sources) == pytest.approx(1.0)
    levels = [source.volts for source in hiss.sources]
    assert levels == sorted(levels, reverse=True)
    assert np.sqrt(np.sum(np.square(levels))) == pytest.approx(hiss.volts)
    assert hiss.weighted_volts < hiss.volts


def test_grain_of_a_resistor_is_the_same_in_every_decade() -> None:
    """A plate resistor of 100k with 150 V on it, 1 uV per volt and decade: 150 uV in each of three decades."""
    parts: list[Element] = [resistor("R1", "B+", "out", 100e3), resistor("R0", "B+", "ground", 1e-3)]
    signal = signal_of(parts, {})
    volts = signal.volts.copy()
    volts[signal.system.row["B+"]] = 150.0
    network = replace(signal, volts=volts).at(HERTZ)
    ones = np.ones(len(HERTZ), dtype=complex)
    hiss = hiss_at(
        network, port_of(signal.system, "out"), "out", gain=ones,
        excess={"R1": 1e-6},
    )  # fmt: skip
    found = {(s.part, s.what): s.volts for s in hiss.sources}
    assert found["R1", "grain"] == pytest.approx(150e-6 * np.sqrt(3.0), rel=1e-6)


def test_density_at_the_input_is_that_at_the_output_over_the_gain() -> None:
    hiss = _hiss(_stage())
    at_1khz = hiss.volts_per_root_hz[int(np.argmin(np.abs(np.log(HERTZ / 1000.0))))]
    assert hiss.input_v_per_root_hz == pytest.approx(at_1khz / 10.0)
    assert hiss.signal_to_noise_db is None


def test_hiss_against_full_power_is_a_ratio_of_volts_into_the_load() -> None:
    hiss = _hiss(_stage())
    loud = against_full_power(hiss, watts=5.0, load_ohm=8.0)
    assert loud.signal_to_noise_db == pytest.approx(20 * np.log10(np.sqrt(5.0 * 8.0) / hiss.volts))
    assert loud.full_power_w == 5.0


@pytest.mark.parametrize(
    ("hertz", "db"), [(1000.0, 0.0), (100.0, -19.1), (10000.0, -2.5), (31.62, -39.4), (3162.0, 1.2)]
)
def test_a_curve_has_its_published_values(hertz: float, db: float) -> None:
    """Table of IEC 61672-1, from memory, to a tenth of a decibel."""
    assert 20 * np.log10(a_weighting(np.array([hertz])))[0] == pytest.approx(db, abs=0.06)
