"""Faults that cannot be told apart are named together, in the order of their odds alone."""

from __future__ import annotations

import numpy as np
import pytest

from lugwright.bringup.trace.ahead import Ahead
from lugwright.bringup.trace.evidence import Readings, no_readings
from lugwright.bringup.trace.groups import TELLING, as_good, groups_of, laws_of, nats_apart, never_seen
from lugwright.bringup.trace.posterior import posterior
from lugwright.bringup.trace.priors import log_priors
from lugwright.bringup.trace.records import Predictions

from .made_up import given, read


def _apart(predictions: Predictions, readings: Readings, leader: int, other: int) -> float:
    laws = laws_of(predictions, readings, np.arange(len(predictions.expected)))
    return float(nats_apart(laws, leader, np.array([other]))[0])


def test_information_of_one_reading_is_half_the_squared_distance() -> None:
    predictions = given([[0.0], [3.0], [1.0]])
    assert _apart(predictions, read({0: 0.0}), 0, 1) == pytest.approx(4.5)
    assert _apart(predictions, read({0: 0.0}), 0, 2) == pytest.approx(0.5)


def test_what_moves_together_tells_less_than_its_readings_one_by_one() -> None:
    both_up = given([[0.0, 0.0], [3.0, 3.0]], loading=[[[3.0], [3.0]]] * 2)
    one_up = given([[0.0, 0.0], [3.0, -3.0]], loading=[[[3.0], [3.0]]] * 2)
    readings = read({0: 0.0, 1: 0.0})
    together = _apart(both_up, readings, 0, 1)
    against = _apart(one_up, readings, 0, 1)
    assert together == pytest.approx(0.5 * 18 / 19)
    assert against == pytest.approx(9.0)


def test_without_readings_all_are_as_good_as_a_good_build() -> None:
    predictions = given([[0.0], [9.0], [-9.0]])
    prior = log_priors(np.ones(2))
    (group,) = groups_of(predictions, no_readings(), np.exp(prior), prior, np.arange(3))
    assert group.members == (0, 1, 2)


def test_twins_are_one_group_in_the_order_of_their_odds() -> None:
    predictions = given([[0.0, 0.0], [9.0, 0.0], [9.2, 0.0], [-9.0, 4.0]])
    prior = log_priors(np.array([1.0, 5.0, 1.0]))
    readings = read({0: 8.6})  # nearer to the first of the twins, which says nothing
    found = posterior(predictions, readings, prior)
    groups = groups_of(predictions, readings, found.chance, prior, np.arange(4))
    assert [g.members for g in groups] == [(0,), (2, 1), (3,)]
    assert groups[1].chance == pytest.approx(found.chance[1] + found.chance[2])


def test_groups_do_not_depend_on_what_was_read() -> None:
    predictions = given([[0.0, 0.0], [9.0, 0.0], [9.2, 0.0], [-9.0, 4.0]])
    prior = log_priors(np.ones(3))
    for value in (8.0, 9.0, 10.5):
        readings = read({0: value})
        found = posterior(predictions, readings, prior)
        groups = groups_of(predictions, readings, found.chance, prior, np.arange(4))
        assert {frozenset(g.members) for g in groups} == {frozenset({0}), frozenset({1, 2}), frozenset({3})}


def test_a_reading_between_them_takes_twins_apart() -> None:
    predictions = given([[0.0, 0.0], [9.0, 0.0], [9.2, 7.0]])
    prior = log_priors(np.ones(2))
    readings = read({0: 9.0, 1: 0.3})
    found = posterior(predictions, readings, prior)
    groups = groups_of(predictions, readings, found.chance, prior, np.arange(3))
    assert [g.members for g in groups] == [(0,), (1,), (2,)]


def test_one_that_says_nothing_of_a_reading_is_not_taken_for_one_that_does() -> None:
    predictions = given([[0.0], [9.0], [9.0]], known=[[True], [True], [False]])
    assert _apart(predictions, read({0: 9.0}), 1, 2) >= TELLING


def test_a_much_wider_law_is_told_from_a_narrow_one() -> None:
    predictions = given([[0.0], [0.0]], noise=np.array([[1.0], [4.0]]))
    assert _apart(predictions, read({0: 0.0}), 0, 1) == pytest.approx(0.5 * (16 - 1) - np.log(4.0))
    assert _apart(predictions, read({0: 0.0}), 1, 0) == pytest.approx(0.5 * (1 / 16 - 1) + np.log(4.0))


def test_what_moves_two_readings_the_same_way_is_told_from_what_moves_them_against_each_other() -> None:
    """Both may do anything to each reading; only the two together tell."""
    predictions = given([[0.0, 0.0]] * 2, loading=[[[9.0], [9.0]], [[9.0], [-9.0]]])
    assert _apart(predictions, read({0: 0.0}), 0, 1) == pytest.approx(0.0, abs=1e-12)
    assert _apart(predictions, read({0: 0.0, 1: 0.0}), 0, 1) > 10.0


def test_what_no_reading_shows_is_known_beforehand() -> None:
    predictions = given([[0.0, 0.0], [0.0, 5.0], [0.3, 0.2], [0.0, 0.0]], known=[[True, True]] * 3 + [[True, False]])
    assert never_seen(predictions).tolist() == [True, False, True, False]


def test_what_no_reading_ahead_shows_looks_as_a_good_build_does() -> None:
    mean = np.array([[0.0, 0.0], [0.0, 9.0], [0.5, 0.3], [0.0, 0.0]])
    known = np.array([[True, True]] * 3 + [[True, False]])
    assert as_good(Ahead(mean, np.ones((4, 2)), known), 0).tolist() == [True, False, True, False]


def test_what_is_told_apart_does_not_depend_on_whether_it_was_over_range() -> None:
    predictions = given([[0.0], [3.0], [20.0]])
    seen, over = read({0: 20.0}), read({0: 20.0}, top=18.0)
    for other in (1, 2):
        assert _apart(predictions, over, 0, other) == _apart(predictions, seen, 0, other)
