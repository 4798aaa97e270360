"""The loudspeaker's resonance and the reverb tank's coil as loads."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

from lugwright.circuit.elements import Capacitor, Coil, Element, Resistor, Windings
from lugwright.circuit.loudspeaker import motional_parts
from lugwright.circuit.network import Circuit
from lugwright.solve.response import load_admittance_s


def test_motional_parts_of_a_sheet(tolerance: dict[str, Any]) -> None:
    """B-63: Re 6.18, fs 110.3, Qms 4.537, Qes 1.297 give 302.84 uF, 6.88 mH, 21.62 ohm; Zmax 27.8."""
    parts = motional_parts(coil_ohm=6.18, resonance_hz=110.3, q_mechanical=4.537, q_electrical=1.297)
    assert parts.farad == pytest.approx(302.84e-6, rel=tolerance["exact"])
    assert parts.henry == pytest.approx(6.88e-3, rel=tolerance["exact"])
    assert parts.ohm == pytest.approx(21.62, rel=tolerance["exact"])
    assert _impedance_ohm(6.18, *parts, 110.3) == pytest.approx(27.8, rel=tolerance["exact"])


def test_driver_from_its_mechanics(tolerance: dict[str, Any]) -> None:
    """B-65: fs 21.97, Qes 0.331, Qms 3.318 with Re 7: Zmax 77.2."""
    mass, compliance, loss, force = 44.46e-3, 1.18e-3, 1.85, 11.4
    resonance = 1.0 / (2 * math.pi * math.sqrt(mass * compliance))
    assert resonance == pytest.approx(21.97, rel=tolerance["exact"])
    root = math.sqrt(mass / compliance)
    q_electrical, q_mechanical = root * 7.0 / force**2, root / loss
    assert (q_electrical, q_mechanical) == pytest.approx((0.331, 3.318), rel=tolerance["exact"])
    parts = motional_parts(coil_ohm=7.0, resonance_hz=21.97, q_mechanical=3.318, q_electrical=0.331)
    assert parts.farad == pytest.approx(mass / force**2, rel=2 * tolerance["exact"])
    assert parts.henry == pytest.approx(compliance * force**2, rel=2 * tolerance["exact"])
    assert _impedance_ohm(7.0, *parts, 21.97) == pytest.approx(77.2, rel=tolerance["exact"])


def _impedance_ohm(coil: float, farad: float, henry: float, loss: float, hertz: float) -> float:
    parts: list[Element] = [
        Resistor("D.coil", "plus", "cone", coil), Capacitor("D.mass", "cone", "minus", farad),
        Windings("D.spring", (Coil("D.spring", "cone", "minus", 1.0, 1e-6),), henry),
        Resistor("D.loss", "cone", "minus", loss),
    ]  # fmt: skip
    circuit = Circuit(tuple(parts), ground="minus")
    return float(1.0 / np.abs(load_admittance_s(circuit, "D", "plus", "minus", np.array([hertz])))[0])


@pytest.mark.parametrize(
    ("ohm", "milliamps", "volts"),
    [(8, 28, 0.224), (150, 6.5, 0.975), (200, 5.8, 1.16), (250, 5.0, 1.25), (600, 3.1, 1.86), (1475, 2.0, 2.95)],
)
def test_drive_of_a_tank(ohm: float, milliamps: float, volts: float, tolerance: dict[str, Any]) -> None:
    """B-51: the nominal current at 1 kHz takes these volts across the coil as we model it."""
    copper = 0.1 * ohm
    coil = Coil("DL1.in", "plus", "minus", 1.0, copper)
    henry = math.sqrt(ohm**2 - copper**2) / (2 * math.pi * 1000.0)
    circuit = Circuit((Windings("DL1.in", (coil,), henry),), ground="minus")
    impedance = 1.0 / np.abs(load_admittance_s(circuit, "DL1.in", "plus", "minus", np.array([1000.0])))[0]
    assert impedance * milliamps * 1e-3 == pytest.approx(volts, rel=tolerance["drive"])
