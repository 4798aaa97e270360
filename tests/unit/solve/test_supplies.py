"""Every kind of rectifier: the idle's closed cycle is what stepping through the instants comes back to."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from lugwright.catalogue.load import tube_type
from lugwright.catalogue.records import PentodeLaw, RectifierLaw, TriodeLaw
from lugwright.circuit.elements import (
    Capacitor,
    Coil,
    Element,
    Junction,
    PentodeTube,
    Resistor,
    TriodeTube,
    VacuumDiode,
    VoltageSource,
    Windings,
)
from lugwright.circuit.network import Circuit
from lugwright.solve.first_cycles import FirstCycles
from lugwright.solve.idle import solve_column, solve_idle
from lugwright.solve.mains_harmonics import INSTANTS
from lugwright.solve.readout import solved_waves
from lugwright.solve.system import System

CLOSES = 1e-7  # of the mains peak: what the cycle is closed to


def fed(*secondaries: tuple[str, str, float, float], parts: list[Element]) -> Circuit:
    """Return parts on a power transformer; a secondary is its two joints, volts and ohms."""
    coils = [Coil("T1.primary", "line", "neutral", 120.0, 2.0)]
    coils += [Coil(f"T1.{k}", a, b, volts, ohm) for k, (a, b, volts, ohm) in enumerate(secondaries)]
    mains = [VoltageSource("mains", "line", "neutral", 0.0, 120.0, 0.4), Resistor("house", "neutral", "ground", 0.1)]
    return Circuit((*mains, Windings("T1", tuple(coils), 2.0), *parts))


def load(farad: float = 47e-6, ohm: float = 4e3) -> list[Element]:
    return [Capacitor("C1", "raw", "ground", farad), Resistor("R1", "raw", "ground", ohm)]


def vacuum(name: str, anode: str, cathode: str) -> VacuumDiode:
    law = tube_type("GZ34").law
    assert isinstance(law, RectifierLaw)
    return VacuumDiode(name, anode, cathode, law.perveance)


HALVES = (("a", "ground", 300.0, 40.0), ("ground", "b", 300.0, 42.0))
SILICON: list[Element] = [Junction("CR1", "a", "raw"), Junction("CR2", "b", "raw")]
LOWER: list[Element] = [Junction("CR3", "ground", "a"), Junction("CR4", "ground", "b")]
CHOKE: list[Element] = [
    Junction("CR1", "a", "x"), Junction("CR2", "b", "x"), Capacitor("C9", "x", "ground", 10e-9),
    Windings("L1", (Coil("L1", "x", "raw", 1.0, 100.0),), 10.0),
]  # fmt: skip
BIAS: list[Element] = [Capacitor("C2", "ground", "bias", 22e-6), Resistor("R2", "bias", "ground", 15e3)]
SUPPLIES = {
    "half wave": fed(("a", "ground", 300.0, 40.0), parts=[Junction("CR1", "a", "raw"), *load(ohm=1e4)]),
    "full wave": fed(*HALVES, parts=[*SILICON, *load()]),
    "bridge": fed(("a", "b", 300.0, 40.0), parts=[*SILICON, *LOWER, *load()]),
    "direct current for heaters": fed(("a", "b", 6.3, 0.05), parts=[*SILICON, *LOWER, *load(4.7e-3, 4.2)]),
    "direct current for heaters, nothing on ground": fed(("a", "b", 12.6, 0.2), parts=[
        *SILICON, Junction("CR3", "minus", "a"), Junction("CR4", "minus", "b"),
        Capacitor("C1", "raw", "minus", 2.2e-3), Resistor("R1", "raw", "minus", 42.0),
    ]),
    "tube": fed(*HALVES, parts=[vacuum("V1.1", "a", "raw"), vacuum("V1.2", "b", "raw"), *load()]),
    "bridge of tube and silicon": fed(
        ("a", "b", 300.0, 40.0), parts=[vacuum("V1.1", "a", "raw"), vacuum("V1.2", "b", "raw"), *LOWER, *load()]
    ),
    "doubler": fed(("a", "m", 150.0, 20.0), parts=[
        Junction("CR1", "a", "raw"), Junction("CR2", "ground", "a"), Capacitor("C2", "raw", "m", 100e-6),
        Capacitor("C3", "m", "ground", 100e-6), Resistor("R2", "raw", "m", 220e3), Resistor("R3", "m", "ground", 220e3),
        Resistor("R1", "raw", "ground", 5e3),
    ]),
    "half-wave doubler": fed(("a", "ground", 150.0, 20.0), parts=[
        Capacitor("C2", "a", "x", 47e-6), Junction("CR1", "ground", "x"), Junction("CR2", "x", "raw"), *load(ohm=2e4)
    ]),
    "Zener node": fed(*HALVES, parts=[
        *SILICON, *load(), Resistor("R2", "raw", "z", 1e4), Resistor("R3", "z", "ground", 47e3),
        Junction("CR5", "ground", "z", bulk_ohm=5.0, zener_v=150.0),
    ]),
    "choke input": fed(*HALVES, parts=[*CHOKE, *load()]),
    "choke input, light load": fed(*HALVES, parts=[*CHOKE, *load(ohm=4e4)]),
    "bias half wave": fed(("a", "ground", 50.0, 40.0), parts=[Junction("CR1", "bias", "a"), *BIAS]),
    "bias by a resistor from a plate winding": fed(*HALVES, parts=[
        *SILICON, *load(), Resistor("R3", "a", "y", 1e5), Junction("CR3", "bias", "y"), *BIAS
    ]),
    "bias by a capacitor from a plate winding": fed(*HALVES, parts=[
        *SILICON, *load(), Capacitor("C3", "a", "y", 47e-9), Junction("CR3", "bias", "y"),
        Junction("CR4", "y", "ground"), *BIAS,
    ]),
    "bias from a tap": fed(("a", "tap", 250.0, 30.0), ("tap", "ground", 50.0, 10.0), ("ground", "b", 300.0, 42.0),
                           parts=[*SILICON, *load(), Junction("CR3", "bias", "tap"), *BIAS]),
}  # fmt: skip


@pytest.mark.parametrize("circuit", SUPPLIES.values(), ids=SUPPLIES)
def test_a_closed_cycle_stepped_through_comes_back_to_itself(circuit: Circuit) -> None:
    system = System(circuit)
    values = system.values(())
    solved = solve_column(system, values)
    joint_v, branch_a = solved_waves(solved)
    stepped = FirstCycles(system, values, np.array([0.0]), steps=INSTANTS)
    count, coils = len(system.capacitors), stepped.companion.coils
    across = joint_v[system.branch_a] - joint_v[system.branch_b]
    states = np.concatenate([
        across[stepped.companion.capacitors], branch_a[coils], stepped.companion.fluxes(branch_a[coils])
    ])  # fmt: skip
    assert len(states) == stepped.companion.size > count
    stepped.start_from(states[:, [0]], states[:, [-1]])
    found = stepped.cycle(values).volts[:, 0]
    expected = np.roll(joint_v, -1, axis=1)
    assert np.abs(found - expected).max() <= 10.0 * CLOSES * np.abs(joint_v).max()


def test_a_bridge_gives_what_two_windings_give() -> None:
    one, two = (solve_idle(SUPPLIES[name])[0].joints["raw"].volts for name in ("bridge", "full wave"))
    assert one == pytest.approx(two - 0.75, abs=0.8)  # one more threshold, one ohm of copper less


def test_tube_on_top_of_silicon_costs_the_drop_of_the_tube() -> None:
    silicon, mixed = (solve_idle(SUPPLIES[name])[0] for name in ("bridge", "bridge of tube and silicon"))
    tube = solve_idle(SUPPLIES["tube"])[0]
    assert mixed.joints["raw"].volts < silicon.joints["raw"].volts
    assert mixed.joints["raw"].volts == pytest.approx(tube.joints["raw"].volts - 0.75, abs=0.8)


def test_a_doubler_gives_twice_a_half_wave() -> None:
    doubled = solve_idle(SUPPLIES["doubler"])[0].joints
    assert doubled["raw"].volts == pytest.approx(2.0 * doubled["m"].volts, rel=1e-4)  # 315 instants are no two halves


def test_a_zener_node_holds_its_volts_at_low_and_high_mains() -> None:
    found = []
    for share in (0.9, 1.1):
        parts = [replace(e, rms_v=120.0 * share) if isinstance(e, VoltageSource) else e
                 for e in SUPPLIES["Zener node"].elements]  # fmt: skip
        found.append(solve_idle(Circuit(tuple(parts)))[0].joints["z"].volts)
    assert found[0] == pytest.approx(150.0, abs=0.3)
    assert 0.0 < found[1] - found[0] < 0.1


def test_a_choke_lets_go_below_its_critical_current() -> None:
    heavy, light = (solve_idle(SUPPLIES[name])[0] for name in ("choke input", "choke input, light load"))
    average = 300.0 * 2.0 * math.sqrt(2.0) / math.pi
    assert heavy.joints["raw"].volts < average
    assert light.joints["raw"].volts > 1.05 * average


def _regulated(mains: float) -> Circuit:
    """A pass tube steered by an error amplifier against a Zener: 294 V whatever comes in."""
    beam, triode = tube_type("6L6GC").law, tube_type("12AX7").law
    assert isinstance(beam, PentodeLaw)
    assert isinstance(triode, TriodeLaw)
    circuit = fed(*HALVES, parts=[
        *SILICON, *load(ohm=1e6), Resistor("R3", "raw", "screen", 100.0),
        PentodeTube("V2", "raw", "screen", "grid", "out", beam), Resistor("R4", "raw", "amp", 220e3),
        Resistor("R5", "amp", "grid", 1e3), TriodeTube("V3", "amp", "part", "ref", triode),
        Resistor("R6", "out", "ref", 47e3), Junction("CR5", "ground", "ref", bulk_ohm=5.0, zener_v=100.0),
        Resistor("R7", "out", "part", 220e3), Resistor("R8", "part", "ground", 110e3),
        Capacitor("C3", "out", "ground", 10e-6), Resistor("R9", "out", "ground", 2e4),
    ])  # fmt: skip
    parts = [replace(e, rms_v=mains) if isinstance(e, VoltageSource) else e for e in circuit.elements]
    return Circuit(tuple(parts))


def test_a_series_regulator_holds_its_output_while_the_raw_supply_moves() -> None:
    low, high = (solve_idle(_regulated(mains))[0].joints for mains in (114.0, 132.0))
    raw, out = (high[j].volts - low[j].volts for j in ("raw", "out"))
    assert raw > 50.0
    assert abs(out) < 0.06 * raw  # an amplifier with a gain of fifty behind a divider by three
    assert low["out"].ripple_peak_to_peak_v < 0.06 * low["raw"].ripple_peak_to_peak_v
