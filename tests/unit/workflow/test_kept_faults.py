"""A fault list that was solved once is not solved again for the next reading."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import pytest

from lugwright.workflow.tracing import FaultBench, fault_bench

SOLVED = ("bench", "faults", "predictor", "tracer", "words")


def opened(circuit: object, plan: object) -> Any:
    return SimpleNamespace(circuit=circuit, plan=plan, as_stated=True)


def solved(build: Any) -> FaultBench:
    bench = FaultBench(build)
    bench.__dict__.update({name: object() for name in SOLVED})
    return bench


@pytest.mark.parametrize("name", SOLVED)
def test_what_no_reading_changes_is_taken_over(name: str) -> None:
    build = opened("circuit", "plan")
    before = solved(build)
    assert getattr(fault_bench(build, before=before), name) is getattr(before, name)


def test_nothing_is_taken_over_where_the_plan_is_another() -> None:
    after = fault_bench(opened("circuit", "another plan"), before=solved(opened("circuit", "plan")))
    assert not set(SOLVED) & set(after.__dict__)
