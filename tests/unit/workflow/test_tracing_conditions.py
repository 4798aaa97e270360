"""Readings with a control turned elsewhere are left out of tracing, and said to be."""

from __future__ import annotations

from types import SimpleNamespace

import pytest
from tests.planned_examples import example

from lugwright.bringup.ohms_chart import AS_IN_FILE
from lugwright.bringup.results import JudgedReading
from lugwright.bringup.trace.bench import OHMS
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
    bench = FaultBench(logged([entry]))  # type: ignore[arg-type]
    bench.take_logged()
    assert bench.taken == []
    assert bench.left_out == [f"bias: V5 pin 5 (grid) to ground: read with {TURNED}"]


def test_readings_that_only_their_own_step_judges_are_told_in_one_line() -> None:
    bodies = (
        {"step": "earth", "red": "P1.earth", "black": "T1.metal", "quantity": "ohm", "value": 0.0, "unit": "ohm"},
        {"step": "earth", "red": "P1.earth", "black": "T2.metal", "quantity": "ohm", "value": 0.1, "unit": "ohm"},
    )
    entries = [
        Entry(f"{k:032d}", "2026-11-26T12:00:00.000000Z", "1", "reading", body["black"], {**body, "words": ""})
        for k, body in enumerate(bodies)
    ]
    bench = FaultBench(logged(entries))  # type: ignore[arg-type]
    bench.__dict__["bench"] = SimpleNamespace(
        steps={OHMS: None}, circuit=SimpleNamespace(joints=(), ground="ground"), joint_of=str
    )
    bench.take_logged()
    assert bench.taken == []
    assert bench.left_out == ["step 2: Earth bond (plug out): 2 readings; judged by the step itself"]


def logged(entries: list[Entry]) -> SimpleNamespace:
    """Return a build with a log, and charts that know one point."""
    held = SimpleNamespace(words="V5 pin 5 (grid) to ground")
    steps = (
        SimpleNamespace(key="earth", words="step 2: Earth bond (plug out)"),
        SimpleNamespace(key="rectifier, lamp", words="step 5: Rectifier tube in (through the 60 W lamp)"),
    )
    charts = SimpleNamespace(place=lambda step, red, black: held, steps=steps)
    plan = SimpleNamespace(terminals=("P1.earth", "T1.metal", "T2.metal"))
    return SimpleNamespace(bench_log=SimpleNamespace(bench=played(entries, "1")), charts=charts, plan=plan)


def test_a_power_switch_that_stands_as_in_the_build_file_is_no_condition() -> None:
    taken = FaultBench(example("dunlin_5")).said(f"ohms: P1 line to neutral, {AS_IN_FILE} = 8.2", "")
    assert (taken.probe.red, taken.probe.black, taken.value) == ("P1.line", "P1.neutral", 8.2)


def test_what_is_read_behind_the_lamp_is_told_in_one_line() -> None:
    body = {"step": "rectifier, lamp", "red": "B+1", "quantity": "V dc", "value": 350.0, "unit": "V", "words": ""}
    entry = Entry("0" * 32, "2026-11-26T12:00:00.000000Z", "1", "reading", "B+1", body)
    bench = FaultBench(logged([entry]))  # type: ignore[arg-type]
    bench.__dict__["bench"] = SimpleNamespace(steps={OHMS: None})
    bench.take_logged()
    assert bench.left_out == [
        "step 5: Rectifier tube in (through the 60 W lamp): 1 reading; behind the lamp only the lamp is weighed"
    ]


def test_a_tube_whose_glass_was_read_is_of_no_other_type() -> None:
    opened = example("dunlin_5")
    assert {"type V2 6L6GC", "type V1 12AT7"} <= FaultBench(opened).faults.keys()
    fitted = {"socket": "V2", "type": "6V6GT", "label": "from the blue box"}
    log = SimpleNamespace(
        bench=played([Entry("1" * 32, "2026-11-26T12:00:00.000000Z", "1", "tube fitted", "V2", fitted)], "1")
    )
    of_it = {name: getattr(opened, name) for name in ("written", "build", "circuit", "plan")}
    told = FaultBench(SimpleNamespace(as_stated=False, bench_log=log, **of_it))  # type: ignore[arg-type]
    assert told.right_tubes == {"V2"}
    assert not {"type V2 6L6GC", "type V2 EL34"} & told.faults.keys()
    assert "type V1 12AT7" in told.faults
