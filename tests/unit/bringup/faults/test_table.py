"""The list as a whole: every fault fits its circuit, every wire can be forgotten, odds are shared out."""

from __future__ import annotations

from collections import Counter

import pytest
from tests.planned_examples import NAMES, example

from lugwright.bringup.faults.odds import ODDS
from lugwright.bringup.faults.table import KINDS, faults_of
from lugwright.circuit.rewiring import rewired
from lugwright.solve.system import System

from .bench import circuit_of, faults
from .one_stage import one_stage


@pytest.mark.parametrize("name", ["", *NAMES])
def test_every_fault_fits_the_circuit(name: str) -> None:
    circuit = circuit_of(name)
    known = System(circuit).value_row
    for fault in faults(name).values():
        rewired(circuit, fault.rewiring)
        assert {(c.element, c.field) for c in fault.rewiring.changes} <= set(known), fault.key
        assert fault.what, fault.key
        assert fault.do, fault.key
        assert fault.odds > 0.0, fault.key
        assert fault.rewiring.name == fault.key


@pytest.mark.parametrize("name", NAMES)
def test_every_wire_that_is_no_part_of_a_ring_can_be_missing(name: str) -> None:
    plan = example(name).plan
    missing = {n for fault in faults(name).values() if fault.key.startswith("missing W") for n in fault.wires}
    assert {wire.number for wire in plan.wires} == missing


def test_odds_of_a_kind_add_up_to_what_the_table_says() -> None:
    build, circuit, plan = one_stage()
    total = sum(ODDS[name][0] for name, kind in KINDS)
    present = sum(fault.odds for fault in faults_of(build, circuit, plan))
    assert present <= total + 1e-9
    assert set(ODDS) >= {name for name, _ in KINDS}


def test_codes_are_entries_of_the_table() -> None:
    codes = Counter(fault.code for fault in faults("godwit_40").values())
    assert all(code[0] == "F" and 1 <= int(code[1:]) <= 103 for code in codes)


def test_the_main_example_has_over_six_hundred_faults() -> None:
    assert len(faults("godwit_40")) > 600
