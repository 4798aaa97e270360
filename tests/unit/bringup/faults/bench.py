"""The faults of the stage wired by hand, and of the demonstration builds, by their keys."""

from __future__ import annotations

import functools
from collections.abc import Mapping

from tests.planned_examples import example

from lugwright.bringup.faults.case import FaultCase
from lugwright.bringup.faults.fault import Fault
from lugwright.bringup.faults.table import faults_of
from lugwright.circuit.network import Circuit

from .one_stage import one_stage


@functools.cache
def faults(name: str = "") -> Mapping[str, Fault]:
    build, circuit, plan = one_stage() if not name else (example(name).build, example(name).circuit, example(name).plan)
    found = faults_of(build, circuit, plan)
    assert len({fault.key for fault in found}) == len(found), "two faults with one key"
    return {fault.key: fault for fault in found}


def circuit_of(name: str) -> Circuit:
    return example(name).circuit if name else one_stage()[1]


def case_of(name: str = "") -> FaultCase:
    return (
        FaultCase(*one_stage())
        if not name
        else FaultCase(example(name).build, example(name).circuit, example(name).plan)
    )
