"""What the wires of a plan cost as they are routed: detours, coupling, crossings, busy lugs."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lugwright.layout.joint_classes import JointFacts
from lugwright.layout.objective import (
    BUSY_FROM,
    BUSY_LUG,
    CROSSING,
    CROSSING_UNFRIENDLY,
    WIRE_WEIGHT,
    run_penalty,
)
from lugwright.layout.results import SeatedPart, Wire
from lugwright.layout.side_by_side import REACH_MM, run_share
from lugwright.layout.ways import route_length_mm

SAMPLE_MM = 2.5
WISHED_AS = {"detours": "wires"}
ON_A_SLANT = 3.0  # an unfriendly crossing far from a right angle runs on beside the other wire
SQUARE_SINE = 0.87  # within 30 degrees of a right angle
AT_AN_END_MM = 1.0  # wires that meet at a lug do not cross

Floats = NDArray[np.float64]
_APART_MM = np.arange(0.0, REACH_MM + 0.25, 0.5)
_SHARE = np.array([run_share(apart) for apart in _APART_MM.tolist()])


@dataclass(frozen=True)
class _Pieces:
    """The straight pieces of all routes that run along the plate."""

    start: Floats
    end: Floats
    owner: NDArray[np.int64]  # number of the wire in the plan's order

    @property
    def along(self) -> Floats:
        """Return the unit vectors of the pieces."""
        step = self.end - self.start
        found: Floats = step / np.maximum(np.hypot(step[:, 0], step[:, 1]), 1e-9)[:, None]
        return found


def routed_terms(
    wires: Sequence[Wire], seats: Sequence[SeatedPart], facts: Mapping[str, JointFacts], weights: Mapping[str, float]
) -> dict[str, float]:
    """Return the terms of the objective that follow from the routes; ``weights`` are the builder's factors."""
    classes = [facts[wire.joint].name if wire.joint in facts else wire.kind for wire in wires]
    pieces = _pieces(wires)
    found = {
        "detours": sum(WIRE_WEIGHT[name] * _detour_mm(wire) for wire, name in zip(wires, classes, strict=True)),
        "coupling": _coupling(wires, classes, pieces),
        "crossings": _crossings(wires, classes, pieces),
        "busy": _busy(wires, seats),
    }
    return {name: value * weights.get(WISHED_AS.get(name, name), 1.0) for name, value in found.items()}


def _detour_mm(wire: Wire) -> float:
    """Return what a route is longer than straight along and across the plate; one through the air is shorter."""
    (x0, y0, _), (x1, y1, _) = wire.route[0], wire.route[-1]
    return route_length_mm(wire.route) - abs(x1 - x0) - abs(y1 - y0)


def _pieces(wires: Sequence[Wire]) -> _Pieces:
    rows, owner = [], []
    for index, wire in enumerate(wires):
        for a, b in zip(wire.route, wire.route[1:], strict=False):
            if a[:2] != b[:2]:
                rows.append((*a[:2], *b[:2]))
                owner.append(index)
    table = np.array(rows, dtype=np.float64).reshape(-1, 4)
    return _Pieces(table[:, :2], table[:, 2:], np.array(owner, dtype=np.int64))


def _coupling(wires: Sequence[Wire], classes: Sequence[str], pieces: _Pieces) -> float:
    """Return the runs of unfriendly wires beside each other, weighted by nearness; a braid keeps its wire out."""
    bare = [name if not wire.shield else "" for wire, name in zip(wires, classes, strict=True)]
    names = sorted({name for name in bare if name})
    mine = np.array([bare[k] for k in pieces.owner.tolist()])
    total = 0.0
    for i, one in enumerate(names):
        for two in names[i:]:
            if penalty := run_penalty(one, two):
                total += penalty * _beside_mm(pieces, np.flatnonzero(mine == one), np.flatnonzero(mine == two))
    return total


def _beside_mm(pieces: _Pieces, one: NDArray[np.int64], two: NDArray[np.int64]) -> float:
    """Return the length of the first pieces, each millimeter as near and as parallel as it lies to the second."""
    start, along = pieces.start[one], pieces.along[one]
    length = np.hypot(*(pieces.end[one] - start).T)
    counts = np.maximum(1, np.rint(length / SAMPLE_MM)).astype(np.int64)
    which = np.repeat(np.arange(len(one)), counts)
    share = (np.arange(len(which)) - np.repeat(np.cumsum(counts) - counts, counts) + 0.5) * (length / counts)[which]
    points, heading, each = start[which] + share[:, None] * along[which], along[which], (length / counts)[which]
    total = 0.0
    for c, d, way in zip(pieces.start[two], pieces.end[two], pieces.along[two], strict=True):
        off = points - c
        at = np.clip(off[:, 0] * way[0] + off[:, 1] * way[1], 0.0, np.hypot(*(d - c)))
        apart = np.hypot(*(off - at[:, None] * way).T)
        near = np.interp(apart, _APART_MM, _SHARE, right=0.0)
        total += float((near * (heading[:, 0] * way[0] + heading[:, 1] * way[1]) ** 2 * each).sum())
    return total


def _crossings(wires: Sequence[Wire], classes: Sequence[str], pieces: _Pieces) -> float:
    total = 0.0
    step = pieces.end - pieces.start
    for k in range(len(pieces.owner)):
        rest = slice(k + 1, None)
        other, off = step[rest], pieces.start[rest] - pieces.start[k]
        cross = step[k, 0] * other[:, 1] - step[k, 1] * other[:, 0]
        safe = np.where(np.abs(cross) < 1e-9, 1.0, cross)
        here = (off[:, 0] * other[:, 1] - off[:, 1] * other[:, 0]) / safe
        there = (off[:, 0] * step[k, 1] - off[:, 1] * step[k, 0]) / safe
        mine, theirs = np.hypot(*step[k]), np.hypot(other[:, 0], other[:, 1])
        edge, their_edge = AT_AN_END_MM / max(mine, 1e-9), AT_AN_END_MM / np.maximum(theirs, 1e-9)
        met = (
            (np.abs(cross) > 1e-9) & (here > edge) & (here < 1 - edge) & (there > their_edge) & (there < 1 - their_edge)
        )
        for index in np.flatnonzero(met & (pieces.owner[rest] != pieces.owner[k])).tolist():
            a, b = int(pieces.owner[k]), int(pieces.owner[k + 1 + index])
            if not wires[a].twist or wires[a].twist != wires[b].twist:
                sine = abs(float(cross[index])) / float(mine * theirs[index])
                slant = 1.0 if sine > SQUARE_SINE else ON_A_SLANT
                total += CROSSING + CROSSING_UNFRIENDLY * run_penalty(classes[a], classes[b]) * slant
    return total


def _busy(wires: Sequence[Wire], seats: Sequence[SeatedPart]) -> float:
    leads = Counter(key for pair in [*(w.terminals for w in wires), *(s.terminals for s in seats)] for key in pair)
    leads.update(wire.shield for wire in wires if wire.shield)
    return BUSY_LUG * sum(max(0, count - BUSY_FROM) for count in leads.values())
