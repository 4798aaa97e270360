"""Two readings taken wrongly: found on good builds and beside a fault, and never a way out of one plain fault."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest

from lugwright.bringup.trace import verdict
from lugwright.bringup.trace.evidence import Readings, Slip
from lugwright.bringup.trace.groups import GOOD
from lugwright.bringup.trace.posterior import posterior
from lugwright.bringup.trace.priors import PRIORS, log_priors
from lugwright.bringup.trace.records import Predictions
from lugwright.bringup.trace.two_wrong import TwoWrong, two_wrong
from lugwright.bringup.trace.verdict import Weighed, weigh

from .made_up import World, given, read, world

KEYS = ("a", "b")
EXPECTED = [[0.0] * 6, [9.0, 9.0, 0.0, 0.0, 0.0, 0.0], [0.0, 0.0, 0.0, 9.0, 9.0, 0.0]]
GOOD_BUT_TWO = {0: 0.1, 1: -0.2, 2: 7.0, 3: 0.3, 4: 0.0, 5: -8.0}


def _slips(readings: Readings, off: float, hypotheses: int) -> tuple[Slip, ...]:
    """Return for each reading the slip of a scale read wrong: it shows so much more."""
    return tuple(
        Slip(k, 1.0, np.full(hypotheses, off), np.full(hypotheses, 0.5), f"off {off:g}")
        for k in range(len(readings.at))
    )


def test_two_slips_on_a_good_build_are_both_doubted() -> None:
    readings = read(GOOD_BUT_TWO)

    def named(place: int) -> list[Slip]:
        return [s for off in (7.0, -8.0) for s in _slips(readings, off, 3) if s.reading == place]

    found = weigh(given(EXPECTED), readings, KEYS, np.ones(2), predict_slips=named).found
    assert found.chance[GOOD] > 0.9
    assert found.wrong[[2, 5]] == pytest.approx([1.0, 1.0], abs=0.05)
    assert np.all(found.wrong[[0, 1, 3, 4]] < 0.05)


def test_both_of_a_pair_wrong_weigh_as_worked_out_by_hand() -> None:
    readings, prior = read({0: 0.1, 1: -0.2, 2: 40.0, 3: 0.3, 4: 0.0, 5: -40.0}), np.log([0.5, 0.25, 0.2])
    believed = replace(PRIORS, scales=((1.0, 1.0),), none_of_these=1e-30)
    found = posterior(
        given(EXPECTED), readings, prior, broad=np.full(6, -4.0), twice=TwoWrong(((2, 5),), np.arange(3)),
        priors=believed,
    )  # fmt: skip
    values = np.array([0.1, -0.2, 0.3, 0.0])
    left = [-0.5 * np.sum((values - np.array(row)[[0, 1, 3, 4]]) ** 2) for row in EXPECTED]
    joint = np.exp(prior) * np.exp(left)  # all else is the same for each of them
    assert found.chance == pytest.approx(joint / joint.sum(), rel=1e-9)
    assert found.wrong == pytest.approx([0.0, 0.0, 1.0, 0.0, 0.0, 1.0], abs=1e-9)


def test_the_pair_is_that_of_the_two_farthest_off_what_explains_the_rest() -> None:
    twice = two_wrong(given(EXPECTED), read(GOOD_BUT_TWO), np.log([0.5, 0.25, 0.25]))
    assert twice is not None
    assert (2, 5) in twice.pairs


def test_readings_that_one_hypothesis_explains_raise_no_pair() -> None:
    only_good = given([[0.0] * 6])
    assert two_wrong(only_good, read({0: 0.0, 1: 0.2, 3: 0.1}), np.zeros(1)) is None
    assert two_wrong(only_good, read({0: 0.0, 1: 0.2, 3: 9.0}), np.zeros(1)) is None
    assert two_wrong(given(EXPECTED), read({0: 9.0, 5: 8.0}), np.log([0.9, 0.05, 0.05])) is None


def _with_two_slips(made: World, rng: np.random.Generator, truth: int) -> tuple[Weighed, tuple[int, int]]:
    """Return eight readings of a made-up build weighed, two of them off by a factor that has a name."""
    at = rng.choice(made.predictions.expected.shape[1], 8, replace=False)
    values = made.reading(rng, truth, uniform=True, step=0.0)[at]
    one, other = (int(k) for k in rng.choice(8, 2, replace=False))
    values[[one, other]] += rng.choice([-6.0, 6.0], 2)
    readings = Readings(at, values, np.full(8, 0.1))
    sd = np.sqrt(np.sum(made.predictions.loading**2, axis=2) + made.predictions.noise**2)

    def named(place: int) -> list[Slip]:
        mean, spread = made.predictions.expected[:, at[place]], sd[:, at[place]]
        return [Slip(place, 1.0, mean + off, spread, f"{off:g}") for off in (-6.0, 6.0)]

    def both(pairs: Sequence[tuple[int, int]]) -> Predictions:
        i, j = np.array(pairs).T
        p = made.predictions
        return Predictions(p.probes, p.expected[i] + p.expected[j], p.loading[i], p.noise[i], p.known[i])

    keys = tuple(f"f{h}" for h in range(1, len(made.predictions.expected)))
    found = weigh(made.predictions, readings, keys, made.odds, predict_slips=named, predict_pairs=both)
    return found, (one, other)


def _known_for_good(seed: int, cases: int) -> tuple[int, int]:
    """Return how many drawn good builds with two slips are known for good, and how many are none of the listed."""
    rng, right, none = np.random.default_rng(seed), 0, 0
    for case in range(cases):
        if case % 10 == 0:
            made = world(rng, faults=60, count=30, reach=0.2)
        found, slipped = _with_two_slips(made, rng, GOOD)
        right += bool(found.found.chance[GOOD] > 0.5 and np.all(found.found.wrong[list(slipped)] > 0.5))
        none += found.found.none_of_these > 0.5
    return right, none


def test_two_slips_on_drawn_good_builds_are_found_more_often_than_without(monkeypatch: pytest.MonkeyPatch) -> None:
    """The others look like one fault beside one slip, and are likelier that."""
    right, none = _known_for_good(7, 60)
    monkeypatch.setattr(verdict, "TWO_WRONG_FROM", 9.0)
    before, lost = _known_for_good(7, 60)
    assert right > 4 * before
    assert none < lost


def test_chances_with_two_wrong_readings_sum_to_one() -> None:
    rng = np.random.default_rng(11)
    made = world(rng, faults=40, count=20)
    found = _with_two_slips(made, rng, 3)[0].found
    assert np.sum(found.chance) + found.none_of_these == pytest.approx(1.0, abs=1e-9)
    assert np.all(found.wrong <= 1.0 + 1e-9)
    assert np.all(log_priors(made.odds) < 0.0)
    assert 0.0 < PRIORS.wrong_reading < 0.1
