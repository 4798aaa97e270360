"""A linear circuit whose triodes have the slopes a textbook gives, in place of a type at its idle."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

import numpy as np

from lugwright.catalogue.records import TriodeLaw
from lugwright.circuit.edits import Edit
from lugwright.circuit.elements import Capacitor, Element, Resistor, TriodeTube
from lugwright.circuit.network import Circuit
from lugwright.solve.device_laws import tube_state
from lugwright.solve.response import across, port_of
from lugwright.solve.small_signal import SmallSignal
from lugwright.solve.system import System

LAW = TriodeLaw(mu=100.0, k=1e-3, kp=500.0, vct=0.5)
HUGE_F = 10.0  # a bypass or coupling capacitor that is none


def triode(name: str, plate: str, grid: str, cathode: str) -> TriodeTube:
    """Return a triode whose law does not matter."""
    return TriodeTube(name, plate, grid, cathode, LAW)


def resistor(name: str, a: str, b: str, ohm: float) -> Resistor:
    """Return a resistor."""
    return Resistor(name, a, b, ohm)


def capacitor(name: str, a: str, b: str, farad: float) -> Capacitor:
    """Return a capacitor without leak."""
    return Capacitor(name, a, b, farad, 0.0)


def signal_of(
    elements: Iterable[Element], tubes: Mapping[str, tuple[float, float]], edits: Sequence[Edit] = (Edit("as built"),)
) -> SmallSignal:
    """Return the circuit with each triode's amplification factor and plate resistance as given."""
    system = System(Circuit(tuple(elements)))
    values = system.values(edits)
    volts = np.zeros((system.size + 1, len(edits)))
    state = tube_state(system, values, volts)
    if system.triodes:
        plate = np.array([[1.0 / tubes[t.name][1]] * len(edits) for t in system.triodes])
        gm = np.array([[tubes[t.name][0] / tubes[t.name][1]] * len(edits) for t in system.triodes])
        state = replace(state, triode_slopes=(plate, gm, np.zeros_like(plate)))
    ports = len(system.diodes)
    return SmallSignal(system, tuple(edits), values, volts, state, np.zeros((ports, ports)))


def gains(signal: SmallSignal, source: str, output: str, hertz: Sequence[float]) -> np.ndarray:
    """Return complex gain at frequencies, first setting."""
    network = signal.at(np.asarray(hertz, dtype=float))
    first, second = port_of(signal.system, source), port_of(signal.system, output)
    volts = network.driven([first])[:, 0, 0]
    return np.asarray(across(volts, second) / across(volts, first))


def output_ohm(signal: SmallSignal, source: str, output: str, hertz: float) -> float:
    """Return the output impedance with the source a short."""
    network = signal.at(np.array([hertz]))
    s, o = port_of(signal.system, source), port_of(signal.system, output)
    volts = network.driven([s, o])[:, :, 0, 0]
    z = [[across(volts[:, k], p) for k in range(2)] for p in (s, o)]
    return float(abs(z[1][1] - z[1][0] * z[0][1] / z[0][0]))
