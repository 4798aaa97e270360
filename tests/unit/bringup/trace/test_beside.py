"""Steps solved by two processes are the steps one process solves."""

from __future__ import annotations

import functools
import os

import numpy as np
import pytest

from lugwright.bringup.faults.table import faults_of
from lugwright.bringup.trace.bench import FINAL, OHMS, TraceBench
from lugwright.bringup.trace.beside import SolvedSteps
from lugwright.bringup.trace.hypotheses import hypotheses_of
from lugwright.bringup.trace.predictions import Predictor
from lugwright.bringup.trace.probes import probes_of
from lugwright.bringup.trace.records import Probe
from lugwright.solve.idle import solve_columns

from ..faults.one_stage import one_stage

EMPTY = "no tubes"


@functools.cache
def bench() -> TraceBench:
    build, circuit, plan = one_stage()
    return TraceBench(build, circuit, plan, solve_columns(circuit)[0])


def predictor() -> Predictor:
    faults = faults_of(bench().build, bench().circuit, bench().plan)
    return Predictor(bench(), probes_of(bench()), hypotheses_of(bench().circuit, faults)[:40])


def probes(*steps: str) -> list[Probe]:
    return [Probe(step, "V1a.plate", "ground", "V dc", "plate to ground", 0.0, 0.0) for step in steps]


def test_every_step_that_is_read_is_solved_as_one_process_solves_it() -> None:
    both, alone = predictor(), predictor()
    both.solve_for(probes(EMPTY, FINAL))
    assert {key for key, step in both.steps.items() if step.is_solved} == {EMPTY, FINAL}
    read = probes(EMPTY, FINAL)
    np.testing.assert_array_equal(both.predictions(read).expected, alone.predictions(read).expected)


def test_half_of_the_steps_are_solved_in_another_process(monkeypatch: pytest.MonkeyPatch) -> None:
    here: list[str] = []
    solve = SolvedSteps.__getattr__
    monkeypatch.setattr(
        SolvedSteps, "__getattr__", lambda self, key: (here.append(f"{key} {os.getpid()}"), solve(self, key))[1]
    )
    both = predictor()
    both.solve_for(probes(EMPTY, FINAL))
    assert here == [f"{EMPTY} {os.getpid()}"] * 2  # solved and taken; the longer one came through the pipe


def test_one_step_alone_or_ohms_are_left_until_they_are_asked_for() -> None:
    one = predictor()
    one.solve_for([*probes(FINAL), Probe(OHMS, "V1a.plate", "ground", "ohm", "plate to ground", 0.0, 0.0)])
    assert not one.steps[FINAL].is_solved
    assert OHMS not in one.steps


def test_what_is_solved_is_not_solved_again() -> None:
    one = predictor()
    one.solve_for(probes(EMPTY, FINAL))
    before = one.steps[FINAL].many
    one.solve_for(probes(EMPTY, FINAL))
    assert one.steps[FINAL].many is before
