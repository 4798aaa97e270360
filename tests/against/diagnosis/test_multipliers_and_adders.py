"""H-1, H-2: three multipliers and two adders, of which something is broken."""

from __future__ import annotations

from itertools import combinations
from typing import Any

import numpy as np
import pytest

from lugwright.bringup.trace.evidence import Readings
from lugwright.bringup.trace.posterior import posterior
from lugwright.bringup.trace.priors import Priors
from lugwright.bringup.trace.records import Array, Predictions, Probe

PARTS = ("M1", "M2", "M3", "A1", "A2")
BROKEN = 0.01  # each part on its own
SHARP = 0.01  # error of a reading whose value follows
ANYTHING = 1000.0  # what a broken part puts out
SETS = [frozenset(some) for size in range(6) for some in combinations(PARTS, size)]
# X = A C, Y = B D, Z = C E, F = X + Y, G = Y + Z with A 3, B 2, C 2, D 3, E 3: how F and G follow each part's output
FOLLOWS = {"M1": (1.0, 0.0), "M2": (1.0, 1.0), "M3": (0.0, 1.0), "A1": (1.0, 0.0), "A2": (0.0, 1.0)}
GOOD = (12.0, 12.0)


def _moved_by(broken: frozenset[str]) -> Array:
    """Return how F and G follow the outputs of the broken parts: (reading, part)."""
    rows = np.array([FOLLOWS[part] for part in PARTS]).T * [part in broken for part in PARTS]
    for k, adder in enumerate(("A1", "A2")):
        if adder in broken:
            rows[k] = 0.0
            rows[k, PARTS.index(adder)] = 1.0
    return rows


def _predictions() -> Predictions:
    """Return what each set of broken parts says of F and G; what it leaves wholly free, it says nothing of."""
    loading, known = np.zeros((len(SETS), 2, 5)), np.ones((len(SETS), 2), dtype=bool)
    for h, broken in enumerate(SETS):
        rows = _moved_by(broken)
        free = np.linalg.matrix_rank(rows)
        together = free == 1 and np.all(np.any(rows, axis=1))
        loading[h] = ANYTHING * rows if together else 0.0
        known[h] = True if together else ~np.any(rows, axis=1)
    probes = tuple(Probe("at once", name, "ground", "number", name, 1.0, 0.0) for name in "FG")
    return Predictions(probes, np.tile(GOOD, (len(SETS), 1)), loading, np.full((len(SETS), 2), SHARP), known)


def _chances() -> Array:
    """Return the chance of every set after F = 10 and G = 12; a free output surprises nobody, whatever it is."""
    count = np.array([len(broken) for broken in SETS])
    log_prior = count * np.log(BROKEN) + (5 - count) * np.log1p(-BROKEN)
    sharp = np.full(2, -0.5 * np.log(2.0 * np.pi * SHARP**2))
    plain = Priors(none_of_these=0.0, wrong_reading=0.0, scales=((1.0, 1.0),))
    readings = Readings(np.arange(2), np.array([10.0, 12.0]), np.zeros(2))
    with np.errstate(divide="ignore"):
        return posterior(_predictions(), readings, log_prior, priors=plain, broad=sharp).chance


def test_the_smallest_sets_that_explain_are_the_four_known() -> None:
    consistent = [broken for broken, chance in zip(SETS, _chances(), strict=True) if chance > 1e-12]
    smallest = {broken for broken in consistent if not any(other < broken for other in consistent)}
    assert smallest == {frozenset(s) for s in (("A1",), ("M1",), ("A2", "M2"), ("M2", "M3"))}


def test_chances_are_those_of_counting_all_sets(rows: list[dict[str, str]], tolerance: dict[str, Any]) -> None:
    chances = _chances()
    found = {part: float(sum(c for s, c in zip(SETS, chances, strict=True) if part in s)) for part in PARTS}
    found["A1 alone"] = float(chances[SETS.index(frozenset({"A1"}))])
    found["consistent sets"] = float(np.sum(chances > 1e-12))
    wanted = {row["what"]: float(row["value"]) for row in rows if row["id"] == "H-2"}
    assert found == pytest.approx(wanted, abs=tolerance["chance"])
