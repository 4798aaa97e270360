"""Two tones at once: what the amplifier makes of them besides themselves."""

from __future__ import annotations

import numpy as np

from lugwright.errors import NoSteadyState
from lugwright.solve.power_bench import FINE, PowerBench
from lugwright.solve.power_readout import ROOT_2, Reading, certificate, load_w, speaker_v
from lugwright.solve.power_results import Intermodulation
from lugwright.solve.sustained import Tone

BASE_HZ, LOW, HIGH = 200.0, 5, 6  # a minor third, 1000 and 1200 Hz; one period of the base holds both
_SHOWN = 8
_RISE = (0.3, 0.6, 1.0)  # by way of these where it is not reached at once


def intermodulation(bench: PowerBench, *, peak_v: float) -> Intermodulation:
    """Return what two equal tones make of each other.

    Parameters
    ----------
    bench : PowerBench
        The amplifier on the bench.
    peak_v : float
        Peak of the sum of both tones at the generator. [V]

    Returns
    -------
    Intermodulation
        The strongest products, none of them the tones themselves.

    Raises
    ------
    NoSteadyState
        No steady state with a passing certificate.
    """
    driven = bench.driven(hz=BASE_HZ, harmonics=FINE)
    load, point = bench.load_on(driven), driven.drive(_tones(peak_v))
    if not point.closed:
        for share in _RISE:
            point = driven.drive(_tones(share * peak_v), point if point.closed else None)
    reading = Reading(driven, point)
    passed = certificate(reading)
    if not passed.passed:
        raise NoSteadyState(
            what="no steady state with two tones found",
            found=f"{passed.left_over:.2g} of its own volts left over at a tube after {passed.steps} steps",
            wanted="currents that cancel at every joint and harmonic, and power in equal to power out",
            do="take a lower drive",
        )
    size = np.abs(speaker_v(reading, load))
    shares = size[1:] / size[LOW]
    products = [(n * BASE_HZ, float(s)) for n, s in enumerate(shares, start=1) if n not in (LOW, HIGH)]
    return Intermodulation(
        low_hz=LOW * BASE_HZ,
        high_hz=HIGH * BASE_HZ,
        drive_rms_v=0.5 * peak_v / ROOT_2,
        watts=load_w(reading, load),
        products=tuple(sorted(sorted(products, key=lambda p: -p[1])[:_SHOWN])),
        total=float(np.sqrt(sum(s * s for _, s in products))),
        certificate=passed,
    )


def _tones(peak_v: float) -> list[Tone]:
    return [Tone(n, 0.5 * peak_v) for n in (LOW, HIGH)]
