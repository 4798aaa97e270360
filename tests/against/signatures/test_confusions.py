"""Pairs of faults that are often taken for each other: the reading named for each pair tells them apart."""

from __future__ import annotations

import csv
import functools
from pathlib import Path

import numpy as np
import pytest
from tests.planned_examples import example

from lugwright.bringup.faults.table import faults_of
from lugwright.bringup.trace.bench import TraceBench
from lugwright.bringup.trace.hypotheses import Hypothesis, hypotheses_of
from lugwright.bringup.trace.predictions import Predictor
from lugwright.bringup.trace.records import Probe

# Stated before the first run: one reading tells two faults apart where its two predictions lie three spreads from each
# other or more, good parts and meter included: then it is wrong in one case of four hundred.
APART = 3.0
with (Path(__file__).parent / "confusions.csv").open(encoding="utf-8", newline="") as file:
    ROWS = list(csv.DictReader(file))


@functools.cache
def predictor() -> Predictor:
    opened = example("dunlin_5")
    bench = TraceBench(opened.build, opened.circuit, opened.plan, opened.solved)
    wanted = {row[column] for row in ROWS for column in ("one", "other")}
    faults = [f for f in faults_of(opened.build, opened.circuit, opened.plan) if f.key in wanted]
    assert {f.key for f in faults} == wanted
    return Predictor(bench, (), hypotheses_of(opened.circuit, faults))


def place(key: str) -> int:
    """Return where a fault stands among the hypotheses."""
    hypotheses: tuple[Hypothesis, ...] = predictor().hypotheses
    return next(k for k, h in enumerate(hypotheses) if key in {f.key for f in h.faults})


def apart(row: dict[str, str]) -> float:
    red, _, black = row["apart_at"].partition(" to ")
    probe = Probe(row["apart_step"], red, black or "ground", row["apart_quantity"], "", 0.0, 0.0)
    told = predictor().lumped([probe], np.array([place(row["one"]), place(row["other"])]))
    assert told.known.all()
    return float(abs(told.mean[0, 0] - told.mean[1, 0]) / np.hypot(*told.sd[:, 0]))


@pytest.mark.parametrize("row", ROWS, ids=[f"{row['one']} or {row['other']}" for row in ROWS])
def test_the_reading_named_tells_them_apart(row: dict[str, str]) -> None:
    assert apart(row) > APART
