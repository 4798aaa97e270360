"""A wrong way to take a reading shows what is predicted where the tip really was."""

from __future__ import annotations

import functools
from dataclasses import replace

import numpy as np
import pytest

from lugwright.bringup.faults.table import faults_of
from lugwright.bringup.trace.bench import FINAL, OHMS, TraceBench
from lugwright.bringup.trace.even_scale import even, plain
from lugwright.bringup.trace.evidence import Slip
from lugwright.bringup.trace.hypotheses import hypotheses_of
from lugwright.bringup.trace.named_slips import FREE_SPREAD, UNSAID_SPREAD
from lugwright.bringup.trace.predictions import Predictor
from lugwright.bringup.trace.probes import probes_of
from lugwright.bringup.trace.records import Probe
from lugwright.solve.idle import solve_columns

from ..faults.one_stage import one_stage

PLACE = 4


@functools.cache
def predictor() -> Predictor:
    build, circuit, plan = one_stage()
    bench = TraceBench(build, circuit, plan, solve_columns(circuit)[0])
    return Predictor(bench, probes_of(bench), hypotheses_of(circuit, faults_of(build, circuit, plan))[:40])


def probe(red: str, quantity: str = "V dc", step: str = FINAL) -> Probe:
    return Probe(step, red, "ground", quantity, f"{red} to ground", 0.0, 0.0)


def slips(at: Probe) -> dict[str, Slip]:
    return {slip.key: slip for slip in predictor().slips.of(PLACE, at)}


def expected(at: Probe) -> np.ndarray:
    return np.asarray(predictor().predictions([at]).expected[:, 0])


def test_the_tip_on_the_next_pin_shows_what_that_pin_has_under_every_hypothesis() -> None:
    slip = slips(probe("V1.3"))["tip on V1.2"]
    assert slip.reading == PLACE
    assert np.allclose(slip.expected, expected(probe("V1.2")), atol=1e-12)
    assert np.all(slip.spread > 0.0)


def test_a_decade_off_moves_every_reading_far_from_zero_by_the_logarithm_of_ten() -> None:
    found, right = slips(probe("V1.1")), expected(probe("V1.1"))
    high = right > 8.0  # some 30 V and more: there the scale is a logarithm to better than one in a million
    assert np.any(high)
    assert np.allclose((found["range 10"].expected - right)[high], np.log(10.0), atol=1e-6)
    assert np.allclose((found["range 0.1"].expected - right)[high], -np.log(10.0), atol=1e-3)


def test_over_range_stays_over_range_whatever_the_range() -> None:
    at = probe("V1.1", "ohm", OHMS)
    over = expected(at) >= float(even("ohm", np.inf))
    assert np.any(over)
    assert np.allclose(slips(at)["range 0.1"].expected[over], float(even("ohm", np.inf)))


def test_volts_of_the_wrong_kind_are_those_of_the_same_pin() -> None:
    at = probe("V1.1")
    told = predictor().predictions([replace(at, quantity="V ac")])
    slip = slips(at)["set to V ac"]
    volts = plain("V ac", told.expected[:, 0])  # the scales of both kinds begin at floors of their own
    assert np.allclose(slip.expected, np.where(told.known[:, 0], even("V dc", volts), 0.0), atol=1e-12)
    assert np.all(slip.spread[~told.known[:, 0]] == UNSAID_SPREAD)


@pytest.mark.parametrize(("step", "quantity", "value"), [(OHMS, "ohm", np.inf), (FINAL, "V dc", 0.0)])
def test_a_tip_on_a_lug_that_nothing_is_joined_to_shows_nothing(step: str, quantity: str, value: float) -> None:
    plan, bench = predictor().bench.plan, predictor().slips
    free, at = next(
        (other, key)
        for key, others in bench.beside.items()
        for other in others
        if not plan.terminals[other].joint and plan.terminals[key].joint in predictor().bench.circuit.joints
    )
    slip = slips(probe(at, quantity, step))[f"tip on {free}"]
    assert np.all(slip.expected == float(even(quantity, value)))
    assert np.all(slip.spread == FREE_SPREAD)


def test_a_reading_is_worked_out_once() -> None:
    first, again = slips(probe("V1.3")), slips(probe("V1.3"))
    assert first["range 10"].expected is again["range 10"].expected
