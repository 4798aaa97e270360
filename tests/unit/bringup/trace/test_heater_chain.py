"""A wire of the heater chain left out: what is predicted fast, on joints that then hang on a few megohms, is exact."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest
from tests.planned_examples import example

from lugwright.bringup.faults.table import faults_of
from lugwright.bringup.trace.bench import OHMS, TraceBench
from lugwright.bringup.trace.exact import ExactReadings
from lugwright.bringup.trace.hypotheses import hypotheses_of
from lugwright.bringup.trace.predictions import Predictor
from lugwright.bringup.trace.probes import probes_of

NAME = "redshank_50"  # heaters raised on direct volts: tens of kilohms from ground
SAME_SHARE, SAME_V = 0.005, 0.01  # stated before: half of what a good meter on alternating volts is off by
SAME_OHM = 0.003


@cache
def _bench() -> TraceBench:
    opened = example(NAME)
    return TraceBench(opened.build, opened.circuit, opened.plan, opened.solved)


@cache
def _predictor() -> Predictor:
    """Return what is predicted for every wire that leads heater current from the transformer's winding."""
    bench = _bench()
    faults = [f for f in faults_of(bench.build, bench.circuit, bench.plan) if f.key.startswith("missing W")]
    ends = [f for f in faults if any(m.element.startswith("T1.heater") for m in f.rewiring.moved)]
    return Predictor(bench, probes_of(bench), hypotheses_of(bench.circuit, ends))


def _apart(step: str, quantity: str, reds: set[str]) -> list[tuple[str, str, float, float]]:
    """Return each wire and joint with what is predicted and what is exact, but for joints that float."""
    predictor, found = _predictor(), []
    probes = [
        p for p in predictor.probes if (p.step, p.quantity, p.black) == (step, quantity, "ground") and p.red in reds
    ]
    every = np.arange(1, len(predictor.hypotheses))
    said = predictor._answers(step).said(quantity, probes, every)
    for row, h in enumerate(every):
        exact = ExactReadings(predictor.bench, predictor.hypotheses[h])
        key = predictor.hypotheses[h].faults[0].key
        places = said.place[row]
        found += [
            (key, p.red, float(said.value[row, at]), exact.value(p))
            for p, at in zip(probes, places, strict=True)
            if said.known[row, at]
        ]
    return found


def test_heater_volts_are_those_of_each_wiring_solved_whole() -> None:
    told = _apart("heaters", "V ac", {"T1.heater.1", "T1.heater.2", "T1.heater.3"})
    assert len(told) >= 20
    for key, red, predicted, exact in told:
        assert predicted == pytest.approx(exact, rel=SAME_SHARE, abs=SAME_V), (key, red)


def test_ohms_of_joints_that_have_nothing_to_do_with_heaters_are_left_alone() -> None:
    told = _apart(OHMS, "ohm", {"V7.6", "L.3"})  # held by a diode's leak only
    assert len(told) >= 16
    for key, red, predicted, exact in told:
        assert predicted == pytest.approx(exact, rel=SAME_OHM), (key, red)
