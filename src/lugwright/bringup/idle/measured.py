"""From readings at idle to currents, watts, match, and the way to the target."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from lugwright.bringup.bias_control import bias_controls, control_words
from lugwright.bringup.idle.advice import advice
from lugwright.bringup.idle.at_edit import AtEdit
from lugwright.bringup.idle.currents import Taken, other_ways, tube_at_idle
from lugwright.bringup.idle.doubts import raw_doubts
from lugwright.bringup.idle.fit import as_measured, fitted, unknowns_of
from lugwright.bringup.idle.readings import IdleReading
from lugwright.bringup.idle.stage import Stage
from lugwright.bringup.idle.targets import target_of
from lugwright.bringup.idle.turning import Control, controls_of
from lugwright.bringup.idle.verdicts import fits, verdicts
from lugwright.bringup.idle_results import IdleMeasured, Match, TubeAtIdle
from lugwright.buildfile.build import Build, Part, Pot
from lugwright.circuit.operating import Idle
from lugwright.errors import NoIdlePoint
from lugwright.findings import Finding, Grade, sorted_by_grade

OWN_CONTROLS = "which their own controls bring together"
FINE_PAIR, PAIR, LOOSE_PAIR = 0.05, 0.10, 0.20


@dataclass(frozen=True)
class Bench:
    """The output stage as drawn, with its controls where the build file leaves them, or where they were noted."""

    stage: Stage
    at: AtEdit
    parts: tuple[Part, ...]  # controls of a negative supply
    cold: Idle
    noted: Mapping[str, float]

    @property
    def controls(self) -> tuple[Control, ...]:
        """Return the controls that move an output grid, as drawn."""
        return controls_of(self.stage, self.at, self.parts)


def bench_of(build: Build, stage: Stage, at: AtEdit, cold: Idle, noted: Mapping[str, float]) -> Bench:
    """Return the output stage with its bias controls."""
    parts = tuple(bias_controls(build, at.idle)) if stage.fixed else ()
    settings = {p.name: p.values.setting for p in parts if isinstance(p.values, Pot)}
    return Bench(stage, AtEdit(at.solved, at.idle, at.edit, settings), parts, cold, noted)


def idle_measured(bench: Bench, readings: Sequence[IdleReading], wish: str) -> IdleMeasured:
    """Return what readings at idle say, and what to do next.

    Raises
    ------
    ReadingError
        ``wish`` is no target.
    """
    target_of(bench.stage, wish)
    said = tuple(r.said for r in readings)
    doubts = raw_doubts(bench.stage, bench.at, readings)
    if any(doubt.grade in (Grade.DANGER, Grade.FAULT) for doubt in doubts):
        return IdleMeasured(said, (), (), None, 1.0, (), None, tuple(sorted_by_grade(list(doubts))))
    try:
        return _figures(bench, taken_at(bench, readings), wish, doubts)
    except NoIdlePoint as error:
        return IdleMeasured(said, (), (), None, 1.0, (), None, (_no_point(error, said), *doubts))


def taken_at(bench: Bench, readings: Sequence[IdleReading]) -> Taken:
    """Return the readings with the circuit that explains them best.

    Raises
    ------
    NoIdlePoint
        On the way there the circuit has no certified point.
    """
    at = bench.at.further(as_measured(bench.stage, readings))
    fit = fitted(bench.stage, at, unknowns_of(bench.stage, bench.parts, bench.noted), readings)
    return Taken(bench.stage, fit, {(r.tube, r.what): r for r in readings})


def _figures(bench: Bench, taken: Taken, wish: str, doubts: tuple[Finding, ...]) -> IdleMeasured:
    stage, fit = bench.stage, taken.fit
    tubes = tuple(tube_at_idle(taken, tube) for tube in stage.tubes)
    others = tuple(
        o for tube, row in zip(stage.tubes, tubes, strict=True) for o in other_ways(taken, tube, row.plate_from)
    )
    controls = controls_of(stage, fit.at, bench.parts)
    match = match_of(stage, tubes, controls)
    found = [*doubts, *verdicts(taken, tubes, others, target_of(stage, wish), match, controls)]
    return IdleMeasured(
        readings=tuple(r.said for r in taken.all),
        tubes=tubes,
        others=others,
        match=match,
        mains_share=fit.mains_share,
        controls=tuple((control_words(c.part), fit.at.rotations[c.name]) for c in controls),
        advice=advice(stage, fit.at, controls, bench.cold, wish) if fits(taken) else None,
        findings=tuple(sorted_by_grade(found)),
    )


def match_of(stage: Stage, tubes: Sequence[TubeAtIdle], controls: Sequence[Control] = ()) -> Match | None:
    """Return how like each other the tubes are, and what does not cancel between sides; None unless each was read."""
    if len(tubes) < 2 or not all(tube.read and tube.alone for tube in tubes):
        return None
    amps = {tube.tube: tube.plate_a.value for tube in tubes}
    mean = sum(amps.values()) / len(amps)
    apart = (max(amps.values()) - min(amps.values())) / mean if mean > 0.0 else 0.0
    sides = [sum(amps[name] for name in side) for side in stage.sides]
    left_a = max(sides) - min(sides) if len(sides) > 1 else 0.0
    words = "no pair"
    for limit, text in (
        (FINE_PAIR, "a fine match"),
        (PAIR, "as bought pairs are"),
        (LOOSE_PAIR, "good enough to play"),
    ):
        if apart <= limit:
            words = text
            break
    else:
        if any(len(control.tubes) == 1 for control in controls):
            words = OWN_CONTROLS
    return Match(tuple(amps), tuple(amps.values()), apart, left_a, words)


def _no_point(error: NoIdlePoint, said: tuple[str, ...]) -> Finding:
    return Finding(
        rule="idle-no-fit", grade=Grade.FAULT, part="", source="the fitted circuit",
        what="these readings fit no setting of this circuit", found=f"{', '.join(said)}; {error.what}: {error.found}",
        wanted="readings that one circuit can show",
        do="read again, with the right pins and ranges; if they stay so, put all your readings to lugwright trace",
    )  # fmt: skip
