"""Which lugs and pins stand beside each other: where a lead lands by one, and what a drop of solder bridges."""

from __future__ import annotations

import math
from collections.abc import Mapping

from lugwright.layout.results import Plan, PlanTerminal

SOLDERED = ("pin", "lug", "foot", "pot", "jack", "can", "panel")
BESIDE = 1.3  # nearer than so many times the least distance on the same part: a diagonal is no neighbor


def neighbors(plan: Plan) -> Mapping[str, tuple[str, ...]]:
    """Return the terminals beside each terminal, on the same socket, strip, control or can."""
    owners: dict[str, list[PlanTerminal]] = {}
    for terminal in plan.terminals.values():
        if terminal.kind in SOLDERED:
            owners.setdefault(terminal.owner, []).append(terminal)
    found: dict[str, tuple[str, ...]] = {}
    for group in owners.values():
        apart = {(a.key, b.key): _apart_mm(a, b) for a in group for b in group if a is not b}
        least = min(apart.values(), default=0.0)
        for a in group:
            near = [b.key for b in group if b is not a and apart[a.key, b.key] <= BESIDE * least]
            found[a.key] = tuple(near)
    return found


def neighbor_pairs(beside: Mapping[str, tuple[str, ...]]) -> list[tuple[str, str]]:
    """Return every pair of neighbors once."""
    return list(dict.fromkeys((min(a, b), max(a, b)) for a, others in beside.items() for b in others))


def _apart_mm(a: PlanTerminal, b: PlanTerminal) -> float:
    return math.dist((a.x_mm, a.y_mm, a.z_mm), (b.x_mm, b.y_mm, b.z_mm))
