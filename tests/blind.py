"""A bench where nobody sees the chassis: faults and tolerances drawn, readings simulated whole, traced blind."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np

from lugwright.bringup.faults.table import faults_of
from lugwright.bringup.good_builds import MAINS
from lugwright.bringup.spread_causes import Cause
from lugwright.bringup.trace.bench import TraceBench
from lugwright.bringup.trace.even_scale import even
from lugwright.bringup.trace.exact import ExactReadings
from lugwright.bringup.trace.groups import GOOD
from lugwright.bringup.trace.hypotheses import Hypothesis, hypotheses_of, together
from lugwright.bringup.trace.predictions import Predictor
from lugwright.bringup.trace.probes import probes_of
from lugwright.bringup.trace.reading_noise import display_step, meter_error
from lugwright.bringup.trace.records import Probe, Suspect, Taken, Verdict
from lugwright.bringup.trace.tracer import Tracer
from lugwright.buildfile.build import Build
from lugwright.circuit.edits import Edit, ScaleValue
from lugwright.circuit.network import Circuit
from lugwright.errors import NoIdlePoint
from lugwright.layout.results import Plan
from lugwright.solve.solved import Solved

READINGS = 8
FIRST = 3  # of the readings before tracing chooses: those at the end of the chart so far, the wrong one last
OUTSIDE = 2.576  # spreads of a good build: one in a hundred good readings lies further out
SHOWN = 3.0  # spreads off what good builds read
METER_SHARE = (0.005, 0.01)  # one standard deviation of a meter, drawn for each case


@dataclass
class Case:
    """One amplifier on the bench, and the meter beside it."""

    bench: TraceBench
    truth: Hypothesis
    draw: Edit
    rng: np.random.Generator
    share: float
    refused: set[str] = field(default_factory=set)  # steps whose truth has no certified answer

    @cached_property
    def exact(self) -> ExactReadings:
        return ExactReadings(self.bench, self.truth, self.draw)

    def read(self, probe: Probe) -> Taken | None:
        """Return what this meter shows, with its error and its digits; None where the truth cannot be told."""
        try:
            true = self.exact.value(probe)
        except NoIdlePoint:
            self.refused.add(probe.step)
            return None
        if not np.isfinite(true):
            return Taken(probe, true, 0.0)
        off = true * (1.0 + self.rng.normal(0.0, self.share))
        step = display_step(probe.quantity, off)
        value = round(off / step) * step
        return Taken(probe, value, meter_error(probe.quantity, value))


@dataclass(frozen=True)
class Result:
    """What tracing made of one case."""

    truth: tuple[str, ...]  # keys of what was wrong; none: a good build
    code: str
    readings: int
    healthy: float
    none_of_these: float
    suspects: tuple[Suspect, ...]
    taken: tuple[Taken, ...]
    refused: tuple[str, ...]

    def place(self, keys: Sequence[str]) -> int:
        """Return where a group with one of these faults stands, from 0; -1 where none does."""
        hit = (k for k, suspect in enumerate(self.suspects) if set(keys) & set(suspect.faults))
        return next(hit, -1)

    @property
    def alarm(self) -> bool:
        """Return whether a fault is held likelier than a good build."""
        return bool(self.suspects) and self.suspects[0].chance > self.healthy


def blind_bench(build: Build, circuit: Circuit, plan: Plan, solved: Solved) -> Tracer:
    """Return the fault list of a build with everything worked out that many tracings ask for."""
    bench = TraceBench(build, circuit, plan, solved)
    predictor = Predictor(bench, probes_of(bench), hypotheses_of(circuit, faults_of(build, circuit, plan)))
    predictor.prepare()
    return Tracer(predictor)


def visible(tracer: Tracer) -> np.ndarray:
    """Return which hypotheses some single reading shows: three spreads off what good builds read, or more."""
    predictor = tracer.predictor
    told = predictor.lumped(predictor.probes, np.arange(len(predictor.hypotheses)))
    apart = np.abs(told.mean - told.mean[GOOD]) / np.hypot(told.sd, told.sd[GOOD])
    return np.asarray(np.max(np.where(told.known & told.known[GOOD], apart, 0.0), axis=1) > SHOWN)


def drawn_faults(tracer: Tracer, count: int, rng: np.random.Generator) -> Hypothesis:
    """Return none, one or two faults at once, drawn as often as builders make them, that some reading shows."""
    hypotheses = tracer.predictor.hypotheses
    odds = np.where(visible(tracer)[1:], tracer.odds, 0.0)
    chosen = [hypotheses[1 + int(k)] for k in rng.choice(len(odds), size=count, replace=False, p=odds / odds.sum())]
    bench: TraceBench = tracer.predictor.bench  # type: ignore[attr-defined]
    return hypotheses[GOOD] if not chosen else chosen[0] if count == 1 else together(bench.circuit, *chosen)


def run_case(tracer: Tracer, truth: Hypothesis, rng: np.random.Generator) -> tuple[Case, Result]:
    """Return one amplifier with its faults, its parts drawn, and what tracing makes of it."""
    predictor: Predictor = tracer.predictor  # type: ignore[assignment]
    draw = drawn_values(predictor.bench, predictor.causes, rng)
    case = Case(predictor.bench, truth, draw, rng, float(rng.uniform(*METER_SHARE)))
    return case, traced(tracer, case)


def drawn_values(bench: TraceBench, causes: Sequence[Cause], rng: np.random.Generator) -> Edit:
    """Return parts, tubes, copper and mains of one good build, evenly within what each is allowed."""
    ends = rng.uniform(-1.0, 1.0, size=len(causes))
    known = {e.name for e in bench.circuit.elements} | {
        c.name for e in bench.circuit.elements for c in getattr(e, "coils", ())
    }
    changes = [
        ScaleValue(element, name, float(1.0 + cause.extent * end))
        for cause, end in zip(causes, ends, strict=True)
        for element, name in cause.values
        if element in known or (element, name) == MAINS
    ]
    return Edit("drawn", tuple(changes))


def wrong_from(tracer: Tracer, case: Case) -> list[Taken]:
    """Return the last readings of a builder who goes through the charts in order and stops at the first wrong one.

    In order: ohms at every pin and lug, then step by step what is read in it. A reading is wrong when it lies outside
    what 99 of 100 good builds show. Points at which the fault moves nothing are not simulated: they are right.
    """
    predictor = tracer.predictor
    probes, good, told = predictor.probes, np.array([GOOD]), np.array([place_of(tracer, case.truth)])
    normal, faulty = predictor.lumped(probes, good), predictor.lumped(probes, told)
    apart = np.abs(faulty.mean - normal.mean)[0] / np.hypot(faulty.sd, normal.sd)[0]
    apart = np.where((faulty.known & normal.known)[0], apart, np.inf)
    order = sorted(range(len(probes)), key=lambda k: list(case.bench.steps).index(probes[k].step))
    before: list[Probe] = []
    for k in order:
        probe = probes[k]
        if apart[k] < 0.5 or probe.step in case.refused:
            before.append(probe)
            continue
        reading = case.read(probe)
        if reading is None:
            continue
        off = abs(float(even(probe.quantity, reading.value)) - normal.mean[0, k]) / normal.sd[0, k]
        if off > OUTSIDE:
            right = (case.read(p) for p in before[-(FIRST - 1) :])
            return [*(r for r in right if r is not None), reading]
        before.append(probe)
    return [r for r in (case.read(p) for p in before[:FIRST]) if r is not None]  # all right: he asks all the same


def place_of(tracer: Tracer, truth: Hypothesis) -> int:
    """Return the place of a hypothesis, of the first fault where it is two."""
    if not truth.faults:
        return GOOD
    key = truth.faults[0].key
    return next(k for k, h in enumerate(tracer.predictor.hypotheses) if h.faults and key in {f.key for f in h.faults})


def traced(tracer: Tracer, case: Case, *, readings: int = READINGS) -> Result:
    """Return what tracing makes of a case within some readings, those that led to it included."""
    taken = wrong_from(tracer, case)
    while len(taken) < readings:
        candidates = {p: p.effort + p.risk for p in tracer.predictor.probes if p.step not in case.refused}
        verdict = tracer.verdict(taken, candidates, count=1)
        if not verdict.next:
            break
        reading = case.read(verdict.next[0].probe)
        if reading is not None:
            taken.append(reading)
    last: Verdict = tracer.verdict(taken, {}, count=0)
    faults = case.truth.faults
    return Result(
        tuple(f.key for f in faults), faults[0].code if faults else "", len(taken), last.healthy, last.none_of_these,
        last.suspects, tuple(taken), tuple(sorted(case.refused)),
    )  # fmt: skip


def calibration_error(
    results: Sequence[tuple[float, bool]], *, bins: int = 5
) -> tuple[float, list[tuple[float, float, int]]]:
    """Return the mean distance of chance and share right, weighed by count, and (chance, share right, count) by bin."""
    rows = []
    for low in np.linspace(0.0, 1.0, bins + 1)[:-1]:
        here = [
            (p, right) for p, right in results if low <= p < low + 1.0 / bins or (p == 1.0 and low + 1.0 / bins > 0.99)
        ]
        if here:
            rows.append((float(np.mean([p for p, _ in here])), float(np.mean([r for _, r in here])), len(here)))
    total = sum(count for *_, count in rows)
    return sum(abs(p - r) * n for p, r, n in rows) / max(total, 1), rows
