"""Made-up worlds: faults and probes drawn at random, readings that follow from one of them."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from lugwright.bringup.trace.evidence import Readings
from lugwright.bringup.trace.records import Array, Predictions, Probe


def probes(count: int) -> tuple[Probe, ...]:
    return tuple(Probe("all tubes", f"p{k}", "ground", "V dc", f"point {k} to ground", 10.0, 5.0) for k in range(count))


def given(expected: object, *, loading: object = None, noise: float | Array = 1.0, known: object = None) -> Predictions:
    """Return predictions from rows written out."""
    rows = np.array(expected, dtype=float)
    causes = np.zeros((*rows.shape, 1)) if loading is None else np.array(loading, dtype=float)
    return Predictions(
        probes(rows.shape[1]),
        rows,
        causes,
        np.broadcast_to(np.asarray(noise, dtype=float), rows.shape).copy(),
        np.ones(rows.shape, dtype=bool) if known is None else np.array(known, dtype=bool),
    )


def read(values: dict[int, float], noise: float = 0.0, top: float = np.inf) -> Readings:
    """Return readings: probe to value."""
    at = np.array(list(values), dtype=int)
    return Readings(at, np.array(list(values.values()), dtype=float), np.full(len(at), noise), top=top)


@dataclass(frozen=True)
class World:
    """Faults that each move some of the probes; causes that move probes together, the same for all faults."""

    predictions: Predictions
    odds: Array

    def reading(self, rng: np.random.Generator, hypothesis: int, *, uniform: bool, step: float) -> Array:
        """Return what all probes would show, rounded."""
        causes = self.predictions.loading.shape[2]
        size = np.sqrt(3.0)
        z = rng.uniform(-size, size, causes) if uniform else rng.normal(size=causes)
        noise = self.predictions.noise[hypothesis]
        own = noise * (rng.uniform(-size, size, len(noise)) if uniform else rng.normal(size=len(noise)))
        exact = self.predictions.expected[hypothesis] + self.predictions.loading[hypothesis] @ z + own
        return exact if step == 0.0 else np.round(exact / step) * step


def world(
    rng: np.random.Generator, *, faults: int = 60, count: int = 30, causes: int = 8, reach: float = 0.35
) -> World:
    """Return a world: each fault moves a share of the probes by half a spread to twenty; some faults are twins."""
    expected = np.zeros((faults + 1, count))
    for h in range(1, faults + 1):
        moved = rng.random(count) < reach
        expected[h, moved] = rng.choice([-1.0, 1.0], np.sum(moved)) * np.exp(rng.uniform(-0.7, 3.0, np.sum(moved)))
        if h > 3 and rng.random() < 0.2:
            expected[h] = expected[rng.integers(1, h)]
    loading = rng.normal(size=(count, causes)) * (rng.random((count, causes)) < 0.4) * 0.5
    every = np.broadcast_to(loading, (faults + 1, count, causes)).copy()
    known = np.ones((faults + 1, count), dtype=bool)
    predictions = Predictions(probes(count), expected, every, np.full((faults + 1, count), 0.4), known)
    return World(predictions, rng.choice([1.0, 2.0, 4.0, 8.0], faults))


def some_of(readings: Readings, kept: NDArray[np.int_]) -> Readings:
    return replace(readings, at=readings.at[kept], value=readings.value[kept], noise=readings.noise[kept])
