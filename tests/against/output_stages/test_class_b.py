"""Push-pull pairs with tubes that are next to ideal, and a catalogue pair, as whole driven circuits."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

from lugwright.catalogue.load import tube_type
from lugwright.catalogue.records import PentodeLaw, TriodeLaw
from lugwright.circuit.elements import Coil, Element, PentodeTube, Resistor, TriodeTube, VoltageSource, Windings
from lugwright.circuit.network import Circuit
from lugwright.solve.idle import solve_column
from lugwright.solve.power_readout import Reading, load_of, power_point
from lugwright.solve.power_results import PowerPoint
from lugwright.solve.small_signal import SmallSignal
from lugwright.solve.sustained import Sustained, Tone
from lugwright.solve.system import System

from ...given_slopes import resistor, signal_of

HZ, LOAD_OHM = 1000.0, 8.0
# A tube that passes any current as soon as its grid is above its cathode, and none below.
VALVE = TriodeLaw(mu=1e7, k=100.0, kp=1e8, vct=0.0, kvb=0.0, grid_gain=0.0)


def _primary(plate_to_plate_ohm: float, ends: tuple[str, str], middle: str) -> list[Element]:
    turns = 0.5 * math.sqrt(plate_to_plate_ohm / LOAD_OHM)
    halves = Coil("T1.a", ends[0], middle, turns, 1e-3), Coil("T1.b", middle, ends[1], turns, 1e-3)
    return [
        Windings("T1", (*halves, Coil("T1.s", "out", "ground", 1.0, 1e-6)), 1e4),
        Resistor("LS1", "out", "ground", LOAD_OHM),
    ]


def _phases(bias_v: float) -> list[Element]:
    """Return two grids driven in opposite phase by one generator, each with the generator's volts."""
    inputs = [Coil(f"T2.{name}", *ends, 1.0, 1e-3) for name, ends in
              (("in", ("in", "ground")), ("a", ("g1", "bias")), ("b", ("bias", "g2")))]  # fmt: skip
    return [
        VoltageSource("generator", "in", "ground", 0.0, 0.0, 1e-3), Windings("T2", tuple(inputs), 1e4),
        VoltageSource("bias", "bias", "ground", bias_v, 0.0, 1e-3),
    ]  # fmt: skip


def _followers(*, supply_v: float, plate_to_plate_ohm: float) -> Sustained:
    """Return an ideal class B pair: cathodes that follow their grids, the load between them."""
    parts: list[Element] = [
        VoltageSource("plates", "b", "ground", supply_v, 0.0, 1e-3), *_phases(0.0),
        TriodeTube("V1", "b", "g1", "k1", VALVE), TriodeTube("V2", "b", "g2", "k2", VALVE),
        *_primary(plate_to_plate_ohm, ("k1", "k2"), "ground"),
    ]  # fmt: skip
    system = System(Circuit(tuple(parts), "ground", 60.0))
    return Sustained(solve_column(system, system.values(())), "generator", hz=HZ, harmonics=64)


def _heat_w(bench: Sustained, peak_v: float) -> float:
    point = bench.drive([Tone(1, peak_v)])
    found = power_point(Reading(bench, point), load_of(bench, "LS1", "out", "ground"))
    assert found.certificate.passed
    return sum(tube.plate_w for tube in found.tubes.values())


@pytest.mark.parametrize(("supply_v", "ohm", "watts"), [(450.0, 5600.0, 29.3), (400.0, 8000.0, 16.2)])
def test_most_heat_of_a_class_b_pair(supply_v: float, ohm: float, watts: float, tolerance: dict[str, Any]) -> None:
    """B-54: 2 Eb^2 / (pi^2 Raa / 4) in both tubes, at a swing of 2 Eb / pi; less at any other swing."""
    bench = _followers(supply_v=supply_v, plate_to_plate_ohm=ohm)
    worst_v = 2.0 * supply_v / math.pi
    least, most, less = (_heat_w(bench, share * worst_v) for share in (0.75, 1.0, 1.25))
    assert most == pytest.approx(watts, rel=tolerance["corners"])
    assert max(least, less) < most
    # Away from the worst the sum of the formula's two terms: (2 / pi) Eb I - V I / 2.
    for share, found in ((0.75, least), (1.25, less)):
        swing = share * worst_v
        peak_a = swing / (ohm / 4.0)
        expected = (2.0 * supply_v / math.pi - swing / 2.0) * peak_a
        assert found == pytest.approx(expected, rel=tolerance["corners"])


def _pair_6l6gc() -> tuple[Sustained, PowerPoint, Reading]:
    """Return the sheet's fixed-bias pair: 450/400 V, -37 V, 5.6 k, driven to zero grid volts."""
    law = tube_type("6L6GC").law
    assert isinstance(law, PentodeLaw)
    parts: list[Element] = [
        VoltageSource("plates", "b", "ground", 450.0, 0.0, 0.01),
        VoltageSource("screens", "s", "ground", 400.0, 0.0, 0.01), *_phases(-37.0),
        PentodeTube("V1", "p1", "s", "g1", "ground", law), PentodeTube("V2", "p2", "s", "g2", "ground", law),
        *_primary(5600.0, ("p1", "p2"), "b"),
    ]  # fmt: skip
    system = System(Circuit(tuple(parts), "ground", 60.0))
    bench = Sustained(solve_column(system, system.values(())), "generator", hz=HZ, harmonics=48)
    point = None
    for peak_v in (10.0, 25.0, 35.0):
        point = bench.drive([Tone(1, peak_v)], point)
    assert point is not None
    reading = Reading(bench, point)
    return bench, power_point(reading, load_of(bench, "LS1", "out", "ground")), reading


def test_power_from_the_swing_of_a_plate(tolerance: dict[str, Any]) -> None:
    """B-53: Po = 2 V^2 / Raa; 55 W in 5.6 k are 392 V, which leaves 58 V of 450 V."""
    bench, found, reading = _pair_6l6gc()
    swing_v = 2.0 * float(np.abs(reading.joint_v[bench.system.row["p1"], 1]))
    fundamental_w = found.watts / (1.0 + found.distortion**2)
    assert 2.0 * swing_v**2 / 5600.0 == pytest.approx(fundamental_w, rel=tolerance["exact"])
    for_55_w = swing_v * math.sqrt(55.0 / fundamental_w)
    assert for_55_w == pytest.approx(392.0, rel=tolerance["exact"])
    assert 450.0 - for_55_w == pytest.approx(58.0, abs=tolerance["exact"] * 450.0)


def test_screen_current_of_that_pair(tolerance: dict[str, Any]) -> None:
    """B-58: 22 mA for both screens at full drive."""
    _, found, _ = _pair_6l6gc()
    assert sum(tube.screen_a for tube in found.tubes.values()) == pytest.approx(0.022, rel=tolerance["screen"])


@pytest.mark.xfail(
    strict=True, reason="3.1 %: the third harmonic of this pair, 1.7 times what the sheet prints for all"
)
def test_distortion_of_that_pair(tolerance: dict[str, Any]) -> None:
    """B-58: 1.8 % at full drive."""
    _, found, _ = _pair_6l6gc()
    factor = tolerance["distortion_factor"]
    assert 0.018 / factor < found.distortion < 0.018 * factor


def _class_a() -> SmallSignal:
    parts = [*_primary(8000.0, ("p1", "p2"), "b"), resistor("R1", "b", "ground", 1e-3)]
    return signal_of(parts, {})


def test_worked_class_a_pair(tolerance: dict[str, Any]) -> None:
    """B-55: 10 W into 8 k: 282.8 V and 35.36 mA plate to plate, 141.4 V a half; plates swing 200 V on 50 mA of idle."""
    signal = _class_a()
    row = signal.system.row
    volts = signal.at(np.array([HZ])).driven([(row["p1"], row["p2"])])[:, 0, 0, 0] * 0.03536
    assert abs(volts[row["p1"]] - volts[row["p2"]]) == pytest.approx(282.8, rel=tolerance["exact"])
    assert abs(volts[row["p1"]] - volts[row["b"]]) == pytest.approx(141.4, rel=tolerance["exact"])
    assert abs(volts[row["p1"]]) * math.sqrt(2.0) == pytest.approx(200.0, rel=tolerance["exact"])
    assert abs(volts[row["out"]]) ** 2 / LOAD_OHM == pytest.approx(10.0, rel=tolerance["exact"])
