"""Arithmetic of supplies that the rules hold parts against: no-load volts, surge, inverse volts, heat."""

from __future__ import annotations

import math


def no_load_peak_v(*, winding_rms_v: float, regulation: float, mains_ratio: float = 1.0) -> float:
    """Return the peak a rectifier charges its reservoir to while nothing draws current.

    Parameters
    ----------
    winding_rms_v : float
        Rated volts of the half winding, loaded. [V]
    regulation : float
        No-load rise, (no load - full load) / full load. [-]
    mains_ratio : float
        Mains against nominal. [-]

    Returns
    -------
    float
        Peak. [V]

    Valid
    -----
    Silicon or directly heated rectifier, tubes cold, no bleeder.

    Source
    ------
    Peak of a sine, sqrt(2) times RMS.
    """
    return math.sqrt(2.0) * winding_rms_v * (1.0 + regulation) * mains_ratio


def surge_v(rated_v: float) -> float:
    """Return what an electrolytic capacitor stands for seconds.

    Parameters
    ----------
    rated_v : float
        Printed on it. [V]

    Returns
    -------
    float
        1.15 times up to 315 V, 1.10 times above. [V]

    Source
    ------
    from memory: IEC 60384-4, surge voltage.
    """
    return rated_v * (1.15 if rated_v <= 315.0 else 1.10)


def peak_inverse_v(*, winding_rms_v: float, arrangement: str) -> float:
    """Return the largest reverse voltage of one rectifier of a capacitor-input supply.

    Parameters
    ----------
    winding_rms_v : float
        One half of a center-tapped winding, or the whole winding. [V]
    arrangement : str
        ``center tap``, ``half wave`` or ``bridge``. [-]

    Returns
    -------
    float
        Per diode. [V]

    Source
    ------
    from memory: textbook; 2 sqrt(2) E for center tap and half wave, sqrt(2) E for a bridge.
    """
    peak = math.sqrt(2.0) * winding_rms_v
    return peak if arrangement == "bridge" else 2.0 * peak


def resistor_heat_w(*, volts: float, ohm: float) -> float:
    """Return the heat in a resistor.

    Parameters
    ----------
    volts : float
        Across it. [V]
    ohm : float
        Resistance. [ohm]

    Returns
    -------
    float
        V^2 / R. [W]

    Source
    ------
    Ohm and Joule.
    """
    return volts * volts / ohm
