"""Chances are honest: of answers given with a chance, that share is right."""

from __future__ import annotations

import numpy as np
import pytest

from .calibration import Answer, Kind, answers, table

SEED, CASES = 7, 140
KINDS = {
    "normal": Kind(),
    "off, uniform, rounded": Kind(uniform=True, step=0.2, model=0.1),
    "over range from 3 up": Kind(top=3.0),
}


@pytest.fixture(scope="module", params=list(KINDS))
def given(request: pytest.FixtureRequest) -> list[Answer]:
    return answers(SEED, KINDS[request.param], cases=CASES)


def test_of_answers_given_with_a_chance_that_share_is_right(given: list[Answer]) -> None:
    """Within 0.05, and two and a half times what so few answers scatter by chance."""
    for said, right, count in table(given):
        assert abs(right - said) < 0.05 + 2.5 * np.sqrt(said * (1.0 - said) / count)


def test_what_is_called_found_is_there(given: list[Answer]) -> None:
    found = [answer for answer in given if answer.found]
    assert len(found) > 15
    assert np.mean([answer.first for answer in found]) >= 0.95


def test_good_builds_are_not_called_faulty(given: list[Answer]) -> None:
    good = [answer for answer in given if answer.truth == "good"]
    assert len(good) > 30
    assert not any(answer.found for answer in good)
