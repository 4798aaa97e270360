"""Small planning problems that other methods can state exactly: parts across rungs, every joint one wire.

Two strips face each other in each row; lug k of one and lug k of the other are a rung, and a part lies square on one
rung. Every joint has two ends, two leads of parts or one lead and one pin, so that its wire is one line and its price
is weight times the distance along x and y: no tree has to be found. A lug takes one lead and one wire. Some parts are
kept off every second row. Layers, coupling, heat and insulation play no part; a lug in use costs every plan the same.
"""

from __future__ import annotations

import random
from dataclasses import dataclass

import numpy as np

from lugwright.layout.board import FREE, Board, Hanging, Seats
from lugwright.layout.joint_classes import JointFacts
from lugwright.layout.results import PlanTerminal

PITCH_MM, ROW_MM, GAP_MM, BODY_MM, BODY_WIDE_MM = 10.0, 80.0, 30.0, 12.0, 4.0
RUNGS_A_ROW = 16
SPARE = 1.25  # rungs for each part
KEPT_OFF = 0.35  # of the parts, from every second row
TO_A_PART = 0.7  # of the leads go on to another part, the others to a pin
WEIGHTS = (1.0, 1.0, 2.0, 4.0)


@dataclass(frozen=True)
class Instance:
    """Rungs with place and row, where each part may go, and the wires."""

    rungs: tuple[tuple[float, float, int], ...]  # x, y of the first lug, row
    may: tuple[tuple[int, ...], ...]  # per part: rungs
    joined: tuple[tuple[int, int, int, float], ...]  # part, part, side, weight
    pinned: tuple[tuple[int, int, float, float, float], ...]  # part, side, x and y of the pin, weight

    def lug(self, rung: int, side: int) -> tuple[float, float]:
        """Return where a lug of a rung stands."""
        x, y, _ = self.rungs[rung]
        return x, y + side * GAP_MM

    def price(self, at: list[int]) -> float:
        """Return the weighted length of all wires, for the rung of each part."""
        total = 0.0
        for p, q, side, weight in self.joined:
            total += weight * _apart(self.lug(at[p], side), self.lug(at[q], side))
        return total + sum(w * _apart(self.lug(at[p], side), (x, y)) for p, side, x, y, w in self.pinned)


def _apart(a: tuple[float, float], b: tuple[float, float]) -> float:
    return abs(a[0] - b[0]) + abs(a[1] - b[1])


def draw(parts: int, seed: int) -> Instance:
    """Return an instance; the same numbers give the same instance on any machine."""
    rng = random.Random(1000 * parts + seed)
    rows = max(2, -(-round(SPARE * parts) // RUNGS_A_ROW))
    width = -(-round(SPARE * parts) // rows)
    rungs = tuple((PITCH_MM * k, ROW_MM * row, row) for row in range(rows) for k in range(width))
    even = tuple(k for k, (_, _, row) in enumerate(rungs) if row % 2 == 0)
    kept = set(rng.sample(range(parts), min(round(KEPT_OFF * parts), len(even) - 1)))
    may = tuple(even if p in kept else tuple(range(len(rungs))) for p in range(parts))
    joined, pinned = [], []
    for side in (0, 1):
        order = list(range(parts))
        rng.shuffle(order)
        while order:
            p, weight = order.pop(), rng.choice(WEIGHTS)
            others = [q for q in order if not any({p, q} == {a, b} for a, b, *_ in joined)]  # no two in parallel
            near = sorted(others, key=lambda q: (abs(q - p), q))[:4]
            if near and rng.random() < TO_A_PART:
                q = rng.choice(near)
                order.remove(q)
                joined.append((p, q, side, weight))
            else:
                x, y = rng.uniform(0, PITCH_MM * width), rng.uniform(-GAP_MM, ROW_MM * rows)
                pinned.append((p, side, round(x, 1), round(y, 1), weight))
    return Instance(rungs, may, tuple(joined), tuple(pinned))


def board_of(drawn: Instance) -> Board:
    """Return the instance as the planner takes it."""
    points = [_point(f"{'AB'[s]}{k}", *drawn.lug(k, s), "lug", 2) for k in range(len(drawn.rungs)) for s in (0, 1)]
    points += [_point(f"P{k}", x, y, "pin", 1) for k, (_, _, x, y, _) in enumerate(drawn.pinned)]
    ends: dict[tuple[int, int], int] = {}
    for joint, (p, q, side, _) in enumerate(drawn.joined):
        ends[p, side] = ends[q, side] = joint
    for joint, (p, side, *_) in enumerate(drawn.pinned, start=len(drawn.joined)):
        ends[p, side] = joint
    count = len(drawn.joined) + len(drawn.pinned)
    xy = np.array([(t.x_mm, t.y_mm) for t in points])
    joint_at = np.array([FREE] * (2 * len(drawn.rungs)) + list(range(len(drawn.joined), count)), dtype=np.int64)
    weight = [w for *_, w in drawn.joined] + [w for *_, w in drawn.pinned]
    parts = tuple(
        Hanging(f"R{p}", ("1", "2"), (ends[p, 0], ends[p, 1]), BODY_MM, BODY_WIDE_MM, 0, is_bond=False)
        for p in range(len(drawn.may))
    )
    names = tuple(f"J{k}" for k in range(count))
    return Board(
        tuple(points), names, tuple(JointFacts(n, "B+", 0.0, 0.0) for n in names), joint_at,
        np.array([t.capacity for t in points], dtype=np.int64), np.abs(xy[:, None] - xy[None]).sum(axis=2),
        np.array(weight), parts, tuple(_seats(drawn, may) for may in drawn.may), {"air": np.zeros((count, count))},
        tuple(() for _ in points), (), tuple(() for _ in points), np.zeros((count, count)), (),
    )  # fmt: skip


def _point(key: str, x: float, y: float, kind: str, capacity: int) -> PlanTerminal:
    return PlanTerminal(key, key, kind, x, y, 11.0, "", capacity, key)


def _seats(drawn: Instance, may: tuple[int, ...]) -> Seats:
    rungs = np.array(may, dtype=np.int64)
    full = np.array([(*drawn.lug(k, 0), *drawn.lug(k, 1)) for k in may])
    rest = (GAP_MM - BODY_MM) / 2.0
    body = full + np.array([0.0, rest, 0.0, -rest])
    span, nothing = np.full(len(may), GAP_MM), np.zeros(len(may))
    return Seats(2 * rungs, 2 * rungs + 1, nothing, span, full, body, np.ones(len(may), dtype=np.int64))
