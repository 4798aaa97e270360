"""Output power: a sine at the input jack, from a whisper to well past clipping."""

from __future__ import annotations

import numpy as np

from lugwright.buildfile.build import Build
from lugwright.errors import NoSteadyState
from lugwright.solve.ladder import Ladder
from lugwright.solve.power_bench import COARSE, FINE, PowerBench, gain, power_bench
from lugwright.solve.power_readout import (
    ROOT_2,
    Reading,
    b_plus_joints,
    power_point,
    shares,
    speaker_wave,
)
from lugwright.solve.power_results import Power, PowerPoint, SpeakerWave
from lugwright.solve.stage_limits import stage_limits
from lugwright.solve.sustained import Sustained, Tone

HZ = 1000.0
FIVE, TEN = 0.05, 0.10
# Drives tried, as shares of the one at which the amplifier would give half its idle supply power if it were linear.
_LADDER = (0.05, 0.1, 0.2, 0.35, 0.5, 0.7, 1.0, 1.4, 2.0, 2.8, 4.0, 5.6, 8.0, 11.0, 16.0, 32.0, 64.0, 128.0)
_PAST_TEN = 2.0  # full drive lies this far past ten percent


def output_power(build: Build, *, loudspeaker: bool = False, hz: float = HZ) -> Power:
    """Return the output power of an amplifier over drive, with all that goes with it.

    Parameters
    ----------
    build : Build
        The amplifier, knobs as they stand in its build file.
    loudspeaker : bool
        Into the loudspeaker model in place of a resistor.
    hz : float
        Frequency of the sine. [Hz]

    Returns
    -------
    Power
        Points by rising drive up to twice the drive of ten percent distortion, each with a passing certificate.

    Valid
    -----
    A steady sine, the supply settled to it, hum left out; iron that does not saturate.

    Raises
    ------
    NoSteadyState
        No jack, no speaker, no signal at the speaker, or no drive solved at all.

    Source
    ------
    Kirchhoff's laws at every harmonic, the tubes by their fitted laws.
    """
    bench = power_bench(build, loudspeaker=loudspeaker)
    driven = bench.driven(hz=hz, harmonics=COARSE)
    ladder = Ladder(driven, bench.load_on(driven))
    _climb(ladder, _reference_v(bench, ladder))
    if not ladder.points:
        raise _nothing_solved(ladder)
    five, ten = ladder.crossing(FIVE), ladder.crossing(TEN)
    fine = bench.driven(hz=hz, harmonics=FINE)
    return _assembled(bench, ladder, fine, five, ten)


def _reference_v(bench: PowerBench, ladder: Ladder) -> float:
    """Return the peak drive at which a linear amplifier would give half of what its supply gives at idle."""
    driven = ladder.driven
    quiet = Reading(driven, driven.drive([Tone(1, 0.0)], exact=False))
    watts = 0.5 * quiet.power_w()[1]
    return float(np.sqrt(2.0 * watts * bench.load_ohm)) / gain(driven, ladder.load)


def _climb(ladder: Ladder, reference_v: float) -> None:
    past = np.inf
    for share in _LADDER:
        peak_v = _rounded(share * reference_v)
        if ladder.solve(peak_v) is None:
            ladder.stopped_at = f"no steady state found at {peak_v / ROOT_2:.3g} V"
            return
        if past == np.inf and ladder.distortion(peak_v) >= TEN:
            past = _PAST_TEN * peak_v
        if peak_v >= past:
            return


def _rounded(peak_v: float) -> float:
    """Return the peak of the nearest drive whose RMS volts have two figures."""
    rms = peak_v / ROOT_2
    step = 10.0 ** (np.floor(np.log10(rms)) - 1)
    return float(np.round(rms / step) * step * ROOT_2)


def _assembled(
    bench: PowerBench, ladder: Ladder, fine: Sustained, five: float | None, ten: float | None
) -> Power:
    load, coarse = ladder.load, ladder.driven
    points = {v: power_point(Reading(coarse, p), load) for v, p in sorted(ladder.points.items())}
    waves: list[SpeakerWave] = []

    def refined(peak_v: float) -> PowerPoint:
        near = ladder.points[peak_v]
        point = fine.drive(near.tones, near)
        reading = Reading(fine, point)
        change = float(np.abs(shares(reading, load) - shares(Reading(coarse, near), load)).max())
        waves.append(speaker_wave(reading, load))
        return power_point(reading, load, change)

    keys = [v for v in (five, ten) if v is not None]
    chosen = {v: refined(v) for v in dict.fromkeys([*keys, max(points)])}
    points.update(chosen)
    solved = [p for p in points.values() if p.certificate.passed]
    if not solved:
        raise _nothing_solved(ladder)
    limits = stage_limits(bench.idle, solved)
    joints = b_plus_joints(bench.idle.system.joints)
    return Power(
        jack=bench.jack,
        load=bench.load,
        load_ohm=bench.load_ohm,
        hertz=coarse.hz,
        idle_b_plus_v={j: float(bench.idle.dc.volts[bench.idle.system.row[j], 0]) for j in joints},
        points=tuple(p for v, p in points.items() if v not in keys and p.certificate.passed),
        five_percent=None if five is None else _passed(chosen[five]),
        ten_percent=None if ten is None else _passed(chosen[ten]),
        full_drive=solved[-1],
        first_limit=limits[0] if limits else None,
        limits=tuple(limits),
        wave=tuple(waves),
        intermodulation=None,
        stopped_at=ladder.stopped_at,
    )


def _passed(point: PowerPoint) -> PowerPoint | None:
    return point if point.certificate.passed else None


def _nothing_solved(ladder: Ladder) -> NoSteadyState:
    return NoSteadyState(
        what="the output power cannot be computed",
        found=ladder.stopped_at or "no drive with a passing certificate",
        wanted="currents that cancel at every joint and harmonic, and power in equal to power out",
        do="look at the idle first: lugwright idle, lugwright check",
    )
