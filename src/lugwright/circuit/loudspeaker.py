"""A loudspeaker as a load: voice coil, its inductance with the iron around it, one resonance of cone and air."""

from __future__ import annotations

import math
from typing import NamedTuple

from lugwright.circuit.elements import Capacitor, Coil, Element, Resistor, Windings

# Shape of one driver as its maker's sheet gives it: resonance 110.3 Hz, Qms 4.537, Qes 1.297 (second-hand reading).
RESONANCE_HZ, Q_MECHANICAL, Q_ELECTRICAL = 110.0, 4.5, 1.3
COIL_H_PER_OHM = 8e-5  # 0.6 mH in an 8 ohm guitar loudspeaker; from memory
# Currents in the iron lie beside the coil's inductance: without them the impedance would go on rising in proportion to
# frequency, where curves of 8 ohm guitar loudspeakers show some 30 ohm at 10 kHz and 45 at 20 kHz; from memory.
IRON_SHARE = 6.0  # of the nominal impedance
_COPPER_OHM = 1e-4  # of coils that stand for something without copper


class MotionalParts(NamedTuple):
    """The mass, the spring and the losses of the cone, as the amplifier sees them: side by side."""

    farad: float
    henry: float
    ohm: float


def motional_parts(*, coil_ohm: float, resonance_hz: float, q_mechanical: float, q_electrical: float) -> MotionalParts:
    """Return the parallel circuit that stands for the moving parts of a driver.

    Parameters
    ----------
    coil_ohm : float
        Direct-current resistance of the voice coil. [ohm]
    resonance_hz : float
        Resonance of the driver as mounted. [Hz]
    q_mechanical, q_electrical : float
        Qms and Qes. [-]

    Returns
    -------
    MotionalParts
        Capacitance, inductance and resistance. [F], [H], [ohm]

    Valid
    -----
    Around the resonance, small movement.

    Source
    ------
    Usual small-signal parameters of drivers: Qes = w Re Cmes, Res / Re = Qms / Qes, w^2 Lces Cmes = 1.
    """
    w = 2.0 * math.pi * resonance_hz
    return MotionalParts(
        q_electrical / (w * coil_ohm), coil_ohm / (w * q_electrical), coil_ohm * q_mechanical / q_electrical
    )


def loudspeaker(name: str, plus: str, minus: str, *, nominal_ohm: float, dc_share: float) -> tuple[Element, ...]:
    """Return the elements of a loudspeaker of a nominal impedance."""
    coil = dc_share * nominal_ohm
    parts = motional_parts(
        coil_ohm=coil, resonance_hz=RESONANCE_HZ, q_mechanical=Q_MECHANICAL, q_electrical=Q_ELECTRICAL
    )
    copper, cone = f"{name}.copper", f"{name}.cone"
    return (
        Resistor(f"{name}.coil", plus, copper, coil, "speaker"),
        Windings(
            f"{name}.field", (Coil(f"{name}.field", copper, cone, 1.0, _COPPER_OHM),), COIL_H_PER_OHM * nominal_ohm
        ),
        Resistor(f"{name}.iron", copper, cone, IRON_SHARE * nominal_ohm, "speaker"),
        Capacitor(f"{name}.mass", cone, minus, parts.farad),
        Windings(f"{name}.spring", (Coil(f"{name}.spring", cone, minus, 1.0, _COPPER_OHM),), parts.henry),
        Resistor(f"{name}.loss", cone, minus, parts.ohm, "speaker"),
    )
