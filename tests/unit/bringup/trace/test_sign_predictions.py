"""Which signs faults of a whole build show: as listed, and as the loudspeaker has it."""

from __future__ import annotations

import functools

import numpy as np
import pytest
from tests.planned_examples import example

from lugwright.bringup.faults.table import faults_of
from lugwright.bringup.trace.bench import FINAL, SIGNAL, TraceBench
from lugwright.bringup.trace.hypotheses import hypotheses_of
from lugwright.bringup.trace.look_probes import looks_of
from lugwright.bringup.trace.predictions import Predictor
from lugwright.bringup.trace.probes import probes_of
from lugwright.bringup.trace.sign_rates import RATES


@functools.cache
def dunlin() -> Predictor:
    opened = example("dunlin_5")
    bench = TraceBench(opened.build, opened.circuit, opened.plan, opened.solved)
    faults = faults_of(opened.build, opened.circuit, opened.plan)
    return Predictor(bench, probes_of(bench), hypotheses_of(opened.circuit, faults))


def chance(sign: str, fault: str) -> float:
    """Return the chance of a yes to a sign while a fault is there; "" is the good build."""
    hypotheses = dunlin().hypotheses
    row = 0 if not fault else next(k for k, h in enumerate(hypotheses) if fault in {f.key for f in h.faults})
    return float(dunlin().signs.of([sign]).chance[row, 0])


@pytest.mark.parametrize(
    ("sign", "fault"),
    [
        ("heater dark V1", "heater open V1"),
        ("heater dark V2", "blown F1"),
        ("red plate V2", "missing W42"),
        ("backward R5", "exchanged R5.1 R5.3"),
        ("rings V1", "microphonic V1"),
    ],
)
def test_a_fault_shows_what_it_is_listed_with(sign: str, fault: str) -> None:
    rate = RATES[sign.rpartition(" ")[0]]
    assert chance(sign, fault) == pytest.approx(rate.told)
    assert chance(sign, "") == pytest.approx(rate.invented)


def test_what_the_circuit_does_to_the_loudspeaker_is_heard() -> None:
    assert chance("hum", "shorted CR1") > 0.8  # a quarter of a volt of it
    assert chance("hum", "") < 0.3
    assert chance("silent", "dead V2") > 0.9
    assert chance("silent", "open C2") > 0.9
    assert chance("silent", "") == pytest.approx(RATES["silent"].invented, abs=0.001)
    assert chance("faint", "") < 0.1


def test_a_dim_heater_is_taken_for_a_dark_one_now_and_then() -> None:
    assert RATES["heater dark"].invented < chance("heater dark V1", "series V1") < RATES["heater dark"].told


def test_every_chance_is_one() -> None:
    names = [p.red for p in looks_of(dunlin().bench)]
    told = dunlin().signs.of(names)
    assert told.chance.shape == (len(dunlin().hypotheses), len(names))
    assert np.all((told.chance > 0.0) & (told.chance < 1.0))
    assert np.all((told.unlisted > 0.0) & (told.unlisted < 1.0))


def test_looks_stand_in_the_first_step_that_shows_them() -> None:
    step = {p.red: p.step for p in looks_of(dunlin().bench)}
    assert step["heater dark V1"] == "small tubes"
    assert step["heater dark V2"] == step["red plate V2"] == step["hum"] == FINAL
    assert step["hot C1"] == "no tubes"
    assert step["silent"] == step["backward R5"] == SIGNAL
