"""The cheapest way over a grid whose cells cost differently along x and along y, with a price on turns.

Lines are swept whole: what it costs to reach every node with one bend more follows from what it costs with one bend
less by running minima along all rows at once, so that a way with few bends takes a few passes over the grid. Costs are
whole numbers: the same grid gives the same way on any machine.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

Ints = NDArray[np.int32]
Node = tuple[int, int]
FAR = 1_000_000_000
MOST_BENDS = 8


class _Reached(NamedTuple):
    """What it costs to come to every node along x, and along y."""

    along_x: Ints
    along_y: Ints


def cheapest_way(
    cost_x: Ints, cost_y: Ints, start: Node, goal: Node, *, turn: int, most_bends: int = MOST_BENDS
) -> list[Node]:
    """Return the nodes where the cheapest way begins, turns and ends.

    Parameters
    ----------
    cost_x, cost_y : array of int
        Half of what it costs to pass a node along x, and along y; (x, y). [-]
    start, goal : (int, int)
        Nodes. [-]
    turn : int
        Cost of a bend. [-]
    most_bends : int
        Most bends of a way. [-]

    Returns
    -------
    list of (int, int)
        Nodes, start and goal among them. [-]

    Source
    ------
    Derived below: to come to x on a row from x' costs the difference of running sums there; the least over all x' is
    a running minimum from the left and one from the right.
    """
    run_x, run_y = _running(cost_x), np.ascontiguousarray(_running(np.ascontiguousarray(cost_y.T)).T)
    first = _Reached(np.full_like(run_x, FAR), np.full_like(run_y, FAR))
    first.along_x[:, start[1]] = np.abs(run_x[:, start[1]] - run_x[start[0], start[1]])
    first.along_y[start[0], :] = np.abs(run_y[start[0], :] - run_y[start[0], start[1]])
    rounds = [first]
    for _ in range(most_bends):
        last = rounds[-1]
        along_x = np.minimum(last.along_x, _swept(last.along_y, run_x) + turn)
        along_y = np.minimum(last.along_y, _swept(last.along_x.T, run_y.T).T + turn)
        best = min(int(along_x[goal]), int(along_y[goal]))
        rounds.append(_Reached(along_x, along_y))
        # Done when no node that became cheaper is cheaper than the goal: nothing can come of it any more.
        if not ((along_x < np.minimum(last.along_x, best)).any() or (along_y < np.minimum(last.along_y, best)).any()):
            break
    return _trail(rounds, run_x, run_y, start, goal, turn)


def _running(cost: Ints) -> Ints:
    """Return the running sum of the steps along the first axis; a step costs half of either node."""
    found = np.zeros_like(cost)
    np.cumsum(cost[:-1] + cost[1:], axis=0, out=found[1:])
    return found


def _swept(reached: Ints, run: Ints) -> Ints:
    """Return the least cost of coming to each node along the first axis from any node of its line."""
    ahead = np.minimum.accumulate(reached - run, axis=0) + run
    back = np.minimum.accumulate((reached + run)[::-1], axis=0)[::-1] - run
    found: Ints = np.minimum(ahead, back)
    return found


def _trail(rounds: list[_Reached], run_x: Ints, run_y: Ints, start: Node, goal: Node, turn: int) -> list[Node]:
    """Return the way, followed back from the goal round by round."""
    index, (x, y) = len(rounds) - 1, goal
    level = bool(rounds[index].along_x[goal] <= rounds[index].along_y[goal])
    nodes = [goal]
    while index > 0:
        here, before = rounds[index], rounds[index - 1]
        index -= 1
        value = int(here.along_x[x, y] if level else here.along_y[x, y])
        if value == int(before.along_x[x, y] if level else before.along_y[x, y]):
            continue
        line = (
            before.along_y[:, y] + np.abs(run_x[:, y] - run_x[x, y])
            if level
            else (before.along_x[x, :] + np.abs(run_y[x, :] - run_y[x, y]))
        )
        at = int(np.flatnonzero(line + turn == value)[0])
        x, y = (at, y) if level else (x, at)
        level = not level
        nodes.append((x, y))
    nodes.append(start)
    return _without_repeats(nodes[::-1])


def _without_repeats(nodes: list[Node]) -> list[Node]:
    """Return the nodes without repeats and without those in the middle of a straight piece."""
    found: list[Node] = []
    for node in nodes:
        if found and node == found[-1]:
            continue
        if len(found) > 1 and (found[-2][0] == found[-1][0] == node[0] or found[-2][1] == found[-1][1] == node[1]):
            found.pop()
        found.append(node)
    return found
