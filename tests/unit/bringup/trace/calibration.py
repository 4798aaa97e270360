"""Whether chances are honest: worlds with faults drawn as often as they are believed in, readings, and the count."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from lugwright.bringup.trace.evidence import Readings
from lugwright.bringup.trace.next_reading import next_readings
from lugwright.bringup.trace.priors import PRIORS, Priors
from lugwright.bringup.trace.records import Array, Predictions
from lugwright.bringup.trace.verdict import Weighed, verdict_of, weigh

from .made_up import World, probes, world

OVER = 1.0  # beyond the top: where over range stands


@dataclass(frozen=True)
class Kind:
    """How the truth differs from what the engine believes."""

    uniform: bool = False  # tolerances fill their range instead of being normal
    step: float = 0.0  # the meter rounds
    model: float = 0.0  # deviations of faults are off by this share, one factor for each fault and probe
    top: float = np.inf  # from where on the meter shows over range


@dataclass(frozen=True)
class Answer:
    """What was said after some readings, and what was true."""

    said: tuple[tuple[float, bool], ...]  # chances given, and whether it was so
    truth: str  # "good", "one", "two", "none of these"
    first: bool  # the first suspect is (one of) the true fault(s)
    top_three: bool
    found: bool
    good: bool


def answers(seed: int, kind: Kind, *, cases: int, most: int = 8, priors: Priors = PRIORS) -> list[Answer]:
    """Return answers after one to some well chosen readings in made-up worlds, one world for ten cases."""
    rng = np.random.default_rng(seed)
    found = []
    for case in range(cases):
        if case % 10 == 0:
            made = world(rng, faults=120, count=30, reach=0.2)
        found.append(_answer(rng, made, kind, int(rng.integers(1, most + 1)), priors))
    return found


def _answer(rng: np.random.Generator, made: World, kind: Kind, count: int, priors: Priors) -> Answer:
    truth, faults, expected = _truth(rng, made, priors)
    off = 1.0 + kind.model * rng.normal(size=expected.shape)
    shown = made.reading(rng, 0, uniform=kind.uniform, step=0.0) + expected * off
    wrong = rng.random(len(shown)) < priors.wrong_reading
    shown = np.where(wrong, rng.uniform(-25.0, 25.0, len(shown)), shown)
    shown = np.round(shown / kind.step) * kind.step if kind.step else shown
    shown = np.where(shown > kind.top, kind.top + OVER, shown)
    at = np.zeros(0, dtype=int)
    for _ in range(count + 1):
        readings = Readings(at, shown[at], np.full(len(at), kind.step / np.sqrt(12.0)), top=kind.top)
        weighed = _weighed(made, readings, kind, priors)
        left = np.setdiff1d(np.arange(len(shown)), at)
        if len(at) < count:
            at = np.append(at, next_readings(weighed.predictions, readings, weighed.found, left, count=1)[0].at)
    return _judged(weighed, left, truth, faults)


def _weighed(made: World, readings: Readings, kind: Kind, priors: Priors) -> Weighed:
    believed = _believed(made.predictions, kind)
    keys = tuple(f"f{h}" for h in range(1, len(believed.expected)))

    def both(pairs: Sequence[tuple[int, int]]) -> Predictions:
        i, j = np.array(pairs).T
        expected = believed.expected[i] + believed.expected[j]
        noise = np.hypot(believed.noise[i], kind.model * (expected - believed.expected[i]))
        known = np.ones(expected.shape, dtype=bool)
        return Predictions(believed.probes, expected, believed.loading[i], noise, known)

    return weigh(believed, readings, keys, made.odds, predict_pairs=both, priors=priors)


def _believed(exact: Predictions, kind: Kind) -> Predictions:
    """Return the predictions with what the model may be off counted as noise."""
    noise = np.hypot(exact.noise, kind.model * exact.expected)
    return Predictions(exact.probes, exact.expected, exact.loading, noise, exact.known)


def _truth(rng: np.random.Generator, made: World, priors: Priors) -> tuple[str, tuple[int, ...], Array]:
    shares = np.array([priors.good, priors.one, priors.two, priors.none_of_these])
    truth = str(rng.choice(["good", "one", "two", "none of these"], p=shares / np.sum(shares)))
    expected = made.predictions.expected
    if truth == "none of these":
        other = world(rng, faults=1, count=len(probes(expected.shape[1])))
        return truth, (), other.predictions.expected[1]
    size = {"good": 0, "one": 1, "two": 2}[truth]
    faults = rng.choice(len(made.odds), size, replace=False, p=made.odds / np.sum(made.odds)) + 1
    return truth, tuple(int(h) for h in faults), np.sum(expected[faults], axis=0)


def _judged(weighed: Weighed, left: np.ndarray, truth: str, faults: tuple[int, ...]) -> Answer:
    verdict = verdict_of(weighed, left, lambda _, value: value)
    keys = {f"f{h}" for h in faults}
    said = [(s.chance, bool(keys & set(s.faults))) for s in verdict.suspects]
    said += [(verdict.healthy, truth == "good"), (verdict.none_of_these, truth == "none of these")]
    ranked = [bool(keys & set(s.faults)) for s in verdict.suspects]
    return Answer(tuple(said), truth, ranked[:1] == [True], any(ranked[:3]), verdict.found, verdict.good)


def table(found: list[Answer], edges: Sequence[float] = (0.02, 0.2, 0.4, 0.6, 0.8, 0.95, 1.0001)) -> Array:
    """Return rows of (mean chance said, share that was so, how many), by chance said."""
    said = np.array([pair for answer in found for pair in answer.said], dtype=float)
    rows = []
    for low, high in pairwise(edges):
        here = said[(said[:, 0] >= low) & (said[:, 0] < high)]
        if len(here):
            rows.append((np.mean(here[:, 0]), np.mean(here[:, 1]), len(here)))
    return np.array(rows)
