"""How much power there is at each frequency: the output transformer takes the bottom and the top."""

from __future__ import annotations

from collections.abc import Sequence

from lugwright.solve.ladder import Ladder
from lugwright.solve.power_bench import COARSE, PowerBench, gain
from lugwright.solve.power_readout import ROOT_2, Reading, load_w
from lugwright.solve.power_results import PowerAtFrequency

BAND_HZ = (40.0, 80.0, 160.0, 320.0, 640.0, 1250.0, 2500.0, 5000.0, 10000.0)
_SHARES = (0.5, 0.7, 0.85, 1.0, 1.2, 1.4, 2.0, 2.8, 4.0, 5.6)


def power_band(
    bench: PowerBench, *, distortion: float, swing_v: float, hertz: Sequence[float] = BAND_HZ
) -> list[PowerAtFrequency]:
    """Return the power at one distortion over frequency.

    Parameters
    ----------
    bench : PowerBench
        The amplifier on the bench.
    distortion : float
        Share at which the power is taken. [-]
    swing_v : float
        Peak volts that a linear amplifier would put across the speaker at that distortion and 1 kHz: where
        the search begins. [V]
    hertz : sequence of float
        Frequencies. [Hz]

    Returns
    -------
    list of PowerAtFrequency
        Frequencies at which the search came to nothing are left out.

    Valid
    -----
    Iron that does not saturate: real power falls sooner at the bottom.
    """
    found = []
    for hz in hertz:
        driven = bench.driven(hz=hz, harmonics=COARSE)
        ladder = Ladder(driven, bench.load_on(driven))
        reference = swing_v / gain(driven, ladder.load)
        for share in _SHARES:
            if ladder.solve(share * reference) is None or ladder.distortion(share * reference) >= distortion:
                break
        if (peak_v := ladder.crossing(distortion)) is not None:
            watts = load_w(Reading(driven, ladder.points[peak_v]), ladder.load)
            found.append(PowerAtFrequency(hz, watts, float(peak_v / ROOT_2)))
    return found
