"""Ground where it should not be, ground that is parted, and the mains side exchanged."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from itertools import pairwise

from lugwright.bringup.faults.case import FaultCase
from lugwright.bringup.faults.fault import Fault
from lugwright.bringup.wired import METAL, Piece
from lugwright.buildfile.build import GROUND, Inlet, Jack

LIVE_WHEN_OFF = "with the switch off everything inside is still live: pull the plug"


def second_ground(case: FaultCase) -> Iterator[Fault]:
    """Yield each jack whose sleeve touches the panel, and each foot that a ground lead landed on."""
    metal = case.wired.pieces[METAL].keys
    if not metal:
        return
    for part, jack in case.parts(Jack):
        key = f"{part.name}.sleeve"
        if jack.isolated and key in case.plan.terminals and case.terminal(key).joint == GROUND:
            effect = case.wired.otherwise("touch", {"touch": (Piece("touch", (metal[0], key)),)})
            yield case.fault(
                f"second ground {part.name}", "F91", what=f"the sleeve of jack {part.name} touches the panel",
                do="lift the one bond on purpose: ground to metal must read open; put its washers in right",
                effect=effect, part=part.name, terminals=(key,), shows=("hum",),
            )  # fmt: skip


def broken_bus(case: FaultCase) -> Iterator[Fault]:
    """Yield each ground bus parted between two points that carry something."""
    for name, bus in case.wired.pieces.items():
        if not name.startswith("bus "):
            continue
        used = [key for key in bus.keys if len(case.wired.at[key]) > 1]
        for one, other in pairwise(used):
            cut = bus.keys.index(other)
            halves = (replace(bus, keys=bus.keys[:cut]), replace(bus, keys=bus.keys[cut:]))
            effect = case.wired.otherwise("broken", {name: halves})
            if effect:
                yield case.fault(
                    f"broken {one} {other}", "F102",
                    what=f"the bus is broken, or was never joined, between {case.label(one)} and {case.label(other)}",
                    do="measure along it, plug out: 0 ohms from end to end", effect=effect, terminals=(one, other),
                )  # fmt: skip


def mains_side(case: FaultCase) -> Iterator[Fault]:
    """Yield line and neutral exchanged at the inlet."""
    for part, _ in case.parts(Inlet):
        keys = f"{part.name}.line", f"{part.name}.neutral"
        if all(key in case.plan.terminals for key in keys):
            effect = case.wired.exchanged({keys[0]: keys[1], keys[1]: keys[0]}, own=True)
            yield case.fault(
                f"exchanged {keys[0]} {keys[1]}", "F02", what=f"line and neutral are exchanged at {part.name}",
                do="plug out: measure from the plug's line pin through fuse and switch, and exchange the two wires",
                effect=effect, part=part.name, terminals=keys, danger=LIVE_WHEN_OFF,
            )  # fmt: skip
