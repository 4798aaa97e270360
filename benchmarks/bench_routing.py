"""How long the wires of each example take to route, and what they run over, beside and across.

Run: python benchmarks/bench_routing.py. CPU seconds of routing alone, best of three, the plan made before; then wire in
all, and of the wires that lie in lanes: millimeters through sockets and over screws, cans and strip feet (15 mm about
the ends left out: a wire has to come to its pin, and the second of a heater pair crosses its socket), millimeters in
the lane of another wire, and the terms of the objective that follow from the routes.
"""

from __future__ import annotations

import itertools
import math
import os

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import time
from collections import Counter
from pathlib import Path

from lugwright.layout.joint_classes import joint_facts
from lugwright.layout.links import Link
from lugwright.layout.plate import Plate, make_plate
from lugwright.layout.results import Wire
from lugwright.layout.route_terms import routed_terms
from lugwright.layout.routing import route_wires
from lugwright.workflow import open_build

EXAMPLES = sorted((Path(__file__).parents[1] / "examples").glob("*.toml"))
NEAR_END_MM = 15.0
MOST_S = 0.7  # for the largest chassis, so that routing stays a small part of planning


def main() -> None:
    """Print one line for each example build."""
    print("build         wires  routed s   wire m  over metal mm  lane shared mm  detours  coupling  crossings")
    for path in EXAMPLES:
        opened = open_build(path)
        build, plan, hardware = opened.build, opened.plan, opened.hardware
        facts = joint_facts(build, opened.joint_volts)
        links = [Link(w.joint, w.terminals, "", w.bond) for w in plan.wires]
        spent: list[float] = []
        for _ in range(3):
            begin = time.process_time()
            wires = route_wires(build, hardware, plan.terminals, plan.seats, links, list(facts.values()))
            spent.append(time.process_time() - begin)
        plate = make_plate(build, hardware, plan.terminals, ())
        terms = routed_terms(wires, plan.seats, facts, {})
        print(
            f"{path.stem:12} {len(wires):6d} {min(spent):9.2f}{'' if min(spent) <= MOST_S else ' !'} "
            f"{sum(w.length_mm for w in wires) / 1000.0:8.2f} {over_metal_mm(wires, plate):14.0f} "
            f"{shared_mm(wires, plate):15.0f} {terms['detours']:8.0f} {terms['coupling']:9.0f} "
            f"{terms['crossings']:10.0f}"
        )


def samples(wire: Wire) -> list[tuple[float, float, bool]]:
    """Return a point for every millimeter of a wire in lanes away from its ends, and whether it runs along x there."""
    found = []
    for a, b in itertools.pairwise(wire.route) if len(wire.route) > 2 else ():
        count = round(math.dist(a[:2], b[:2]))
        for k in range(count):
            x, y = (p + (q - p) * (k + 0.5) / count for p, q in zip(a[:2], b[:2], strict=True))
            if min(math.dist((x, y), end[:2]) for end in (wire.route[0], wire.route[-1])) > NEAR_END_MM:
                found.append((x, y, abs(b[0] - a[0]) > abs(b[1] - a[1])))
    return found


def over_metal_mm(wires: tuple[Wire, ...], plate: Plate) -> float:
    """Return the millimeters of wire through sockets, over screws, cans and strip feet. [mm]"""
    return float(sum(bool(plate.barred[plate.node((x, y))]) for wire in wires for x, y, _ in samples(wire)))


def shared_mm(wires: tuple[Wire, ...], plate: Plate) -> float:
    """Return the millimeters of wire in a lane that another wire lies in already; a twist is one wire. [mm]"""
    in_lane: Counter[tuple[int, int, bool]] = Counter()
    for _, group in itertools.groupby(sorted(wires, key=lambda w: w.twist or f"W{w.number}"), lambda w: w.twist or w):
        in_lane.update({(*plate.node((x, y)), level) for wire in group for x, y, level in samples(wire)})
    return plate.step_mm * sum(count - 1 for count in in_lane.values())


if __name__ == "__main__":
    main()
