"""A transformer with two primaries: one turned round, and what that does to the heaters."""

from __future__ import annotations

from pathlib import Path

import pytest

from lugwright.bringup.faults.heat import emission_at
from lugwright.bringup.faults.table import faults_of
from lugwright.buildfile.read import read_build
from lugwright.circuit.from_build import circuit_from_build
from lugwright.layout.chassis import fixed_terminals
from lugwright.layout.results import Plan

from .bench import faults
from .one_stage import TEXT

TWO = TEXT.replace(
    'windings.primary = { volts = [120], ohms = [10], ends = ["F1.2", "P1.neutral"] }',
    'windings.primary = { volts = [120], ohms = [20], ends = ["F1.2", "P1.neutral"] }\n'
    'windings.second = { volts = [120], ohms = [20], ends = ["F1.2", "P1.neutral"] }',
)


def test_two_primaries_can_work_against_each_other(tmp_path: Path) -> None:
    path = tmp_path / "two.toml"
    path.write_text(TWO, encoding="utf-8")
    build = read_build(path).build
    assert build is not None
    plan = Plan("two", fixed_terminals(build), (), (), (), {})
    found = {f.key: f for f in faults_of(build, circuit_from_build(build), plan)}
    fault = found["exchanged T1.second.1 T1.second.2"]
    assert fault.code == "F04"
    assert fault.what == "winding second of T1 works against the other primary"
    assert {(m.element, m.end) for m in fault.rewiring.moved} == {("T1.second.1-2", "a"), ("T1.second.1-2", "b")}


def test_a_transformer_for_other_mains_dims_every_heater() -> None:
    assert "heater dim V1" in faults()["other mains T1"].shows


def test_emission_falls_with_the_heater_and_is_full_at_its_volts() -> None:
    shares = [emission_at(0.1 * k) for k in range(11)]
    assert shares == sorted(shares)
    assert shares[0] == 0.0
    assert shares[10] == pytest.approx(1.0, abs=0.01)
