"""Driven circuits whose harmonics stand in a closed form."""

from __future__ import annotations

from dataclasses import replace
from math import comb, pi
from typing import Any

import numpy as np

from lugwright.catalogue.load import tube_type
from lugwright.catalogue.records import TriodeLaw
from lugwright.circuit.elements import Coil, Element, Junction, Resistor, TriodeTube, VoltageSource, Windings
from lugwright.circuit.network import Circuit
from lugwright.solve.idle import solve_column
from lugwright.solve.power_readout import Reading
from lugwright.solve.sustained import Sustained, Tone
from lugwright.solve.system import System

HZ, PEAK_V = 1000.0, 100.0


def spectrum(parts: list[Element], joint: str, peak_v: float, harmonics: int = 128) -> np.ndarray:
    """Return the mean and then the peak of each harmonic of a joint."""
    system = System(Circuit(tuple(parts), "ground", 60.0))
    bench = Sustained(solve_column(system, system.values(())), "generator", hz=HZ, harmonics=harmonics)
    point = bench.drive([Tone(1, peak_v)])
    assert point.closed
    found = Reading(bench, point).joint_v[system.row[joint]]
    return np.abs(np.append(found[:1], 2.0 * found[1:21]))


def sharp(name: str, anode: str, cathode: str) -> Junction:
    return Junction(name, anode, cathode, threshold_v=1e-3, bulk_ohm=1e-3, smooth_v=1e-4, leak_s=1e-12)


def test_half_wave_rectifier(tolerance: dict[str, Any]) -> None:
    """A/pi, A/2, then 2A / (pi (n^2 - 1)) for even n, nothing for odd n."""
    parts: list[Element] = [
        VoltageSource("generator", "in", "ground", 0.0, 0.0, 1e-3), sharp("CR1", "in", "out"),
        Resistor("R1", "out", "ground", 1e3),
    ]  # fmt: skip
    found = spectrum(parts, "out", PEAK_V)
    wanted = np.zeros(21)
    wanted[0], wanted[1] = PEAK_V / pi, PEAK_V / 2.0
    even = np.arange(2, 21, 2)
    wanted[even] = 2.0 * PEAK_V / (pi * (even**2 - 1.0))
    assert np.abs(found - wanted).max() < tolerance["share"] * wanted[1]


def test_sine_with_its_tops_cut_off(tolerance: dict[str, Any]) -> None:
    """Cut at A sin(a): fundamental A (2a + sin 2a) / pi; n odd: A (sin((n-1)a)/(n-1) + sin((n+1)a)/(n+1)) 2/(n pi)."""
    clip_v = 60.0
    parts: list[Element] = [
        VoltageSource("generator", "in", "ground", 0.0, 0.0, 10.0), Resistor("R1", "in", "out", 1e4),
        VoltageSource("up", "u", "ground", clip_v, 0.0, 1e-3), VoltageSource("down", "d", "ground", -clip_v, 0.0, 1e-3),
        sharp("CR1", "out", "u"), sharp("CR2", "d", "out"),
    ]  # fmt: skip
    found = spectrum(parts, "out", PEAK_V)
    a = float(np.arcsin(clip_v / PEAK_V))
    wanted = np.zeros(21)
    wanted[1] = PEAK_V / pi * (2.0 * a + np.sin(2.0 * a))
    odd = np.arange(3, 21, 2)
    wanted[odd] = (
        2.0 * PEAK_V / (odd * pi) * np.abs(np.sin((odd - 1) * a) / (odd - 1) + np.sin((odd + 1) * a) / (odd + 1))
    )
    assert np.abs(found - wanted).max() < tolerance["share"] * wanted[1]


def three_halves(share: float) -> np.ndarray:
    """Return the size of the mean and the harmonics of (1 + share sin)^1.5, from the binomial series.

    sin^k is a sum over n = k, k - 2, ...: binomial(k, (k - n) / 2) / 2^(k - 1) times cos nx or sin nx, the sign
    turning from one to the next; half of it for n = 0.
    """
    found, factor = np.zeros(21), 1.0
    for k in range(150):
        if k:
            factor *= (1.5 - k + 1.0) / k * share
        for n in range(k % 2, min(k, 20) + 1, 2):
            j = (k - n) // 2
            sign = (-1.0) ** (j + k // 2)
            found[n] += factor * sign * comb(k, j) / 2.0 ** (k - 1 if n else k)
    return np.abs(found)


def test_three_halves_power_law(tolerance: dict[str, Any]) -> None:
    """A space-charge triode into hardly any load: k (Vp / mu + Vg)^1.5 without the rounding of its cut-off."""
    law = tube_type("12AX7").law
    assert isinstance(law, TriodeLaw)
    ideal = replace(
        law, mu=100.0, k=1e-3, kp=1e5, vct=0.0, kvb=0.0, tail_share=0.0, grid_gain=0.0, power=1.5, soft_v=0.0
    )
    load_ohm, plate_v, grid_v, peak_v = 1e-3, 300.0, -1.0, 1.2
    parts: list[Element] = [
        VoltageSource("generator", "g", "bias", 0.0, 0.0, 1.0),
        VoltageSource("bias", "bias", "ground", grid_v, 0.0, 1.0),
        VoltageSource("plates", "b", "ground", plate_v, 0.0, 1e-6), TriodeTube("V1", "p", "g", "ground", ideal),
        Windings("T1", (Coil("T1.p", "b", "p", 1.0, 1e-6), Coil("T1.s", "out", "ground", 1.0, 1e-6)), 1e4),
        Resistor("R1", "out", "ground", load_ohm),
    ]  # fmt: skip
    found = spectrum(parts, "out", peak_v, harmonics=64) / load_ohm
    drive_v = plate_v / 100.0 + grid_v
    wanted = 1e-3 * drive_v**1.5 * three_halves(peak_v / drive_v)
    assert np.abs(found[1:] - wanted[1:]).max() < tolerance["power_law"] * wanted[1]
