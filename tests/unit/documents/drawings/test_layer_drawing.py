"""The chassis layer by layer: one in full, lower ones in light, higher ones not there; together they are everything."""

from __future__ import annotations

from dataclasses import replace
from xml.etree import ElementTree

import pytest

from lugwright.documents.drawings.layer_drawing import LAYERS, OVER, PARTS, UNDER, layer_drawings, layers_of
from lugwright.documents.drawings.wiring_side import WiringSide, wiring_side

from .dense_plan import dense
from .test_phase_drawing import faded, marked


@pytest.fixture(scope="module")
def side() -> WiringSide:
    return wiring_side(*dense())


def parts(side: WiringSide, *, over: bool) -> set[str]:
    """Return the parts of the first layer, or all the others."""
    return {seat.part for seat in side.plan.seats if (seat.layer > 1) is over}


def wires(side: WiringSide, *, over: bool) -> set[str]:
    """Return the wires that lie over a part, or all the others."""
    seated = {seat.part for seat in side.plan.seats}
    return {f"W{w.number}" for w in side.plan.wires if bool(seated & set(w.lies_over)) is over}


@pytest.fixture(scope="module")
def roots(side: WiringSide) -> dict[str, ElementTree.Element]:
    return {one.layer: ElementTree.fromstring(one.svg.encode()) for one in layer_drawings(side)}


def test_each_wire_bus_and_part_is_in_one_layer(side: WiringSide) -> None:
    found = layers_of(side.build, side.plan, side.laid)
    sets = [wires(side, over=False), parts(side, over=False), wires(side, over=True), parts(side, over=True)]
    assert all(sets)
    low, first, high, second = sets
    assert {name for name, layer in found.items() if layer == UNDER} == {*low, *(b.name for b in side.build.buses)}
    assert {name for name, layer in found.items() if layer == PARTS} == first
    assert {name for name, layer in found.items() if layer == OVER} == high | second


def test_a_layer_is_full_lower_ones_light_and_higher_ones_missing(
    side: WiringSide, roots: dict[str, ElementTree.Element]
) -> None:
    assert list(roots) == list(LAYERS)
    seated = {seat.part for seat in side.plan.seats}
    low = wires(side, over=False)
    shown = {layer: (marked(root, "data-wire"), marked(root, "data-part") & seated) for layer, root in roots.items()}
    assert shown[UNDER] == (low, set())
    assert shown[PARTS] == (low, parts(side, over=False))
    assert shown[OVER] == (low | wires(side, over=True), seated)
    assert [faded(roots[layer]) for layer in LAYERS] == [set(), low, low]


def test_the_words_below_name_the_layer(roots: dict[str, ElementTree.Element]) -> None:
    said = {layer: " ".join(e.text or "" for e in root.iter()) for layer, root in roots.items()}
    assert "UNDER THE PARTS in full. WIRING SIDE: open side up" in said[UNDER]
    assert "PARTS in full, what lies lower in light. WIRING SIDE: open side up" in said[PARTS]
    assert "OVER THE PARTS in full, what lies lower in light. WIRING SIDE: open side up" in said[OVER]


def test_a_layer_with_nothing_in_it_is_not_drawn() -> None:
    build, plan, fittings = dense()
    bare = tuple(replace(wire, lies_over=()) for wire in plan.wires)
    first = tuple(seat for seat in plan.seats if seat.layer == 1)
    flat = wiring_side(build, replace(plan, seats=first, wires=bare), fittings)
    assert [one.layer for one in layer_drawings(flat)] == [UNDER, PARTS]
