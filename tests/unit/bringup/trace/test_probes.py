from __future__ import annotations

import functools

import pytest
from tests.planned_examples import NAMES, example

from lugwright.bringup.trace.bench import FINAL, OHMS, SIGNAL, TraceBench
from lugwright.bringup.trace.probes import MAINS_RISK, probes_of
from lugwright.bringup.trace.records import Probe


@functools.cache
def probes(name: str) -> tuple[TraceBench, tuple[Probe, ...]]:
    opened = example(name)
    bench = TraceBench(opened.build, opened.circuit, opened.plan, opened.solved)
    return bench, probes_of(bench)


@pytest.mark.parametrize("name", NAMES)
def test_every_socket_pin_in_use_is_read_in_ohms_and_every_probe_is_named_once(name: str) -> None:
    bench, found = probes(name)
    assert len(set(found)) == len(found)
    ohms = {p.red for p in found if p.step == OHMS and p.black == "ground"}
    pins = {k for k, t in bench.plan.terminals.items() if t.kind == "pin" and t.joint in bench.circuit.joints}
    assert pins <= ohms


@pytest.mark.parametrize("name", NAMES)
def test_volts_cost_more_than_ohms_and_the_mains_most(name: str) -> None:
    _, found = probes(name)
    assert all(p.risk == 0.0 for p in found if p.step == OHMS)
    assert all(p.risk > 0.0 for p in found if p.quantity == "V dc")
    primary = [p for p in found if "primary" in p.red and p.red.startswith("T1") and p.step != OHMS]
    assert primary
    assert all(p.risk == MAINS_RISK and p.quantity == "V ac" for p in primary)
    assert max(p.risk for p in found if p.quantity == "V dc") == 45.0


def test_words_of_probes() -> None:
    words = {p.words for p in probes("dunlin_5")[1]}
    assert "V1 pin 6 (plate b) to ground" in words
    assert "V1 pin 4 (heater1) to V1 pin 9 (heater tap)" in words
    assert "speaker LS1 plus to minus" in words


def test_steps_of_probes() -> None:
    bench, found = probes("godwit_40")
    assert {p.step for p in found} <= set(bench.steps)
    assert {OHMS, FINAL, SIGNAL} <= {p.step for p in found}
    assert {p.quantity for p in found if p.step == SIGNAL} == {"signal V ac"}
