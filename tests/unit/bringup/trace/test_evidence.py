"""How well hypotheses explain readings, against the laws written out."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import multivariate_normal, norm

from lugwright.bringup.trace.evidence import (
    Readings,
    Slip,
    evidence,
    likely_scale,
    misfit_by_causes,
    misfit_by_readings,
    no_readings,
    slice_of,
)
from lugwright.errors import TraceError

from .made_up import given, read, some_of, world

SEED = 20261126
ONE = ((1.0, 1.0),)
SCALES = ((1.0, 0.7), (2.0, 0.3))


def _all_read(seed: int, count: int) -> tuple:
    rng = np.random.default_rng(seed)
    made = world(rng, faults=12, count=count)
    values = made.reading(rng, 3, uniform=False, step=0.0)
    return made.predictions, Readings(np.arange(count), values, np.full(count, 0.1))


def test_density_is_that_of_the_law_written_out() -> None:
    predictions, readings = _all_read(SEED, 6)
    told = evidence(predictions, readings, np.zeros(6), SCALES)
    for h in range(13):
        model = predictions.loading[h] @ predictions.loading[h].T + np.diag(predictions.noise[h] ** 2)
        law = [
            share * multivariate_normal.pdf(readings.value, predictions.expected[h], s**2 * model + 0.01 * np.eye(6))
            for s, share in SCALES
        ]
        assert told.all_readings[h] == pytest.approx(np.log(sum(law)), abs=1e-9)


def test_over_range_is_weighed_by_the_chance_of_it_that_the_law_written_out_gives() -> None:
    predictions, readings = _all_read(SEED, 6)
    over, seen = np.flatnonzero(readings.value > 0.1), np.flatnonzero(readings.value <= 0.1)
    assert len(over) > 1
    told = evidence(predictions, replace(readings, top=0.1), np.zeros(6), SCALES)
    for h in range(13):
        model = predictions.loading[h] @ predictions.loading[h].T + np.diag(predictions.noise[h] ** 2)
        law = []
        for s, share in SCALES:
            covariance = s**2 * model[np.ix_(seen, seen)] + 0.01 * np.eye(len(seen))
            near = multivariate_normal.logpdf(readings.value[seen], predictions.expected[h, seen], covariance)
            beyond = norm.logsf(0.1, predictions.expected[h, over], s * np.sqrt(np.diag(model)[over]))
            law.append(np.log(share) + near + np.sum(beyond))
        assert told.all_readings[h] == pytest.approx(np.logaddexp.reduce(law), abs=0.012 * len(over))


def test_three_readings_over_range_leave_a_fault_that_expects_them_near_the_top() -> None:
    predictions = given([[20.0] * 3, [18.0] * 3], noise=np.array([[0.003], [0.9]]))
    told = evidence(predictions, read(dict.fromkeys(range(3), 20.0), top=18.6), np.zeros(3), ONE)
    assert told.all_readings == pytest.approx([0.0, 3.0 * norm.logsf(18.6, 18.0, 0.9)], abs=3.0 * 0.012)
    assert told.all_but == pytest.approx(told.all_readings[:, None] * np.full(3, 2.0 / 3.0))


def test_readings_over_range_make_a_model_doubted_that_did_not_expect_them() -> None:
    predictions = given([[0.0] * 6])
    near = likely_scale(predictions, read(dict.fromkeys(range(6), 9.0), top=-1.0), np.array([0]), SCALES)
    far = likely_scale(predictions, read(dict.fromkeys(range(6), 9.0), top=2.5), np.array([0]), SCALES)
    assert near[0] < 1.3
    assert far[0] > 1.9


def test_some_of_the_readings_are_over_range_where_all_of_them_are() -> None:
    assert read({0: 5.0, 1: 20.0, 2: 30.0}, top=18.0).some(np.array([0, 2])).over.tolist() == [False, True]


@pytest.mark.parametrize("top", [np.inf, 0.0])
@pytest.mark.parametrize("scales", [ONE, SCALES])
def test_leaving_a_reading_out_is_never_having_taken_it(scales: tuple, top: float) -> None:
    predictions, readings = _all_read(SEED + 1, 7)
    readings = replace(readings, top=top)
    predictions.known[4, 2] = predictions.known[5, :] = False
    broad = np.linspace(-2.0, -1.0, 7)
    told = evidence(predictions, readings, broad, scales)
    for k in range(7):
        kept = np.delete(np.arange(7), k)
        fewer = evidence(predictions, some_of(readings, kept), broad[kept], scales)
        assert told.all_but[:, k] == pytest.approx(fewer.all_readings, abs=1e-8)


def test_both_ways_to_the_misfit_agree() -> None:
    predictions, readings = _all_read(SEED + 2, 12)
    part = slice_of(predictions, readings, slice(0, 13))
    one, other = misfit_by_readings(part, 1.7), misfit_by_causes(part, 1.7)
    for name in ("square", "log_det", "pulled", "diagonal"):
        assert getattr(one, name) == pytest.approx(getattr(other, name), rel=1e-8, abs=1e-8)


def test_what_is_not_known_counts_by_the_broad_density_alone() -> None:
    predictions = given([[0.0, 0.0], [0.0, 5.0]], known=[[True, True], [True, False]])
    readings, broad = read({0: 0.3, 1: 40.0}), np.array([-1.0, -3.5])
    told = evidence(predictions, readings, broad, ONE)
    alone = evidence(predictions, read({0: 0.3}), broad[:1], ONE)
    assert told.all_readings[1] == pytest.approx(alone.all_readings[1] - 3.5)


def test_without_readings_every_hypothesis_explains_them_equally() -> None:
    predictions, _ = _all_read(SEED, 4)
    told = evidence(predictions, no_readings(), np.zeros(0), SCALES)
    assert told.all_readings == pytest.approx(np.zeros(13))
    assert told.all_but.shape == (13, 0)


def test_a_reading_that_is_no_number_is_refused() -> None:
    with pytest.raises(TraceError) as refused:
        read({0: 1.0, 3: np.inf})
    assert str(refused.value) == (
        "reading 2 cannot be weighed\n"
        "  found:  value inf, error 0.0\n"
        "  wanted: a number and an error of zero or more\n"
        "  do:     take the reading again; over range has a number of its own on the scale of its quantity"
    )


def test_a_prediction_without_any_error_is_refused() -> None:
    with pytest.raises(TraceError) as refused:
        evidence(given([[0.0], [1.0]], noise=0.0), read({0: 0.0}), np.zeros(1), SCALES)
    assert str(refused.value) == (
        "a prediction cannot be compared with a reading\n"
        "  found:  no number, or no error at all\n"
        "  wanted: a number with a standard deviation above zero, or one marked as not known\n"
        "  do:     please report this build file"
    )


def test_readings_far_off_make_a_model_doubted() -> None:
    predictions = given([[0.0] * 6])
    near = likely_scale(predictions, read({k: (-1) ** k * 0.5 for k in range(6)}), np.array([0]), SCALES)
    far = likely_scale(predictions, read({k: (-1) ** k * 2.5 for k in range(6)}), np.array([0]), SCALES)
    assert near[0] < 1.1
    assert far[0] > 1.9


def test_slips_ride_on_the_readings() -> None:
    slip = Slip(reading=0, odds=1.0, expected=np.zeros(2), spread=np.ones(2))
    readings = Readings(np.array([0]), np.array([1.0]), np.array([0.1]), (slip,))
    assert readings.slips[0].reading == 0


@pytest.mark.parametrize("top", [np.inf, 1.0])
def test_hopeless_hypotheses_are_left_out_of_many_readings_and_nothing_else_changes(
    monkeypatch: pytest.MonkeyPatch, top: float
) -> None:
    rng = np.random.default_rng(SEED + 9)
    made = world(rng, faults=60, count=90, causes=8, reach=0.1)
    values = made.reading(rng, 5, uniform=False, step=0.0)
    order = rng.permutation(90)
    readings = Readings(order, values[order], np.full(90, 0.1), top=top)
    rounds = evidence(made.predictions, readings, np.full(90, -3.0), SCALES)
    monkeypatch.setattr("lugwright.bringup.trace.evidence.FEW", 90)
    at_once = evidence(made.predictions, readings, np.full(90, -3.0), SCALES)
    left = np.isfinite(rounds.all_readings)
    assert 0 < np.sum(left) < 40
    assert rounds.all_readings[left] == pytest.approx(at_once.all_readings[left], abs=1e-8)
    assert rounds.all_but[left] == pytest.approx(at_once.all_but[left], abs=1e-8)
    assert np.max(at_once.all_readings[~left]) < np.max(at_once.all_readings) - 60.0
    assert left[5]
