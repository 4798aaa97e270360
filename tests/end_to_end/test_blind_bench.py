"""Drawn faults in drawn amplifiers, traced blind: a small piece of ``benchmarks/bench_blind.py``, the same each run."""

from __future__ import annotations

import functools

import numpy as np
import pytest
from tests.blind import Case, Result, blind_bench, drawn_faults, run_case
from tests.planned_examples import example

from lugwright.bringup.trace.tracer import Tracer

# Stated before the first run, from what is asked of the whole bench: nine of ten first, 97 of 100 among the first
# three, no false alarm, of two faults one first in four of five.
SINGLES, LEAST_FIRST, LEAST_AMONG_THREE = 24, 22, 23
GOOD_BUILDS = 8
PAIRS, LEAST_OF_PAIRS = 6, 5


@functools.cache
def tracer() -> Tracer:
    opened = example("dunlin_5")
    return blind_bench(opened.build, opened.circuit, opened.plan, opened.solved)


def traced(kind: int, count: int, seed: int) -> list[tuple[Case, Result]]:
    rng = np.random.default_rng(seed)
    truths = [drawn_faults(tracer(), kind, rng) for _ in range(count)]
    return [run_case(tracer(), truth, rng) for truth in truths]


@pytest.fixture(scope="module")
def singles() -> list[Result]:
    return [result for _, result in traced(1, SINGLES, seed=5)]


def test_the_fault_is_first_within_eight_readings(singles: list[Result]) -> None:
    first = [result.place(result.truth) == 0 for result in singles]
    assert sum(first) >= LEAST_FIRST, [r.truth for r, hit in zip(singles, first, strict=True) if not hit]
    assert all(result.readings <= 8 for result in singles)


def test_the_fault_is_among_the_first_three(singles: list[Result]) -> None:
    among = [0 <= result.place(result.truth) < 3 for result in singles]
    assert sum(among) >= LEAST_AMONG_THREE, [r.truth for r, hit in zip(singles, among, strict=True) if not hit]


def test_good_builds_raise_no_alarm() -> None:
    assert not any(result.alarm for _, result in traced(0, GOOD_BUILDS, seed=6))


def test_of_two_faults_at_once_one_is_first() -> None:
    found = [result.place(result.truth) == 0 for _, result in traced(2, PAIRS, seed=7)]
    assert sum(found) >= LEAST_OF_PAIRS
