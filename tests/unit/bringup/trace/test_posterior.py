"""Laws that chances after readings must obey."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given as draw
from hypothesis import settings
from hypothesis import strategies as st
from scipy.stats import norm

from lugwright.bringup.trace.broad import log_broad
from lugwright.bringup.trace.evidence import Readings, Slip, no_readings
from lugwright.bringup.trace.posterior import Posterior, posterior
from lugwright.bringup.trace.priors import PRIORS, log_priors
from lugwright.bringup.trace.records import Predictions

from .made_up import World, given, read, some_of, world

SEEDS = st.integers(0, 10_000)
EXACT = {"abs": 1e-9, "rel": 1e-7}


def _case(seed: int, count: int = 6) -> tuple[World, Readings, int]:
    rng = np.random.default_rng(seed)
    made = world(rng, faults=25, count=20)
    truth = int(rng.integers(0, 26))
    at = rng.choice(20, count, replace=False)
    values = made.reading(rng, truth, uniform=False, step=0.0)
    return made, Readings(at, values[at], np.full(count, 0.1)), truth


def _found(made: World, readings: Readings) -> Posterior:
    return posterior(made.predictions, readings, log_priors(made.odds))


def _reordered(predictions: Predictions, order: np.ndarray) -> Predictions:
    names = ("expected", "loading", "noise", "known")
    return replace(predictions, **{name: getattr(predictions, name)[order] for name in names})


@settings(max_examples=40, deadline=None)
@draw(SEEDS)
def test_chances_sum_to_one(seed: int) -> None:
    made, readings, _ = _case(seed)
    found = _found(made, readings)
    assert np.sum(found.chance) + found.none_of_these == pytest.approx(1.0, abs=1e-12)
    assert np.all(found.chance >= 0.0)
    assert np.sum(found.wrong) <= 1.0 + 1e-12


@settings(max_examples=30, deadline=None)
@draw(SEEDS)
def test_the_order_of_readings_does_not_matter(seed: int) -> None:
    made, readings, _ = _case(seed)
    order = np.random.default_rng(seed).permutation(len(readings.at))
    one, other = _found(made, readings), _found(made, some_of(readings, order))
    assert other.chance == pytest.approx(one.chance, **EXACT)
    assert other.none_of_these == pytest.approx(one.none_of_these, **EXACT)
    assert other.wrong == pytest.approx(one.wrong[order], **EXACT)


@settings(max_examples=30, deadline=None)
@draw(SEEDS)
def test_names_of_faults_do_not_matter(seed: int) -> None:
    made, readings, _ = _case(seed)
    order = np.concatenate([[0], 1 + np.random.default_rng(seed).permutation(25)])
    one = _found(made, readings)
    other = posterior(_reordered(made.predictions, order), readings, log_priors(made.odds[order[1:] - 1]))
    assert other.chance == pytest.approx(one.chance[order], **EXACT)


@settings(max_examples=30, deadline=None)
@draw(SEEDS)
def test_a_reading_with_a_huge_error_changes_nothing(seed: int) -> None:
    made, readings, _ = _case(seed)
    more = Readings(np.append(readings.at, 0), np.append(readings.value, 3.0), np.append(readings.noise, 1e9))
    one = posterior(made.predictions, readings, log_priors(made.odds), priors=replace(PRIORS, wrong_reading=1e-12))
    other = posterior(
        made.predictions, more, log_priors(made.odds), priors=replace(PRIORS, wrong_reading=1e-12, none_of_these=1e-12)
    )
    listed, still = one.chance / np.sum(one.chance), other.chance / np.sum(other.chance)
    assert still == pytest.approx(listed, abs=1e-6)


@settings(max_examples=30, deadline=None)
@draw(SEEDS)
def test_twins_share_their_chance_by_their_odds(seed: int) -> None:
    made, readings, _ = _case(seed)
    order = np.append(np.arange(26), 7)
    twin = _reordered(made.predictions, order)
    odds = np.append(made.odds, 3.0 * made.odds[6])
    shared = posterior(twin, readings, log_priors(odds))
    merged = made.odds.copy()
    merged[6] *= 4.0
    alone = posterior(made.predictions, readings, log_priors(merged))
    assert shared.chance[26] == pytest.approx(3.0 * shared.chance[7], rel=1e-9)
    assert shared.chance[7] + shared.chance[26] == pytest.approx(alone.chance[7], **EXACT)


def test_true_readings_raise_the_truth_on_average() -> None:
    steps = np.zeros(7)
    for seed in range(60):
        made, readings, truth = _case(seed)
        for n in range(7):
            steps[n] += np.log(_found(made, some_of(readings, np.arange(n))).chance[truth]) / 60
    assert np.all(np.diff(steps) > 0.0)


def test_before_any_reading_chances_are_the_priors() -> None:
    """No fault is seen yet: each single one stands for itself and for itself with another."""
    predictions = given([[0.0], [1.0], [2.0]])
    found = posterior(predictions, no_readings(), log_priors(np.array([1.0, 3.0])))
    wrong = PRIORS.one + PRIORS.two
    assert found.chance == pytest.approx([PRIORS.good, 0.25 * wrong, 0.75 * wrong])
    assert found.none_of_these == pytest.approx(PRIORS.none_of_these)


def test_readings_that_fit_nothing_are_none_of_these() -> None:
    predictions = given([[0.0] * 6, [30.0] * 6, [-30.0] * 6])
    found = posterior(predictions, read({k: (-1) ** k * 15.0 for k in range(6)}), log_priors(np.ones(2)))
    assert found.none_of_these > 0.95


def test_none_of_these_fades_as_good_readings_come_in() -> None:
    predictions = given([[0.0] * 30, [9.0] * 30])
    chances = [
        posterior(predictions, read(dict.fromkeys(range(n), 0.1)), log_priors(np.ones(1))).none_of_these
        for n in (1, 4, 30)
    ]
    assert chances[0] > chances[1] > chances[2]
    assert chances[2] < 0.02


def test_one_reading_off_is_a_listed_fault_sooner_with_the_plug_out() -> None:
    """Faults show in few ohms and in many volts: what is not listed is taken to be no different."""
    volts = given([[0.0] * 3, [20.0, 0.0, 0.0]], noise=np.full((2, 3), 0.5))
    ohms = replace(volts, probes=tuple(replace(p, quantity="ohm", step="ohms") for p in volts.probes))
    over, prior = read({0: 20.0, 1: 0.1, 2: -0.1}, top=18.0), log_priors(np.ones(1))
    by_volts, by_ohms = (posterior(told, over, prior) for told in (volts, ohms))
    ratio = (by_ohms.none_of_these / by_ohms.chance[1]) / (by_volts.none_of_these / by_volts.chance[1])
    anywhere = np.exp(log_broad(volts, over, np.exp(prior)))[1] / norm.pdf(0.1, scale=0.5)
    narrow, wide = np.array(PRIORS.as_good).T
    looks_good = [share + (1.0 - share) * anywhere for share in (narrow, wide)]
    expected = np.mean((1.0 - narrow) * looks_good[0] ** 2) / np.mean((1.0 - wide) * looks_good[1] ** 2)
    assert ratio == pytest.approx(expected, rel=1e-6)
    assert ratio < 0.5


def test_one_reading_that_fits_nothing_is_the_wrong_one() -> None:
    predictions = given([[0.0] * 8, [9.0] * 8])
    values = dict.fromkeys(range(8), 0.2) | {5: -31.0}
    found = posterior(predictions, read(values), log_priors(np.ones(1)))
    assert int(np.argmax(found.wrong)) == 5
    assert found.wrong[5] > 0.4
    assert found.doubted[0, 5] > 0.95


def test_a_named_slip_is_likelier_than_just_any_wrong_reading() -> None:
    predictions = given([[0.0] * 5, [9.0] * 5])
    values = read(dict.fromkeys(range(4), 0.2) | {4: 4.2})
    slip = Slip(reading=4, odds=1.0, expected=np.array([4.0, 13.0]), spread=np.full(2, 0.3))
    plain = posterior(predictions, values, log_priors(np.ones(1)))
    named = posterior(predictions, replace(values, slips=(slip,)), log_priors(np.ones(1)))
    assert named.wrong[4] > plain.wrong[4]
    assert named.chance[0] > plain.chance[0]


def test_all_that_is_believed_sums_to_one_whatever_is_seen() -> None:
    odds, pairs = np.array([1.0, 1.0, 2.0, 4.0]), [(1, 2), (1, 3), (2, 3)]
    seen = np.array([True, True, True, False])
    found = np.exp(log_priors(odds, pairs, seen=seen))
    twice = PRIORS.two * np.sum((odds[:3] / 8.0) ** 2)  # the same fault drawn twice
    assert np.sum(found) == pytest.approx(1.0 - PRIORS.none_of_these - twice)
    assert found[6] == pytest.approx(2.0 * found[5])
    assert found[1] == pytest.approx((PRIORS.one + PRIORS.two) / 8.0)


def test_over_range_has_a_chance_in_every_law_that_it_is_weighed_by() -> None:
    """None of these and a slip, too: a density beside a chance would decide by the unit of the scale."""
    predictions = given(
        [[20.0, 0.0], [18.0, 0.0], [20.0, 9.0]], noise=np.array([[0.003, 1.0], [0.9, 1.0], [0.003, 1.0]])
    )
    readings = read({0: 20.0, 1: 0.0}, top=18.6)
    broad = np.exp(log_broad(predictions, readings, np.ones(3)))
    assert 0.5 < broad[0] < 1.0
    slip = Slip(0, 1.0, np.full(3, 18.6), np.full(3, 0.01))
    prior = log_priors(np.ones(2))
    found = posterior(predictions, replace(readings, slips=(slip,)), prior)
    near_top = sum(share * norm.sf(0.6 / 0.9 / scale) for scale, share in PRIORS.scales)
    odds = near_top * np.exp(prior[1] - prior[0])
    assert found.chance[1] / found.chance[0] == pytest.approx(odds, rel=0.03)
    assert found.none_of_these < 2.0 * PRIORS.none_of_these
    assert found.wrong[0] < 2.0 * PRIORS.wrong_reading
    assert 0.3 < found.slipped[0] / found.wrong[0] < 0.7


def test_the_broad_chance_of_over_range_is_what_the_broad_density_holds_beyond_the_top() -> None:
    predictions = given([[0.0], [4.0], [20.0]])
    places = np.linspace(10.0, 4000.0, 400_000)
    dense = [np.exp(log_broad(predictions, read({0: place}), np.ones(3))[0]) for place in places[:4000]]
    chance = [np.exp(log_broad(predictions, read({0: 60.0}, top=top), np.ones(3))[0]) for top in places[[0, 3999]]]
    assert np.trapezoid(dense, places[:4000]) == pytest.approx(chance[0] - chance[1], rel=0.01)
