"""Direct volts where a meter is most of the circuit: what moves them, and where nothing of use is told."""

from __future__ import annotations

import numpy as np
import pytest
from tests.planned_examples import example

from lugwright.bringup.faults.table import faults_of
from lugwright.bringup.trace.bench import FINAL, TraceBench
from lugwright.bringup.trace.exact import ExactReadings
from lugwright.bringup.trace.hypotheses import hypotheses_of
from lugwright.bringup.trace.predictions import Predictor
from lugwright.bringup.trace.probes import probes_of
from lugwright.bringup.trace.records import Probe
from lugwright.bringup.trace.step_answers import Said
from lugwright.circuit.edits import Edit, ScaleValue

UP = 1.02  # of the mains
SAME_SLOPE = 0.1  # stated before: a spread that is right to a tenth tells as much as one that is right


def _told(name: str, fault: str, red: str, black: str) -> tuple[Predictor, Probe, Said]:
    """Return what is said of one reading with every tube in, under one fault."""
    opened = example(name)
    bench = TraceBench(opened.build, opened.circuit, opened.plan, opened.solved)
    (known,) = (f for f in faults_of(opened.build, opened.circuit, opened.plan) if f.key == fault)
    wanted = (FINAL, red, black, "V dc")
    (probe,) = {p for p in probes_of(bench) if (p.step, p.red, p.black, p.quantity) == wanted}
    predictor = Predictor(bench, (probe,), hypotheses_of(opened.circuit, [known]))
    return predictor, probe, predictor._answers(FINAL).said("V dc", [probe], np.array([1]))


def test_an_open_cathode_that_a_meter_pulls_down_follows_the_mains() -> None:
    """Ten megohms draw what a cut-off tube still lets through: the volts are a share of the plate's."""
    predictor, probe, said = _told("dunlin_5", "open R4", "V1.3", "ground")
    exact = [
        ExactReadings(predictor.bench, predictor.hypotheses[1], Edit("", (ScaleValue("mains", "rms_v", share),)))
        for share in (1.0 / UP, UP)
    ]
    low, high = (reading.value(probe) for reading in exact)
    slope = (high - low) / (2.0 * np.log(UP))
    mains = predictor._answers(FINAL).values.index(("mains", "rms_v"))
    at = said.place[0, 0]
    assert said.value[0, at] == pytest.approx((low + high) / 2.0, rel=0.01)
    assert slope > 2.0
    assert said.by_value[0, at, mains] == pytest.approx(slope, rel=SAME_SLOPE)


def test_what_only_leaks_feed_is_known_to_its_size_and_no_better() -> None:
    """A resistor's loose end hangs on its strip's leak, 1 or 100 gigohms: its tip shows next to nothing."""
    _, _, said = _told("curlew_18", "dry F.10", "V2.8", "B.10")
    at = said.place[0, 0]
    assert 0.0 < said.value[0, at] < 0.1
    assert said.doubt[0, at] >= said.value[0, at]


def test_a_supply_that_idles_on_nothing_is_not_told() -> None:
    """With the filters' common lead off, B+ hangs on the meter alone: a rectifier without load is no resistance."""
    _, _, said = _told("godwit_40", "dry C23.minus", "S2.1.common", "ground")
    assert not said.known[0, said.place[0, 0]]
    _, _, said = _told("godwit_40", "dry C23.minus", "V3.3", "ground")
    assert said.known[0, said.place[0, 0]]
