"""Readings with a control turned elsewhere are left out of tracing, and said to be."""

from __future__ import annotations

from types import SimpleNamespace

import pytest

from lugwright.bringup.results import JudgedReading
from lugwright.errors import TraceError
from lugwright.log.events import Entry
from lugwright.log.state import played
from lugwright.workflow.tracing import FaultBench

TURNED = "R49 Bias full clockwise"


def test_a_reading_at_the_end_of_a_control_is_not_weighed() -> None:
    bench = FaultBench(SimpleNamespace())  # type: ignore[arg-type]
    reading = JudgedReading(
        "bias", "step 8: Negative bias", "V5 pin 5 (grid) to ground", "V5.5", "ground", "V dc", -33.9, "V", 0.1,
        "-33.9 V dc", condition=TURNED,
    )  # fmt: skip
    with pytest.raises(TraceError) as caught:
        bench.of_judged(reading)
    error = caught.value
    assert (error.what, error.found, error.wanted, error.do) == (
        "V5 pin 5 (grid) to ground cannot be weighed against the faults",
        f"read with {TURNED}",
        "controls where the build file or the log sets them",
        "leave it out of tracing; it stays in the log",
    )


def test_such_a_reading_of_the_log_is_told_as_left_out() -> None:
    body = {
        "step": "bias", "red": "V5.5", "quantity": "V dc", "value": -33.9, "unit": "V", "condition": TURNED,
        "words": "V5.5, full clockwise = -33.9",
    }  # fmt: skip
    entry = Entry("0" * 32, "2026-11-26T12:00:00.000000Z", "1", "reading", "V5 pin 5", body)
    opened = SimpleNamespace(bench_log=SimpleNamespace(bench=played([entry], "1")))
    bench = FaultBench(opened)  # type: ignore[arg-type]
    bench.take_logged()
    assert bench.taken == []
    assert bench.left_out == [f"bias: V5.5, full clockwise = -33.9: read with {TURNED}"]
