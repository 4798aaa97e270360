"""Output power: a sine at the input jack, from a whisper to well past clipping."""

from __future__ import annotations

import numpy as np

from lugwright.buildfile.build import Build, Tube
from lugwright.circuit.power_tubes import power_tubes
from lugwright.errors import NoSteadyState
from lugwright.solve.intermodulation import intermodulation
from lugwright.solve.ladder import Ladder
from lugwright.solve.power_band import power_band
from lugwright.solve.power_bench import COARSE, FINE, PowerBench, gain, power_bench
from lugwright.solve.power_readout import ROOT_2, Reading, b_plus_joints, power_point, shares, speaker_wave
from lugwright.solve.power_results import NoPower, Power, PowerAtFrequency, PowerPoint, PowerWish, SpeakerWave
from lugwright.solve.stage_limits import stage_limits
from lugwright.solve.sustained import Sustained, Tone

AS_BUILT = PowerWish()
FIVE, TEN = 0.05, 0.10
# Drives tried, as shares of the one at which the amplifier would give half its idle supply power if it were linear.
_RUNGS = (0.05, 0.1, 0.2, 0.35, 0.5, 0.7, 1.0, 1.4, 2.0, 2.8, 4.0, 5.6, 8.0, 11.0, 16.0, 32.0, 64.0, 128.0)
_PAST_TEN = 2.0  # full drive lies this far past ten percent


def output_power(build: Build, wish: PowerWish = AS_BUILT) -> Power:
    """Return the output power of an amplifier over drive, with all that goes with it.

    Parameters
    ----------
    build : Build
        The amplifier, knobs as they stand in its build file.
    wish : PowerWish
        The load, the frequency, and whether power over frequency is wanted.

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
        No jack, no speaker, no signal at the speaker, no drive solved, or an output tube whose law promises no power.

    Source
    ------
    Kirchhoff's laws at every harmonic, the tubes by their fitted laws.
    """
    _refuse_doubtful(build)
    bench = power_bench(build, loudspeaker=wish.loudspeaker)
    driven = bench.driven(hz=wish.hertz, harmonics=COARSE)
    ladder = Ladder(driven, bench.load_on(driven))
    rungs = _climb(ladder, _reference_v(bench, ladder))
    if not rungs:
        raise _nothing_solved(ladder)
    return _Answer(bench, ladder, rungs, wish).assembled()


def power_or_reason(build: Build, wish: PowerWish = AS_BUILT) -> Power | NoPower:
    """Return `output_power`, or in words why there is none."""
    try:
        return output_power(build, wish)
    except NoSteadyState as error:
        return NoPower(error.what, error.found, error.wanted, error.do)


def _refuse_doubtful(build: Build) -> None:
    for part in power_tubes(build):
        if isinstance(part.values, Tube) and part.values.type.power_doubt:
            raise NoSteadyState(
                what=f"no output power is promised with the {part.values.type.name} ({part.name})",
                found=part.values.type.power_doubt,
                wanted="an output tube whose law stands on rows of a maker's sheet, at low current and at full drive",
                do="add rows to its data file and fit it, or measure the amplifier",
            )


def _reference_v(bench: PowerBench, ladder: Ladder) -> float:
    """Return the peak drive at which a linear amplifier would give half of what its supply gives at idle."""
    driven = ladder.driven
    quiet = Reading(driven, driven.drive([Tone(1, 0.0)], exact=False))
    watts = 0.5 * quiet.power_w()[1]
    return float(np.sqrt(2.0 * watts * bench.load_ohm)) / gain(driven, ladder.load)


def _climb(ladder: Ladder, reference_v: float) -> list[float]:
    """Return the peak drives that were solved, by rising drive."""
    past, rungs = np.inf, []
    for share in _RUNGS:
        peak_v = _rounded(share * reference_v)
        if ladder.solve(peak_v) is None:
            ladder.stopped_at = f"no steady state found at {peak_v / ROOT_2:.3g} V"
            break
        rungs.append(peak_v)
        if past == np.inf and ladder.distortion(peak_v) >= TEN:
            past = _PAST_TEN * peak_v
        if peak_v >= past:
            break
    return rungs


def _rounded(peak_v: float) -> float:
    """Return the peak of the nearest drive whose RMS volts have two figures."""
    rms = peak_v / ROOT_2
    step = 10.0 ** (np.floor(np.log10(rms)) - 1)
    return float(np.round(rms / step) * step * ROOT_2)


class _Answer:
    """What is read off a climbed ladder: its rungs, and the drives looked for with twice the harmonics."""

    def __init__(self, bench: PowerBench, ladder: Ladder, rungs: list[float], wish: PowerWish) -> None:
        self.bench, self.ladder, self.rungs, self.wish = bench, ladder, rungs, wish
        self.fine: Sustained = bench.driven(hz=wish.hertz, harmonics=FINE)
        self.waves: list[SpeakerWave] = []

    def assembled(self) -> Power:
        five, ten = self.ladder.crossing(FIVE), self.ladder.crossing(TEN)
        chosen = {v: self._refined(v) for v in dict.fromkeys(v for v in (five, ten, self.rungs[-1]) if v is not None)}
        coarse = {v: self._read(v) for v in self.rungs if v not in chosen}
        solved = [p for _, p in sorted({**coarse, **chosen}.items()) if p.certificate.passed]
        if not solved:
            raise _nothing_solved(self.ladder)
        limits = tuple(stage_limits(self.bench.idle, solved))
        system = self.bench.idle.system
        idle_v = {j: float(self.bench.idle.dc.volts[system.row[j], 0]) for j in b_plus_joints(system.joints)}
        rungs = {v / ROOT_2 for v in self.rungs}
        return Power(
            jack=self.bench.jack,
            load=self.bench.load,
            load_ohm=self.bench.load_ohm,
            hertz=self.wish.hertz,
            idle_b_plus_v=idle_v,
            points=tuple(p for p in solved if p.drive_rms_v in rungs),
            five_percent=_passed(chosen, five),
            ten_percent=_passed(chosen, ten),
            full_drive=solved[-1],
            first_limit=limits[0] if limits else None,
            limits=limits,
            waves=tuple(self.waves),
            intermodulation=None if five is None else intermodulation(self.bench, peak_v=five),
            over_frequency=self._band(ten) if self.wish.band and ten is not None else (),
            stopped_at=self.ladder.stopped_at,
        )

    def _read(self, peak_v: float) -> PowerPoint:
        return power_point(Reading(self.ladder.driven, self.ladder.points[peak_v]), self.ladder.load)

    def _refined(self, peak_v: float) -> PowerPoint:
        """Return a point solved with twice the harmonics, and what that changed."""
        near = self.ladder.points[peak_v]
        reading = Reading(self.fine, self.fine.drive(near.tones, near))
        before = shares(Reading(self.ladder.driven, near), self.ladder.load)
        change = float(np.abs(shares(reading, self.ladder.load) - before).max())
        self.waves.append(speaker_wave(reading, self.ladder.load))
        return power_point(reading, self.ladder.load, change)

    def _band(self, ten: float) -> tuple[PowerAtFrequency, ...]:
        swing_v = ten * gain(self.ladder.driven, self.ladder.load)
        return tuple(power_band(self.bench, distortion=TEN, swing_v=swing_v))


def _passed(chosen: dict[float, PowerPoint], peak_v: float | None) -> PowerPoint | None:
    point = None if peak_v is None else chosen[peak_v]
    return point if point is not None and point.certificate.passed else None


def _nothing_solved(ladder: Ladder) -> NoSteadyState:
    return NoSteadyState(
        what="the output power cannot be computed",
        found=ladder.stopped_at or "no drive with a passing certificate",
        wanted="currents that cancel at every joint and harmonic, and power in equal to power out",
        do="look at the idle first: lugwright idle, lugwright check",
    )
