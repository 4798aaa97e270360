"""Danger does not wait until a doubtful reading has been taken again."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from lugwright.bringup.faults.fault import Fault
from lugwright.bringup.trace.bench import FINAL, OHMS
from lugwright.bringup.trace.hypotheses import Hypothesis
from lugwright.bringup.trace.posterior import Posterior
from lugwright.bringup.trace.tracer import Tracer
from lugwright.bringup.trace.verdict import Weighed, weigh
from lugwright.circuit.rewiring import Rewiring

from .made_up import given, read

RED_PLATE = Fault("no bias", "F33", "nothing biases V5", "look", 1.0, Rewiring(""), danger="V5 burns")
GOOD = Hypothesis((), Rewiring(""))


@dataclass(frozen=True)
class OneFault:
    hypotheses: tuple[Hypothesis, ...] = (GOOD, Hypothesis((RED_PLATE,), Rewiring("")))


TRACER = Tracer(OneFault())  # type: ignore[arg-type]


def weighed(chance: list[float], none: float, wrong: list[float], step: str) -> Weighed:
    """Return a verdict in which one reading is wrong with some chance under each of two hypotheses."""
    found = weigh(given([[0.0], [9.0]]), read({0: 9.0}), ("no bias",), np.ones(1))
    probes = tuple(replace(probe, step=step) for probe in found.predictions.probes)
    doubted = np.array(wrong)[:, None]
    told = Posterior(np.array(chance), none, np.array(chance) @ doubted, doubted)
    return replace(found, predictions=replace(found.predictions, probes=probes), found=told)


def test_what_burns_if_the_reading_is_right_is_said_with_mains_on() -> None:
    assert TRACER._switch_off(weighed([0.93, 0.04], 0.03, [0.99, 0.0], FINAL)) == "V5 burns"


def test_with_the_plug_out_a_doubtful_reading_switches_nothing_off() -> None:
    assert TRACER._switch_off(weighed([0.93, 0.04], 0.03, [0.99, 0.0], OHMS)) == ""


def test_a_good_build_whose_readings_are_right_is_left_on() -> None:
    assert TRACER._switch_off(weighed([0.93, 0.04], 0.03, [0.01, 0.0], FINAL)) == ""


def test_a_likely_danger_is_said_as_before() -> None:
    assert TRACER._switch_off(weighed([0.7, 0.2], 0.1, [0.0, 0.0], OHMS)) == "V5 burns"
