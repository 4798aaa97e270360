"""What the poles and the feedback of an amplifier say of it: findings."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from lugwright.buildfile.build import Build
from lugwright.findings import Finding, Grade
from lugwright.quantities import with_unit
from lugwright.solve.loop import worst_margins
from lugwright.solve.poles import GROWS_PER_S
from lugwright.solve.response_results import AmplifierResponse, LoopGain, Pole, TurnedPole

TRUSTED_HZ = 1e6  # above this, leads that no circuit shows decide
TREMOLO_HZ = 20.0  # a tremolo swings slower
SLOW_HZ, FAST_HZ = 30.0, 3e3  # below: supply and coupling capacitors; above: strays and the output transformer
PHASE_DEG, GAIN_DB = 30.0, 6.0  # margins below these are thin; common practice
_WANTED = "every swing dying away by itself"
_SOURCE = "poles of the circuit made linear at its idle"
_CURES = {
    "slow": "make one coupling capacitor in the loop much smaller than the others, or the filter capacitor larger",
    "middle": "look for two stages that share a cathode, a filter capacitor or a ground return",
    "fast": "a capacitor across the feedback resistor, another between the phase inverter's plates, grid stoppers",
}


def stability_findings(build: Build, response: AmplifierResponse) -> tuple[Finding, ...]:
    """Return what is wrong with the amplifier's coming to rest, and with its feedback."""
    if response.loop is not None and response.loop.positive:
        return (_adds(response.loop),)  # whatever swings besides may be its doing
    growing = [pole for pole in response.poles.poles if pole.growth_per_s > GROWS_PER_S]
    unwanted = [pole for pole in growing if not _swings_on_purpose(build, pole)]
    found = [_of_pole(pole) for pole in unwanted]
    if not unwanted:
        found += _turned([one for one in response.turned if not _swings_on_purpose(build, one.pole)])
    if len(unwanted) == len(growing):
        found += _still_tremolo(build)
    if response.loop is not None:
        found += _of_loop(response.loop, oscillates=bool(unwanted))
    return tuple(found)


def _swings_on_purpose(build: Build, pole: Pole) -> bool:
    """Return whether most of a swing's joints belong to a tremolo, and it is slow enough for one."""
    stages = {stage.name for stage in build.stages if stage.duty == "tremolo"}
    parts = {part.name: part.stage for part in build.parts}
    inside = [
        joint for joint in pole.joints if any(parts[t.part] in stages for t in build.joints.get(joint, ()) if t.part)
    ]
    return 0.0 < pole.hertz < TREMOLO_HZ and 2 * len(inside) > len(pole.joints)


def _of_pole(pole: Pole) -> Finding:
    if pole.hertz == 0.0:
        return _finding(
            "runs-away", Grade.FAULT, "the idle does not hold: it runs away", pole, _WANTED,
            "look for a path by which a plate drives its own grid upward",
        )  # fmt: skip
    doubtful = pole.hertz > TRUSTED_HZ
    words = f"{'may' if doubtful else 'will'} oscillate at about {with_unit(pole.hertz, 'Hz', figures=2)}"
    band = "slow" if pole.hertz < SLOW_HZ else "fast" if pole.hertz > FAST_HZ else "middle"
    return _finding("will-oscillate", Grade.DOUBT if doubtful else Grade.FAULT, words, pole, _WANTED, _CURES[band])


def _finding(rule: str, grade: Grade, what: str, pole: Pole, wanted: str, do: str) -> Finding:
    found = f"a swing that grows 2.7-fold in {with_unit(1.0 / pole.growth_per_s, 's', figures=2)}"
    return Finding(
        rule=rule, grade=grade, what=what, found=f"{found}, most of it at {', '.join(pole.joints)}", wanted=wanted,
        do=do, part=pole.joints[0].split(".")[0] if pole.joints else "", source=_SOURCE,
    )  # fmt: skip


def _turned(growing: list[TurnedPole]) -> Iterator[Finding]:
    """Yield one finding for all settings at which something grows, about the one that grows fastest."""
    if not growing:
        return
    worst = max(growing, key=lambda one: one.pole.growth_per_s)
    finding = _of_pole(worst.pole)
    settings = list(dict.fromkeys(one.setting for one in growing))
    more = f"; also with {', '.join(s for s in settings if s != worst.setting)}" if len(settings) > 1 else ""
    yield replace(
        finding, rule="oscillates-when-turned", what=f"{finding.what} with {worst.setting}", found=finding.found + more
    )


def _still_tremolo(build: Build) -> Iterator[Finding]:
    stage = next((stage for stage in build.stages if stage.duty == "tremolo"), None)
    if stage is None:
        return
    yield Finding(
        rule="tremolo-still", grade=Grade.DOUBT, what="the tremolo does not start by itself",
        found=f"no swing below {TREMOLO_HZ:g} Hz that grows in stage {stage.title or stage.name}",
        wanted="a swing of a few hertz that grows",
        do="turn Speed and Depth; else give its tube more gain: a bypassed cathode, a larger plate resistor",
        source=_SOURCE,
    )  # fmt: skip


def _adds(loop: LoopGain) -> Finding:
    return Finding(
        rule="feedback-adds", grade=Grade.FAULT, what="the feedback adds to the signal instead of taking from it",
        found=f"{-loop.reduction_db:.1f} dB more gain at 1 kHz through {' and '.join(loop.parts)}",
        wanted="less gain with the feedback than without", part=loop.parts[0],
        do="swap the two plate leads of the output transformer, or the two ends of its speaker winding",
        source="return ratio of the feedback",
    )  # fmt: skip


def _of_loop(loop: LoopGain, *, oscillates: bool) -> Iterator[Finding]:
    worst = worst_margins(loop)
    phase, gain = worst.get("phase"), worst.get("gain")
    thin = []
    if phase is not None and phase.phase_deg is not None and phase.phase_deg < PHASE_DEG:
        thin.append(f"{phase.phase_deg:.0f}° of phase at {with_unit(phase.hertz, 'Hz', figures=2)}")
    if gain is not None and gain.gain_db is not None and gain.gain_db < GAIN_DB:
        thin.append(f"{gain.gain_db:.1f} dB of gain at {with_unit(gain.hertz, 'Hz', figures=2)}")
    if thin and not oscillates:
        yield Finding(
            rule="thin-margin", grade=Grade.DOUBT, what="the feedback is not far from oscillating",
            found=f"left: {' and '.join(thin)}", wanted=f"{PHASE_DEG:g}° of phase and {GAIN_DB:g} dB of gain",
            do=f"less feedback through {' and '.join(loop.parts)}, or a capacitor that shapes it", part=loop.parts[0],
            source="return ratio of the feedback; the limits are common practice",
        )  # fmt: skip
