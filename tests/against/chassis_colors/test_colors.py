"""The wire a plan asks for has the color that the trade gives its circuit."""

from __future__ import annotations

import pytest

from ...planned_examples import NAMES, example


@pytest.mark.parametrize("name", NAMES)
def test_every_wire_off_the_reel_has_the_color_of_its_kind(name: str, rows: list[dict[str, str]]) -> None:
    """A screen's wire is one of B+ in all but its color."""
    colors = {row["kind"]: row["color"] for row in rows}
    wires = [wire for wire in example(name).plan.wires if wire.type != "lead"]
    assert len({wire.kind for wire in wires}) >= 7
    for wire in wires:
        wanted = {colors[wire.kind]} | ({colors["screen"]} if wire.kind == "B+" else set())
        assert wire.color in wanted, (wire.number, wire.kind)


@pytest.mark.parametrize("name", NAMES)
def test_green_with_yellow_is_the_protective_earth_and_nothing_else(name: str) -> None:
    for wire in example(name).plan.wires:
        assert ("green" in wire.color and "yellow" in wire.color) == (wire.kind == "earth"), wire.number
