"""The table of all kinds: what it covers, the page made from it, and the fault that needs a second primary."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest
from tests.planned_examples import NAMES

from lugwright.bringup.faults.known import KNOWN
from lugwright.bringup.faults.odds import ODDS
from lugwright.bringup.faults.table import KINDS

from .bench import case_of, faults

sys.path.insert(0, str(Path(__file__).parents[4] / "tools"))

import faults_page


def test_every_entry_that_shows_is_covered_by_a_fault_of_a_demo_and_no_other_is() -> None:
    found = {fault.code for name in NAMES for fault in faults(name).values()}
    wanted = {code for code, known in KNOWN.items() if not known.left_out}
    assert wanted - found == set()
    assert found - wanted == set()


def test_entries_are_all_there_and_say_how_they_show() -> None:
    numbers = [*range(1, 37), *range(40, 63), *range(65, 76), *range(80, 104)]
    assert list(KNOWN) == [f"F{number:02}" for number in numbers]
    assert all(known.name and known.shows for known in KNOWN.values())


def test_reference_page_is_the_one_the_tables_give() -> None:
    assert faults_page.PAGE.read_text(encoding="utf-8") == faults_page.page()


@pytest.mark.parametrize("name", NAMES)
def test_every_kind_with_something_to_go_wrong_has_faults(name: str) -> None:
    case = case_of(name)
    counts = {kind: sum(1 for _ in make(case)) for kind, make in KINDS}
    wires, leads = len(case.plan.wires), 2 * len(case.plan.seats)
    assert counts["missing wire"] == wires
    assert counts["cold lead"] > leads  # the wires' ends besides
    assert counts["socket counted wrong"] == 3 * sum(1 for t in case.plan.terminals.values() if t.key.endswith(".1")
                                                     and t.kind == "pin")  # fmt: skip
    assert all(counts[kind] for kind in counts if kind not in ("shield", "output load", "dirty strip"))
    assert set(counts) == set(ODDS)
