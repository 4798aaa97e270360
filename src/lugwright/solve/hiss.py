"""Hiss at the output: Johnson noise of every resistor and coil, and the tubes' own, each through its own way out.

One solve of the transposed equations per frequency says what a current into any joint makes at the output; so all
sources together cost no more than one.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace

import numpy as np

from lugwright.solve.frequencies import at_reference
from lugwright.solve.response import Port, across
from lugwright.solve.response_results import Hiss, HissSource
from lugwright.solve.small_signal import Complex, Network
from lugwright.solve.system import Array

BOLTZMANN = 1.380649e-23
ROOM_K = 300.0
FLICKER_HZ = (
    1000.0  # below this a tube's noise rises with 1/f; from memory, good tubes lie at half, poor ones at ten times
)
# Noise that direct current makes in a resistor's grain: RMS volts per volt across it, in each decade of frequency.
# From memory: carbon composition 0.1 to 3 microvolt, metal film 0.02 to 0.1, wire none.
EXCESS_V_PER_V = {"carbon composition": 1e-6, "metal film": 0.05e-6}
_OPEN_OHM = 1e9


def johnson_v2_per_hz(ohm: Array | float, *, kelvin: float = ROOM_K) -> Array:
    """Return the mean square noise voltage of a resistance per hertz.

    Parameters
    ----------
    ohm : float or array
        Resistance. [ohm]
    kelvin : float
        Its temperature. [K]

    Returns
    -------
    array
        4 k T R. [V^2/Hz]

    Source
    ------
    J. B. Johnson and H. Nyquist, Physical Review 32 (1928).
    """
    return np.asarray(4.0 * BOLTZMANN * kelvin * np.asarray(ohm, dtype=float))


def triode_noise_ohm(transconductance: Array | float) -> Array:
    """Return the resistance at the grid that would make a triode's noise.

    Parameters
    ----------
    transconductance : float or array
        At idle. [A/V]

    Returns
    -------
    array
        2.5 / gm. [ohm]

    Valid
    -----
    Oxide cathode, space-charge limited, without flicker.

    Source
    ------
    Thompson, North and Harris, RCA Review 4 and 5 (1940 and 1941), as quoted in print and on a public page.
    """
    return np.asarray(2.5 / np.maximum(transconductance, 1e-12))


def pentode_noise_ohm(plate_a: Array | float, screen_a: Array | float, transconductance: Array | float) -> Array:
    """Return the resistance at the grid that would make a pentode's noise, partition included.

    Parameters
    ----------
    plate_a, screen_a : float or array
        Idle currents. [A]
    transconductance : float or array
        Grid to plate, at idle. [A/V]

    Returns
    -------
    array
        Ia / (Ia + Is) x (2.5 / gm + 20 Is / gm^2). [ohm]

    Valid
    -----
    Screen held still for signals, without flicker.

    Source
    ------
    Harris and North as quoted in a public thread that names the original papers.
    """
    gm = np.maximum(transconductance, 1e-12)
    total = np.maximum(np.add(plate_a, screen_a), 1e-15)
    return np.asarray(plate_a / total * (2.5 / gm + 20.0 * screen_a / gm**2))


def a_weighting(hertz: Array) -> Array:
    """Return the factor by which the A curve weights a voltage, 1 at 1 kHz.

    Source
    ------
    Closed form of IEC 61672-1, from memory: poles at 20.6, 107.7, 737.9 and 12194 Hz.
    """
    f2 = np.square(hertz)
    shape = 12194.0**2 * f2 * f2 / ((f2 + 20.6**2) * (f2 + 12194.0**2))
    shape /= np.sqrt((f2 + 107.7**2) * (f2 + 737.9**2))
    return np.asarray(shape * 10.0**0.1)


def hiss_at(
    network: Network,
    output: Port,
    name: str,
    *,
    gain: Array | Complex,
    excess: Mapping[str, float] | None = None,
) -> Hiss:
    """Return the hiss at an output within the band of the network's frequencies.

    Parameters
    ----------
    network : Network
        The circuit over the band, 20 Hz to 20 kHz say; its first setting counts.
    output : pair of int
        Where it is heard.
    name : str
        What that point is called.
    gain : array
        From the input to the output (frequency), for what the hiss would be at the input. [-]
    excess : mapping, optional
        Resistor to what its grain adds, RMS volts per volt of direct current across it in a decade. [-]

    Returns
    -------
    Hiss
        The sources by part, the loudest first.

    Source
    ------
    Sum of squares: the sources know nothing of one another.
    """
    heard = network.heard(output)[:, 0]
    totals: dict[tuple[str, str], Array] = {}
    grain = _grain(network, heard, excess or {})
    sources = (*_resistors(network, heard), *grain, *_coils(network, heard), *_tubes(network, heard))
    for element, what, density in sources:
        key = element.split(".")[0], what
        totals[key] = totals.get(key, 0.0) + density
    whole = np.sum(list(totals.values()), axis=0)
    power = _in_band(network.hertz, whole)
    loudest = [
        HissSource(part, what, float(np.sqrt(one)), one / power)
        for (part, what), density in totals.items()
        if (one := _in_band(network.hertz, density)) > 0.0
    ]
    at_input = np.sqrt(whole) / np.maximum(np.abs(gain), 1e-30)
    return Hiss(
        output=name, low_hz=float(network.hertz[0]), high_hz=float(network.hertz[-1]), volts=float(np.sqrt(power)),
        weighted_volts=float(np.sqrt(_in_band(network.hertz, whole * a_weighting(network.hertz) ** 2))),
        input_v_per_root_hz=at_reference(network.hertz, at_input), full_power_w=None, signal_to_noise_db=None,
        hertz=tuple(map(float, network.hertz)), volts_per_root_hz=tuple(map(float, np.sqrt(whole))),
        sources=tuple(sorted(loudest, key=lambda source: -source.volts)),
    )  # fmt: skip


def against_full_power(hiss: Hiss, *, watts: float, load_ohm: float) -> Hiss:
    """Return the hiss with how far it lies below full power into a load."""
    below = float(10.0 * np.log10(watts * load_ohm / hiss.volts**2))
    return replace(hiss, full_power_w=watts, signal_to_noise_db=below)


def _in_band(hertz: Array, density: Array) -> float:
    """Return the integral of a density over frequency, straight between steps of log frequency."""
    return float(np.trapezoid(density * hertz, np.log(hertz)))


def _resistors(network: Network, heard: Complex) -> Iterator[tuple[str, str, Array]]:
    system, values = network.signal.system, network.signal.values[:, 0]
    for resistor, ohm in zip(system.resistors, values[system.ohm_of], strict=True):
        if ohm < _OPEN_OHM:
            out = across(heard, (system.row[resistor.a], system.row[resistor.b]))
            yield resistor.name, "resistance", johnson_v2_per_hz(ohm) / ohm**2 * np.abs(out) ** 2


def _grain(network: Network, heard: Complex, excess: Mapping[str, float]) -> Iterator[tuple[str, str, Array]]:
    """Yield the noise that direct current makes in resistors: the same in every decade of frequency."""
    signal = network.signal
    row, ohms = signal.system.row, signal.values[signal.system.ohm_of, 0]
    for resistor, ohm in zip(signal.system.resistors, ohms, strict=True):
        index = excess.get(resistor.name, 0.0)
        ends = row[resistor.a], row[resistor.b]
        volts = float(abs(signal.volts[ends[0], 0] - signal.volts[ends[1], 0]))
        if index > 0.0 and volts > 0.0:
            density = (index * volts / ohm) ** 2 / (np.log(10.0) * network.hertz)
            yield resistor.name, "grain", density * np.abs(across(heard, ends)) ** 2


def _coils(network: Network, heard: Complex) -> Iterator[tuple[str, str, Array]]:
    """Yield the noise of each coil's copper: a voltage in series with it, that drives every coil of its core."""
    system, values = network.signal.system, network.signal.values[:, 0]
    out = heard[system.branch_a] - heard[system.branch_b]
    columns = len(network.hertz)
    through = np.zeros_like(out)
    np.add.at(through, system.couple_j, network.admittances[:, :columns] * out[system.couple_i])
    for group in system.groups:
        for branch, ohm in zip(group.branches, values[group.ohm], strict=True):
            yield system.branch_names[branch], "resistance", johnson_v2_per_hz(ohm) * np.abs(through[branch]) ** 2


def _tubes(network: Network, heard: Complex) -> Iterator[tuple[str, str, Array]]:
    system, state = network.signal.system, network.signal.tubes
    flicker = 1.0 + FLICKER_HZ / network.hertz
    gm = state.triode_slopes[1][:, 0] if system.triodes else np.zeros(0)
    for tube, slope, plate, cathode in zip(
        system.triodes, gm, system.triode_rows[0], system.triode_rows[2], strict=True
    ):
        if slope > 0.0:
            density = johnson_v2_per_hz(triode_noise_ohm(slope)) * slope**2 * flicker
            yield tube.name, "plate current", density * np.abs(across(heard, (plate, cathode))) ** 2
    if system.pentodes:
        slopes = state.pentode_slopes[2][:, 0]
        ohms = pentode_noise_ohm(state.pentode_a[0][:, 0], state.pentode_a[1][:, 0], slopes)
        rows = zip(system.pentodes, slopes, ohms, system.pentode_rows[0], system.pentode_rows[3], strict=True)
        for pentode, slope, ohm, plate, cathode in rows:
            density = johnson_v2_per_hz(ohm) * slope**2 * flicker
            yield pentode.name, "plate current", density * np.abs(across(heard, (plate, cathode))) ** 2
