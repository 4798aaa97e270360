"""Which wires and parts a wire lies over."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from lugwright.layout.results import PlanTerminal, SeatedPart, Wire

TOUCH_MM = 1.0  # pieces nearer than this in plan lie over one another
LEVEL_MM = 0.5  # heights nearer than this are the same lane


def with_what_it_lies_over(
    wires: Sequence[Wire], seats: Sequence[SeatedPart], ends: Mapping[str, PlanTerminal]
) -> tuple[Wire, ...]:
    """Return the wires with the lower wires and bodies that each crosses in plan."""
    if not wires:
        return ()
    pieces, owner, height = _pieces(wires)
    bodies, body_height = _bodies(seats, ends)
    over: dict[int, set[str]] = {index: set() for index in range(len(wires))}
    for piece, mine, z in zip(pieces, owner, height, strict=True):
        lower = (height < z - LEVEL_MM) & (owner != mine) & _boxes_meet(pieces, piece) & _cross(pieces, piece)
        over[int(mine)].update(f"W{wires[int(owner[k])].number}" for k in np.nonzero(lower)[0])
        if len(bodies):
            under = (body_height < z - LEVEL_MM) & _boxes_meet(bodies, piece) & _cross(bodies, piece)
            over[int(mine)].update(seats[k].part for k in np.flatnonzero(under).tolist())
    return tuple(
        replace(wire, lies_over=tuple(sorted(over[index], key=_by_kind_and_number))) for index, wire in enumerate(wires)
    )


def _pieces(wires: Sequence[Wire]) -> tuple[NDArray[np.float64], NDArray[np.int64], NDArray[np.float64]]:
    """Return the pieces of all routes that run along the plate: ends, wire index, height."""
    rows, owner, height = [], [], []
    for index, wire in enumerate(wires):
        for a, b in zip(wire.route, wire.route[1:], strict=False):
            if a[:2] != b[:2]:
                rows.append((a[0], a[1], b[0], b[1]))
                owner.append(index)
                height.append((a[2] + b[2]) / 2.0)
    return np.array(rows).reshape(-1, 4), np.array(owner, dtype=np.int64), np.array(height)


def _boxes_meet(pieces: NDArray[np.float64], piece: NDArray[np.float64]) -> NDArray[np.bool_]:
    low, high = np.minimum(pieces[:, :2], pieces[:, 2:]), np.maximum(pieces[:, :2], pieces[:, 2:])
    mine_low, mine_high = np.minimum(piece[:2], piece[2:]), np.maximum(piece[:2], piece[2:])
    both = (low <= mine_high + TOUCH_MM) & (high >= mine_low - TOUCH_MM)
    return both[:, 0] & both[:, 1]


def _cross(pieces: NDArray[np.float64], piece: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Return True unless both ends of one piece lie clearly on one side of the other."""
    side_a, side_b = _side(piece, pieces[:, :2]), _side(piece, pieces[:, 2:])
    there: NDArray[np.bool_] = ((side_a > TOUCH_MM) & (side_b > TOUCH_MM)) | (
        (side_a < -TOUCH_MM) & (side_b < -TOUCH_MM)
    )
    direction = pieces[:, 2:] - pieces[:, :2]
    length = np.maximum(np.hypot(direction[:, 0], direction[:, 1]), 1e-9)
    sides = [
        (direction[:, 0] * (p[1] - pieces[:, 1]) - direction[:, 1] * (p[0] - pieces[:, 0])) / length
        for p in (piece[:2], piece[2:])
    ]
    here: NDArray[np.bool_] = ((sides[0] > TOUCH_MM) & (sides[1] > TOUCH_MM)) | (
        (sides[0] < -TOUCH_MM) & (sides[1] < -TOUCH_MM)
    )
    return np.logical_not(there | here)


def _side(piece: NDArray[np.float64], points: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the signed distance of points from the line a piece lies on. [mm]"""
    dx, dy = piece[2] - piece[0], piece[3] - piece[1]
    length = max(float(np.hypot(dx, dy)), 1e-9)
    side: NDArray[np.float64] = (dx * (points[:, 1] - piece[1]) - dy * (points[:, 0] - piece[0])) / length
    return side


def _bodies(
    seats: Sequence[SeatedPart], ends: Mapping[str, PlanTerminal]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    rows = [(a.x_mm, a.y_mm, b.x_mm, b.y_mm) for s in seats for a, b in [(ends[s.terminals[0]], ends[s.terminals[1]])]]
    return np.array(rows).reshape(-1, 4), np.array([seat.z_mm for seat in seats])


def _by_kind_and_number(name: str) -> tuple[str, int, str]:
    head = name.rstrip("0123456789")
    return head, int(name[len(head) :] or 0), name
