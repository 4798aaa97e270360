"""Ohm readings on joints that float: worked out anew, and as far apart from build to build as their parts."""

from __future__ import annotations

import numpy as np
from tests.planned_examples import example

from lugwright.bringup.faults.table import faults_of
from lugwright.bringup.trace.bench import FINAL, OHMS, TraceBench
from lugwright.bringup.trace.hypotheses import hypotheses_of
from lugwright.bringup.trace.ohms_followed import ohms_followed
from lugwright.bringup.trace.predictions import Predictor
from lugwright.bringup.trace.probes import probes_of
from lugwright.circuit.edits import Edit
from lugwright.circuit.elements import Resistor
from lugwright.circuit.network import Circuit

OHMS_OF = ("R1", "ohm"), ("R2", "ohm")


def test_a_reading_at_a_pot_is_as_uncertain_as_the_pot_also_where_a_fault_reaches_a_floating_joint() -> None:
    """A contact that sticks joins a capacitor that hung free to a pot: anywhere within 20 %, which spreads by 12 %."""
    opened = example("godwit_40")
    circuit = opened.circuit
    bench = TraceBench(opened.build, circuit, opened.plan, opened.solved)
    known = faults_of(opened.build, circuit, opened.plan)
    sticks = next(f for f in known if f.key == "contact S3.1.common-2")
    (probe,) = (p for p in probes_of(bench) if (p.step, p.red, p.black) == (OHMS, "S3.1.2", "ground"))
    told = Predictor(bench, (probe,), hypotheses_of(circuit, [sticks])).lumped([probe], np.array([0, 1]))
    assert told.mean[1, 0] < told.mean[0, 0]  # it is joined to something now
    assert 0.08 < told.sd[1, 0] < 0.15


def test_readings_that_a_blown_fuse_leaves_alone_are_as_uncertain_as_in_a_good_build() -> None:
    """A fault that seemed to spread less than a good build would win wherever readings are as computed."""
    opened = example("dunlin_5")
    circuit = opened.circuit
    bench = TraceBench(opened.build, circuit, opened.plan, opened.solved)
    blown = next(f for f in faults_of(opened.build, circuit, opened.plan) if f.key == "blown F1")
    probes = tuple(p for p in probes_of(bench) if p.step == OHMS)
    told = Predictor(bench, probes, hypotheses_of(circuit, [blown])).predictions(probes)
    alike = np.isclose(told.expected[1], told.expected[0], atol=1e-4)
    assert np.count_nonzero(alike) > 70  # of some 120: all but the mains side, and what over range shows
    np.testing.assert_allclose(told.loading[1, alike], told.loading[0, alike], atol=1e-4)
    mains = next(k for k, p in enumerate(probes) if (p.red, p.black) == ("P1.line", "P1.neutral"))
    assert told.expected[1, mains] > told.expected[0, mains] + 5.0  # over range


def test_a_reading_that_a_fault_makes_another_one_is_followed_part_by_part() -> None:
    """With 1 kohm from a to ground by way of b, the reading at a follows each of both by its share."""
    parts = (Resistor("R1", "a", "b", 750.0, "part"), Resistor("R2", "b", "ground", 250.0, "part"))
    share = ohms_followed(Circuit(parts, "ground", 60.0), [("a", "ground"), ("b", "ground")], Edit(""), OHMS_OF)
    np.testing.assert_allclose(share, [[0.75, 0.25], [0.0, 1.0]], atol=1e-3)


def test_a_leak_may_be_half_or_twice_the_one_that_stands_for_it() -> None:
    """3.3 Mohm from a plate puts volts on the next grid; a leak between this one and the next is no wrong reading."""
    opened = example("dunlin_5")
    circuit = opened.circuit
    bench = TraceBench(opened.build, circuit, opened.plan, opened.solved)
    leaky = next(f for f in faults_of(opened.build, circuit, opened.plan) if f.key == "leaky C3 3e+06")
    (probe,) = (p for p in probes_of(bench) if (p.step, p.red, p.quantity) == (FINAL, "V2.5", "V dc"))
    told = Predictor(bench, (probe,), hypotheses_of(circuit, [leaky])).predictions([probe])
    good, leaking = np.linalg.norm(told.loading[:, 0], axis=1)
    assert told.expected[1, 0] > told.expected[0, 0] + 1.0
    assert 0.3 < leaking < 0.6  # as its logarithm: evenly within 0.8 either way
    assert good < 0.01
