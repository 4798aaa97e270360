"""The next reading is the one that tells most for what it costs."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given as draw
from hypothesis import settings
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.stats import norm

from lugwright.bringup.trace.ahead import ahead
from lugwright.bringup.trace.evidence import Readings, no_readings
from lugwright.bringup.trace.next_reading import MOST, information_bits, likely, next_readings
from lugwright.bringup.trace.normal_law import below, log_above
from lugwright.bringup.trace.outcomes import outcomes_of
from lugwright.bringup.trace.posterior import Posterior, posterior
from lugwright.bringup.trace.priors import PRIORS, log_priors

from .made_up import given, read, world

ONE = ((1.0, 1.0),)


def test_share_below_an_edge_is_near_the_exact_law() -> None:
    z = np.linspace(-6.0, 6.0, 2001)
    assert np.max(np.abs(below(z, np.zeros(1), np.ones(1)) - norm.cdf(z))) < 4e-4


def _exact_bits(mean: np.ndarray, sd: np.ndarray, weight: np.ndarray) -> float:
    """Return the information by integration."""

    def mixed(y: float) -> float:
        p = float(weight @ norm.pdf(y, mean, sd))
        return -p * np.log2(p) if p > 0.0 else 0.0

    points = np.sort(np.concatenate([mean, mean - 3 * sd, mean + 3 * sd]))
    total = quad(mixed, np.min(mean - 9 * sd), np.max(mean + 9 * sd), points=points, limit=500)[0]
    return total - float(weight @ (0.5 * np.log2(2 * np.pi * np.e * sd**2)))


@settings(max_examples=25, deadline=None)
@draw(st.integers(0, 10_000))
def test_information_is_near_the_integral_and_not_above_it(seed: int) -> None:
    """Bins lose a little: at most a tenth of a bit, and nothing is made up beyond the error of the law's shape."""
    rng = np.random.default_rng(seed)
    count = int(rng.integers(2, 9))
    predictions = given([[x] for x in rng.normal(size=count) * 6.0], noise=rng.uniform(0.5, 2.0, (count, 1)))
    weight = rng.dirichlet(np.ones(count))
    told = ahead(predictions, no_readings(), np.arange(count), np.array([0]), scales=ONE)
    found = information_bits(told, weight, 0.0)[0]
    exact = _exact_bits(told.mean[:, 0], told.sd[:, 0], weight)
    assert exact - 0.1 < found < exact + 0.01


def test_the_logarithm_of_the_share_above_an_edge_is_near_the_exact_law_however_small_it_is() -> None:
    z = np.linspace(-40.0, 40.0, 2001)
    assert np.max(np.abs(log_above(z, np.zeros(1), np.ones(1)) - norm.logsf(z))) < 0.012


def test_where_a_meter_shows_over_range_it_tells_no_more() -> None:
    told = ahead(given([[20.0], [30.0]]), no_readings(), np.arange(2), np.array([0]), scales=ONE)
    assert information_bits(told, np.array([0.5, 0.5]), 0.0)[0] == pytest.approx(1.0, abs=1e-3)
    assert information_bits(told, np.array([0.5, 0.5]), 0.0, top=10.0)[0] == pytest.approx(0.0, abs=1e-3)
    assert information_bits(told, np.array([0.5, 0.5]), 0.0, top=25.0)[0] == pytest.approx(1.0, abs=1e-3)


def test_over_range_moves_nothing_that_is_expected_ahead() -> None:
    predictions = given([[9.0, 0.0]], loading=[[[2.0], [2.0]]])
    some, at = np.array([0]), np.array([1])
    before = ahead(predictions, no_readings(), some, at, scales=ONE)
    over = ahead(predictions, read({0: 12.0}, top=8.0), some, at, scales=ONE)
    seen = ahead(predictions, read({0: 12.0}), some, at, scales=ONE)
    assert over.mean == pytest.approx(before.mean)
    assert over.sd == pytest.approx(before.sd)
    assert seen.mean > 1.0


def test_what_is_expected_ahead_is_the_conditional_law_written_out() -> None:
    rng = np.random.default_rng(5)
    made = world(rng, faults=10, count=12, causes=6)
    values = made.reading(rng, 4, uniform=False, step=0.0)
    at, next_at = np.array([1, 4, 7, 8]), np.array([0, 2, 11])
    readings = Readings(at, values[at], np.full(4, 0.1))
    told = ahead(made.predictions, readings, np.arange(11), next_at, scales=ONE)
    for h in range(11):
        loading = made.predictions.loading[h]
        every = loading @ loading.T + np.diag(made.predictions.noise[h] ** 2)
        seen = every[np.ix_(at, at)] + 0.01 * np.eye(4)
        gain = np.linalg.solve(seen, every[np.ix_(at, next_at)]).T
        off = values[at] - made.predictions.expected[h, at]
        assert told.mean[h] == pytest.approx(made.predictions.expected[h, next_at] + gain @ off)
        left = every[np.ix_(next_at, next_at)] - gain @ every[np.ix_(at, next_at)]
        assert told.sd[h] == pytest.approx(np.sqrt(np.diag(left)))


def test_many_readings_and_few_readings_give_the_same_ahead() -> None:
    rng = np.random.default_rng(6)
    made = world(rng, faults=10, count=12, causes=6)
    values = made.reading(rng, 4, uniform=False, step=0.0)
    at = np.arange(8)  # more readings than causes; padded below with causes that move nothing
    readings = Readings(at, values[at], np.full(8, 0.1))
    padded = replace(
        made.predictions, loading=np.concatenate([made.predictions.loading, np.zeros((11, 12, 6))], axis=2)
    )
    some, ahead_at = np.arange(11), np.array([9, 10, 11])
    one = ahead(made.predictions, readings, some, ahead_at, scales=PRIORS.scales)
    other = ahead(padded, readings, some, ahead_at, scales=PRIORS.scales)
    assert one.mean == pytest.approx(other.mean)
    assert one.sd == pytest.approx(other.sd)


def test_a_reading_that_splits_the_suspects_is_proposed_first() -> None:
    predictions = given([[0.0, 0.0, 0.0], [0.0, 9.0, 9.0], [0.0, 9.0, -9.0]])
    prior = np.log(np.array([0.01, 0.49, 0.5]))
    found = posterior(predictions, no_readings(), prior)
    best = next_readings(predictions, no_readings(), found, np.arange(3))
    assert best[0].at == 2
    assert best[-1].at == 0
    assert best[-1].bits == pytest.approx(0.0, abs=1e-3)


def test_of_two_that_tell_the_same_the_safer_one_is_proposed() -> None:
    predictions = given([[0.0, 0.0], [9.0, 9.0]])
    dear = replace(predictions.probes[0], risk=300.0)
    predictions = replace(predictions, probes=(dear, predictions.probes[1]))
    found = posterior(predictions, no_readings(), log_priors(np.ones(1)))
    assert next_readings(predictions, no_readings(), found, np.arange(2))[0].at == 1


def test_outcomes_say_what_is_left() -> None:
    mean, sd = np.array([0.0, 0.3, 50.0, 100.0]), np.ones(4)
    found = outcomes_of(mean, sd, np.ones(4, dtype=bool), np.array([7, 3, 5, 2]), np.array([0.3, 0.2, 0.3, 0.2]))
    assert [set(o.left) for o in found] == [{7, 3}, {5}, {2}]
    assert found[0].low == -np.inf
    assert found[-1].high == np.inf
    assert [o.high for o in found[:-1]] == [o.low for o in found[1:]]
    assert 3.0 < found[0].high < 48.0
    assert sum(o.chance for o in found) == pytest.approx(1.0)


def test_the_last_stretch_that_a_meter_shows_ends_at_its_top() -> None:
    mean, sd, every = np.array([0.0, 50.0, 100.0]), np.ones(3), np.ones(3, dtype=bool)
    found = outcomes_of(mean, sd, every, np.arange(3), np.full(3, 1.0 / 3.0), top=30.0)
    assert [(o.low < 30.0, o.high, set(o.left)) for o in found[-1:]] == [(True, np.inf, {1, 2})]
    assert len(found) == 2
    assert found[0].high <= 30.0


def test_a_hypothesis_that_says_nothing_is_left_in_every_outcome() -> None:
    known = np.array([True, True, False])
    found = outcomes_of(np.array([0.0, 40.0, 0.0]), np.ones(3), known, np.arange(3), np.array([0.4, 0.4, 0.2]))
    assert all(2 in o.left for o in found)


def test_where_nothing_listed_can_be_some_of_all_are_looked_at_alike() -> None:
    some, weight = likely(Posterior(np.zeros(3000), 1.0, np.zeros(0), np.zeros((3000, 0))))
    assert 1 < len(some) <= MOST
    assert weight == pytest.approx(np.full(len(some), 1.0 / len(some)))


def test_of_very_many_hypotheses_some_stand_for_all() -> None:
    rng = np.random.default_rng(3)
    chance = 0.6 * rng.dirichlet(np.full(3000, 0.3))
    top = rng.choice(3000, 20, replace=False)
    chance[top] += 0.02
    found = Posterior(chance, 0.0, np.zeros(0), np.zeros((3000, 0)))
    some, weight = likely(found)
    assert len(some) <= MOST
    assert len(set(some.tolist())) == len(some)
    assert np.sum(weight) == pytest.approx(1.0)
    assert set(top.tolist()) <= set(some.tolist())
    thirds = [float(np.sum(weight[some % 3 == k])) for k in range(3)]
    assert thirds == pytest.approx([float(np.sum(chance[k::3])) for k in range(3)], abs=0.05)


def test_no_probe_no_choice() -> None:
    predictions = given([[0.0], [9.0]])
    found = posterior(predictions, read({0: 0.1}), log_priors(np.ones(1)))
    assert next_readings(predictions, read({0: 0.1}), found, np.zeros(0, dtype=int)) == ()
