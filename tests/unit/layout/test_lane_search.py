"""The cheapest way over a grid, held against a plain search node by node."""

from __future__ import annotations

import heapq
from itertools import pairwise

import numpy as np
import pytest

from lugwright.layout.lane_search import Ints, Node, cheapest_way


def searched(cost_x: Ints, cost_y: Ints, start: Node, goal: Node, turn: int) -> int:
    """Return the cost of the cheapest way, found node by node (Dijkstra)."""
    queue: list[tuple[int, Node, int]] = [(0, start, 0)]
    done: set[tuple[Node, int]] = set()
    while queue:
        cost, here, came = heapq.heappop(queue)
        if here == goal:
            return cost
        if (here, came) in done:
            continue
        done.add((here, came))
        for step in ((1, 0), (-1, 0), (0, 1), (0, -1)):
            there = (here[0] + step[0], here[1] + step[1])
            if 0 <= there[0] < cost_x.shape[0] and 0 <= there[1] < cost_x.shape[1]:
                table, goes = (cost_x, 1) if step[0] else (cost_y, 2)
                bend = turn if came not in (0, goes) else 0
                heapq.heappush(queue, (cost + int(table[here] + table[there]) + bend, there, goes))
    raise AssertionError("no way")


def priced(cost_x: Ints, cost_y: Ints, way: list[Node], turn: int) -> int:
    total = turn * (len(way) - 2)
    for (x0, y0), (x1, y1) in pairwise(way):
        assert (x0 == x1) != (y0 == y1)
        table = cost_x if y0 == y1 else cost_y
        line = table[min(x0, x1) : max(x0, x1) + 1, min(y0, y1) : max(y0, y1) + 1].ravel()
        total += int((line[:-1] + line[1:]).sum())
    return total


@pytest.mark.parametrize("seed", range(40))
def test_the_way_costs_what_the_cheapest_one_costs(seed: int) -> None:
    rng = np.random.default_rng(seed)
    shape = tuple(int(n) for n in rng.integers(4, 34, 2))
    cost_x, cost_y = (rng.integers(4, 60, shape).astype(np.int32) for _ in range(2))
    if seed % 2:  # mostly free, with walls
        cost_x[cost_x < 50], cost_y[cost_y < 50] = 8, 8
    start, goal = ((int(rng.integers(shape[0])), int(rng.integers(shape[1]))) for _ in range(2))
    turn = int(rng.integers(5, 60))
    if start != goal:
        way = cheapest_way(cost_x, cost_y, start, goal, turn=turn, most_bends=60)
        assert (way[0], way[-1]) == (start, goal)
        assert priced(cost_x, cost_y, way, turn) == searched(cost_x, cost_y, start, goal, turn)


def test_a_way_to_where_one_stands_is_that_point() -> None:
    flat = np.full((5, 5), 8, np.int32)
    assert cheapest_way(flat, flat, (2, 2), (2, 2), turn=10) == [(2, 2)]


def test_a_dear_bend_makes_the_way_straight() -> None:
    flat = np.full((30, 30), 8, np.int32)
    assert len(cheapest_way(flat, flat, (2, 2), (25, 20), turn=10)) == 3
    hill = flat.copy()
    hill[10:15, :15] = 60
    assert len(cheapest_way(hill, hill, (2, 2), (25, 2), turn=10)) == 4
    assert len(cheapest_way(hill, hill, (2, 2), (25, 2), turn=100_000)) == 2
