"""The wiring side layer by layer, as it is built up: wires under the parts, the parts, what lies over them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from lugwright.buildfile.build import Build
from lugwright.documents.drawings.wire_layers import Laying
from lugwright.documents.drawings.wiring_side import WiringSide, wiring_side_svg
from lugwright.layout.results import Plan

UNDER, PARTS, OVER = "under the parts", "parts", "over the parts"
LAYERS = (UNDER, PARTS, OVER)  # from the plate up


@dataclass(frozen=True)
class LayerDrawing:
    """The whole chassis up to one layer."""

    layer: str
    svg: str


def layers_of(build: Build, plan: Plan, laid: Laying) -> Mapping[str, str]:
    """Return the layer of every wire, bus and part held by its leads, by name."""
    found = {bus.name: UNDER for bus in build.buses}
    found |= {f"W{wire.number}": OVER if wire.number in laid.high else UNDER for wire in plan.wires}
    return found | {seat.part: OVER if seat.layer > 1 else PARTS for seat in plan.seats}


def layer_drawings(side: WiringSide) -> tuple[LayerDrawing, ...]:
    """Return a drawing for each layer that there is: it in full, what lies lower in light, what lies higher not."""
    layer_of = layers_of(side.build, side.plan, side.laid)
    found = []
    for layer in LAYERS:
        full = {name for name, its in layer_of.items() if its == layer}
        above = {name for name, its in layer_of.items() if LAYERS.index(its) > LAYERS.index(layer)}
        if full:
            told = f"{layer.upper()} in full" + (", what lies lower in light. " if layer != LAYERS[0] else ". ")
            title = f"{side.build.title}: {layer}"
            svg = wiring_side_svg(side, only=full, hidden=above, told=told, title=title)
            found.append(LayerDrawing(layer, svg))
    return tuple(found)
