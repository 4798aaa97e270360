"""Laws that hold for any amplifier: generated ones, from rectifier to loudspeaker, every value drawn."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lugwright.catalogue.load import tube_type
from lugwright.catalogue.records import PentodeLaw, TriodeLaw
from lugwright.circuit.elements import (
    Capacitor,
    Coil,
    CurrentSource,
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
from lugwright.solve.dc import DcProblem
from lugwright.solve.idle import solve_idle, static_law
from lugwright.solve.system import System

TRIODES, PENTODES = ("12AX7", "12AU7", "6SN7GT"), ("6V6GT", "EL84", "6L6GC")
STEP_V = 1e-4
seeds = st.integers(0, 100_000)


class Drawn:
    """One amplifier's elements, drawn with a seed."""

    def __init__(self, seed: int, *, pentodes: bool = True) -> None:
        self.random = np.random.default_rng(seed)
        self.parts: list[Element] = []
        self.supply()
        previous = "input"
        self.resistor("input", "ground", 1e5, 1e6)
        for stage in range(self.random.integers(1, 4)):
            previous = (self.coupled, self.follower, self.inverter)[self.random.integers(3)](f"{stage}", previous)
        if pentodes and self.random.random() < 0.7:
            self.output(previous)
        self.circuit = Circuit(tuple(self.parts), mains_hz=float(self.random.choice([50.0, 60.0])))

    def draw(self, low: float, high: float) -> float:
        return float(np.exp(self.random.uniform(np.log(low), np.log(high))))

    def resistor(self, a: str, b: str, low: float, high: float) -> None:
        self.parts.append(Resistor(f"R{len(self.parts)}", a, b, self.draw(low, high)))

    def capacitor(self, a: str, b: str, low: float, high: float) -> None:
        self.parts.append(Capacitor(f"C{len(self.parts)}", a, b, self.draw(low, high), 1e-9))

    def law(self, names: tuple[str, ...]) -> TriodeLaw | PentodeLaw:
        law = tube_type(str(self.random.choice(names))).law
        assert isinstance(law, TriodeLaw | PentodeLaw)
        return law

    def diode(self, name: str, anode: str, cathode: str, *, vacuum: bool) -> Element:
        return VacuumDiode(name, anode, cathode, 2e-3) if vacuum else Junction(name, anode, cathode)

    def supply(self) -> None:
        """Half wave or two plates, silicon or vacuum, one to three filter sections, a choke in one of them."""
        rms_v, ohm, vacuum = self.draw(180.0, 350.0), self.draw(30.0, 200.0), bool(self.random.integers(2))
        self.parts += [VoltageSource("S1", "a", "ground", 0.0, rms_v, ohm), self.diode("D1", "a", "B0", vacuum=vacuum)]
        if self.random.integers(2):
            self.parts.append(VoltageSource("S2", "ground", "b", 0.0, rms_v, ohm))
            self.parts.append(self.diode("D2", "b", "B0", vacuum=vacuum))
        self.capacitor("B0", "ground", 10e-6, 60e-6)
        count = int(self.random.integers(1, 4))
        choke = int(self.random.integers(0, 4))
        for k in range(count):
            if k == choke:
                coil = Coil(f"L{k}", f"B{k}", f"B{k + 1}", 1.0, self.draw(50.0, 300.0))
                self.parts.append(Windings(f"L{k}", (coil,), self.draw(2.0, 15.0)))
            else:
                self.resistor(f"B{k}", f"B{k + 1}", 470.0, 22e3)
            self.capacitor(f"B{k + 1}", "ground", 8e-6, 40e-6)
        self.top = f"B{count}"

    def coupling(self, stage: str, previous: str) -> str:
        grid = f"g{stage}"
        self.capacitor(previous, grid, 2e-9, 100e-9)
        self.resistor(grid, "ground", 1e5, 1e6)
        return grid

    def coupled(self, stage: str, previous: str) -> str:
        grid = self.coupling(stage, previous)
        law = self.law(TRIODES)
        assert isinstance(law, TriodeLaw)
        self.parts.append(TriodeTube(f"V{stage}", f"p{stage}", grid, f"k{stage}", law))
        self.resistor(self.top, f"p{stage}", 22e3, 220e3)
        self.resistor(f"k{stage}", "ground", 470.0, 4.7e3)
        if self.random.integers(2):
            self.capacitor(f"k{stage}", "ground", 1e-6, 50e-6)
        return f"p{stage}"

    def follower(self, stage: str, previous: str) -> str:
        plate = self.coupled(stage, previous)
        law = self.law(TRIODES)
        assert isinstance(law, TriodeLaw)
        self.parts.append(TriodeTube(f"V{stage}f", self.top, plate, f"out{stage}", law))
        self.resistor(f"out{stage}", "ground", 47e3, 220e3)
        return f"out{stage}"

    def inverter(self, stage: str, previous: str) -> str:
        grid, law = f"g{stage}", self.law(TRIODES)
        assert isinstance(law, TriodeLaw)
        self.capacitor(previous, grid, 2e-9, 100e-9)
        for side, mine in (("a", grid), ("b", f"h{stage}")):
            self.parts.append(TriodeTube(f"V{stage}{side}", f"p{stage}{side}", mine, f"k{stage}", law))
            self.resistor(self.top, f"p{stage}{side}", 47e3, 120e3)
            self.resistor(mine, f"t{stage}", 4.7e5, 1e6)
        self.capacitor(f"h{stage}", "ground", 1e-8, 1e-7)
        self.resistor(f"k{stage}", f"t{stage}", 470.0, 1.5e3)
        self.resistor(f"t{stage}", "ground", 4.7e3, 22e3)
        return f"p{stage}b"

    def output(self, previous: str) -> None:
        grid, law = self.coupling("o", previous), self.law(PENTODES)
        assert isinstance(law, PentodeLaw)
        self.parts.append(PentodeTube("Vo", "po", "so", grid, "ko", law))
        self.resistor("B1", "so", 100.0, 2.2e3)
        self.resistor("ko", "ground", 150.0, 680.0)
        primary = Coil("T1.p", "B0", "po", self.draw(15.0, 35.0), self.draw(100.0, 400.0), 0.02)
        self.parts.append(Windings("T1", (primary, Coil("T1.s", "sp", "ground", 1.0, 0.3)), self.draw(5.0, 30.0)))
        self.resistor("sp", "ground", 4.0, 16.0)


def scaled(circuit: Circuit, ohms: float) -> Circuit:
    """Return the circuit with every impedance so many times as large, tubes and diodes too."""

    def one(e: Element) -> Element:
        if isinstance(e, Resistor | VoltageSource):
            return replace(e, ohm=e.ohm * ohms)
        if isinstance(e, Capacitor):
            return replace(e, farad=e.farad / ohms, leak_s=e.leak_s / ohms)
        if isinstance(e, Windings):
            coils = tuple(replace(c, ohm=c.ohm * ohms, leakage_h=c.leakage_h * ohms) for c in e.coils)
            return replace(e, coils=coils, magnetizing_h=e.magnetizing_h * ohms)
        if isinstance(e, Junction):
            return replace(e, bulk_ohm=e.bulk_ohm * ohms, leak_s=e.leak_s / ohms)
        if isinstance(e, VacuumDiode):
            return replace(e, perveance=e.perveance / ohms)
        if isinstance(e, TriodeTube | PentodeTube):
            return replace(e, on=e.on / ohms)
        assert isinstance(e, CurrentSource)
        return replace(e, amps=e.amps / ohms)

    return Circuit(tuple(one(e) for e in circuit.elements), circuit.ground, circuit.mains_hz)


@settings(max_examples=40)
@given(seeds)
def test_power_in_is_power_out_and_currents_cancel(seed: int) -> None:
    circuit = Drawn(seed).circuit
    (idle,) = solve_idle(circuit)
    certificate = idle.certificate
    assert certificate.passed
    assert certificate.power_in_w == pytest.approx(certificate.power_out_w, rel=1e-6)
    assert certificate.power_in_w > 0.05


@settings(max_examples=30)
@given(seeds, st.floats(0.05, 20.0))
def test_scaling_every_impedance_leaves_the_volts(seed: int, ohms: float) -> None:
    circuit = Drawn(seed).circuit
    (plain,), (large,) = solve_idle(circuit), solve_idle(scaled(circuit, ohms))
    top = max(abs(j.volts) for j in plain.joints.values())
    for joint, level in plain.joints.items():
        assert large.joints[joint].volts == pytest.approx(level.volts, abs=1e-5 * top), joint
        assert large.joints[joint].ripple_rms_v == pytest.approx(level.ripple_rms_v, abs=1e-5 * top), joint
    assert large.certificate.power_in_w * ohms == pytest.approx(plain.certificate.power_in_w, rel=1e-4)


@settings(max_examples=40)
@given(seeds)
def test_slopes_of_the_whole_circuit_are_its_differences(seed: int) -> None:
    """At volts drawn anywhere, not only where the currents cancel."""
    circuit = Drawn(seed).circuit
    system = System(circuit)
    values = system.values(())
    problem = DcProblem(system, values, static_law(system, values))
    random = np.random.default_rng(seed + 1)
    volts = np.zeros((system.size + 1, 1))
    volts[:-1, 0] = random.uniform(-20.0, 300.0, system.size)
    for tube in system.triodes + system.pentodes:  # grids where tubes amplify
        volts[system.row[tube.grid]] = volts[system.row[tube.cathode]] + random.uniform(-8.0, 0.5)
    _, slots = problem.linearized(volts)
    matrix = np.zeros((system.size, system.size))
    matrix[system.dense_index] = slots[:-1, 0]
    for column in range(system.size):
        nudge = np.zeros_like(volts)
        nudge[column] = STEP_V
        found = (problem.left_over_a(volts + nudge) - problem.left_over_a(volts - nudge))[:, 0] / (2.0 * STEP_V)
        allowed = 1e-5 * np.abs(matrix[:, column]).max() + 1e-9
        assert np.abs(found - matrix[:, column]).max() <= allowed, system.circuit.joints
