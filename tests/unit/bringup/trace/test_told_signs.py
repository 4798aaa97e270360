"""Answers of yes and no, held against what can be worked out by hand."""

from __future__ import annotations

import numpy as np
import pytest

from lugwright.bringup.trace.evidence import no_readings
from lugwright.bringup.trace.groups import groups_of
from lugwright.bringup.trace.posterior import posterior
from lugwright.bringup.trace.priors import Priors
from lugwright.bringup.trace.told_signs import SignChances, ToldSigns, no_signs
from lugwright.bringup.trace.verdict import weigh

from .made_up import given, read

# The good build, a fault that shows the sign, one that does not.
CHANCES = SignChances(np.array([[0.03], [0.9], [0.03]]), np.array([0.29]))
WORLD = given([[0.0], [0.0], [0.0]])
PRIOR = np.log([0.5, 0.2, 0.2])
PRIORS = Priors(none_of_these=0.1)


def told(answer: bool) -> ToldSigns:
    return ToldSigns(CHANCES, np.array([answer]))


@pytest.mark.parametrize("answer", [True, False])
def test_an_answer_weighs_by_bayes(answer: bool) -> None:
    yes = np.array([0.03, 0.9, 0.03, 0.29])
    joint = np.array([0.5, 0.2, 0.2, 0.1]) * (yes if answer else 1.0 - yes)
    found = posterior(WORLD, no_readings(), PRIOR, priors=PRIORS, signs=told(answer))
    assert [*found.chance, found.none_of_these] == pytest.approx(joint / joint.sum())


def test_two_answers_to_two_signs_multiply() -> None:
    both = SignChances(np.array([[0.1, 0.2], [0.8, 0.6]]), np.array([0.3, 0.3]))
    assert ToldSigns(both, np.array([True, False])).log == pytest.approx(np.log([0.1 * 0.8, 0.8 * 0.4]))
    assert ToldSigns(both, np.array([True, False])).log_unlisted == pytest.approx(np.log(0.3 * 0.7))


def test_nobody_looked_says_nothing() -> None:
    nothing = no_signs(3)
    assert nothing.log.tolist() == [0.0, 0.0, 0.0]
    assert nothing.log_unlisted == 0.0
    assert nothing.chances.nats_apart(0, np.arange(3)).tolist() == [0.0, 0.0, 0.0]


def test_information_of_a_sure_sign_is_that_of_a_coin() -> None:
    sure = SignChances(np.array([[1e-12], [1.0 - 1e-12]]), np.array([0.5]))
    assert sure.bits(np.array([0.5, 0.5]), 0.0)[0] == pytest.approx(1.0, abs=1e-9)
    assert sure.bits(np.array([0.5, 0.5]), 0.25)[0] == pytest.approx(0.75, abs=1e-9)
    assert CHANCES.bits(np.array([1.0, 0.0, 0.0]), 0.0)[0] == pytest.approx(0.0, abs=1e-12)


def test_a_sign_that_two_share_tells_neither_from_the_other() -> None:
    apart = SignChances(np.array([[0.03], [0.9], [0.9]]), np.array([0.3])).nats_apart(1, np.array([0, 2]))
    by_hand = 0.03 * np.log(0.03 / 0.9) + 0.97 * np.log(0.97 / 0.1)
    assert apart == pytest.approx([by_hand, 0.0])


def test_of_two_faults_at_once_either_shows_the_sign() -> None:
    assert CHANCES.with_pairs([(1, 2)]).chance[:, 0].tolist() == [0.03, 0.9, 0.03, 0.9]


def test_an_answer_is_doubted_by_what_would_have_had_the_other() -> None:
    assert told(True).wrong(np.array([0.5, 0.2, 0.1])) == pytest.approx([0.6])
    assert told(False).wrong(np.array([0.5, 0.2, 0.1])) == pytest.approx([0.2])


def test_answers_as_readings_have_half_the_square_for_the_odds() -> None:
    off, read_ = told(True).as_readings()
    assert 0.5 * off[0, 0] ** 2 == pytest.approx(np.log(0.9 / 0.03))
    assert off[1, 0] == 0.0
    assert read_[0] == off[0, 0]
    off, read_ = told(False).as_readings()
    assert off[0, 0] == pytest.approx(-np.sqrt(2.0 * np.log(0.97 / 0.1)))
    assert read_[0] == 0.0


def test_faults_that_read_alike_fall_apart_by_a_look() -> None:
    chance, prior = np.array([0.2, 0.4, 0.4]), np.log([0.4, 0.3, 0.3])
    alike = given([[0.0], [9.0], [9.0]])
    blind = groups_of(alike, read({0: 9.0}), chance, prior, np.arange(3))
    looked = groups_of(alike, read({0: 9.0}), chance, prior, np.arange(3), signs=CHANCES)
    assert {group.members for group in blind} == {(0,), (1, 2)}
    assert {group.members for group in looked} == {(0,), (1,), (2,)}


def test_a_pair_is_thought_of_for_a_reading_and_a_sign_that_no_one_fault_explains() -> None:
    world = given([[0.0], [0.0], [9.0], [0.0]])
    chances = SignChances(np.array([[0.001], [0.999], [0.001], [0.001]]), np.array([0.3]))
    seen = ToldSigns(chances, np.array([True]))

    def solved(pairs: object) -> object:
        assert pairs == ((1, 2),)
        return given([[9.0]])

    found = weigh(world, read({0: 9.0}), ("a", "b", "c"), np.ones(3), predict_pairs=solved, signs=seen)  # type: ignore[arg-type]
    assert found.pairs == ((1, 2),)
    assert found.found.chance[4] > 0.5
