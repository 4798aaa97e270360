"""The lamp's share of the mains: by Kirchhoff, and against whole solutions of faulty builds."""

from __future__ import annotations

import functools

import numpy as np
import pytest
from tests.planned_examples import example

from lugwright.bringup.faults.table import faults_of
from lugwright.bringup.trace.bench import TraceBench
from lugwright.bringup.trace.exact import ExactReadings
from lugwright.bringup.trace.hypotheses import hypotheses_of
from lugwright.bringup.trace.lamp_share import BEND, fitted_scale, lamp_share
from lugwright.bringup.trace.look_probes import lamp_of, lamps_of
from lugwright.bringup.trace.predictions import Predictor
from lugwright.bringup.trace.probes import probes_of

LOADS = np.array([0.0, 1e-3, 0.01j, 0.2 - 0.1j, 5.0])


def test_lamp_and_load_share_the_mains_and_carry_one_current() -> None:
    share = lamp_share(LOADS, watts=40.0, mains_v=120.0)
    lamp_a = 40.0 / 120.0 * share**BEND  # the filament's law
    through = np.abs(LOADS) * np.abs(120.0 / (1.0 + LOADS * 120.0 * share / np.maximum(lamp_a, 1e-12)))
    lit = share > 0.01
    assert lamp_a[lit] == pytest.approx(through[lit], rel=1e-6)
    assert np.all(np.diff(share) >= 0.0)
    assert share[0] < 1e-4
    assert share[-1] > 0.99


def test_a_load_is_scaled_to_a_known_lamp() -> None:
    load = 0.001 - 0.0005j
    scale = fitted_scale(load, 0.4, watts=60.0, mains_v=230.0)
    assert 0.125 < scale < 8.0
    assert lamp_share(np.array([scale * load]), watts=60.0, mains_v=230.0)[0] == pytest.approx(0.4, rel=1e-6)


@functools.cache
def dunlin() -> Predictor:
    opened = example("dunlin_5")
    bench = TraceBench(opened.build, opened.circuit, opened.plan, opened.solved)
    faults = faults_of(opened.build, opened.circuit, opened.plan)
    return Predictor(bench, probes_of(bench), hypotheses_of(opened.circuit, faults))


# Within a third, or three hundredths of the mains, of a whole solution with the lamp in its line: no eye is better.
@pytest.mark.parametrize("step", ["no tubes", "all tubes"])
@pytest.mark.parametrize(
    "key", ["", "blown F1", "reversed CR2", "shorted CR1", "shorted R14", "heater open V2", "open C6.a", "missing W12"]
)
def test_the_lamp_is_as_bright_as_solved_whole(step: str, key: str) -> None:
    hypotheses = dunlin().hypotheses
    row = next(k for k, h in enumerate(hypotheses) if key in {f.key for f in h.faults} or (not key and not h.faults))
    told = dunlin().predictions([lamp_of(step)], np.array([row]))
    share = 0.05 * float(np.sinh(told.expected[0, 0]))
    assert told.known[0, 0]
    whole = ExactReadings(dunlin().bench, hypotheses[row]).value(lamp_of(step))
    assert share == pytest.approx(whole, rel=1.0 / 3.0, abs=0.03)


def test_every_step_behind_the_lamp_has_one() -> None:
    assert [p.step for p in lamps_of(dunlin().bench)] == ["no tubes", "small tubes", "all tubes"]
    assert lamp_of("no tubes, lamp") == lamp_of("no tubes")
