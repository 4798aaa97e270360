"""Low and high mains: what is listed, and what is said of a plate that passes its limit, word for word."""

from __future__ import annotations

from pathlib import Path

import pytest

from lugwright.circuit.rules.mains_swing import MainsSwing, high_mains_findings
from lugwright.workflow import open_build

from .rating_bench import build_of, idle_of, tube

EXAMPLE = Path(__file__).parents[3] / "examples" / "dunlin_5.toml"


def told(type_name: str, nominal_w: float, high_w: float) -> list[str]:
    build = build_of(tube("V5", type_name, cathode="ground"))
    nominal, high = (idle_of(build, tubes={"V5": {"plate_w": watts}}) for watts in (nominal_w, high_w))
    found = high_mains_findings(build, MainsSwing(nominal, nominal, high))
    return [line.strip() for finding in found for line in str(finding).splitlines()[:4]]


def test_a_plate_over_a_limit_that_may_never_be_passed() -> None:
    limit = tube("V5", "6L6GC").values.type.limits["plate_w"].value
    assert limit == 30.0
    assert told("6L6GC", 28.0, 33.6) == [
        "amp.toml:7: doubt: the plate of V5 is overloaded when the mains is 10% high [high-mains-heat]",
        "found:  33.6 W, 28.0 W at nominal mains",
        "wanted: at most 30 W at any mains (6L6GC, design-maximum)",
        "do:     make its bias more negative, or its screen volts lower",
    ]


def test_a_plate_over_its_limit_at_nominal_mains_is_told_of_elsewhere() -> None:
    assert told("6L6GC", 31.0, 36.0) == []


def test_a_design_center_limit_allows_for_the_mains() -> None:
    assert told("EL84", 11.5, 13.0) == []


def test_rows_move_with_the_mains() -> None:
    rows = {row.reading: row for row in open_build(EXAMPLE).mains_rows}
    for row in rows.values():
        assert row.low < row.nominal < row.high
    assert rows["heater of V1"].high / rows["heater of V1"].low == pytest.approx(11.0 / 9.0, rel=0.005)
    assert rows["heater of V1"].limit == pytest.approx(1.1 * 6.3)
