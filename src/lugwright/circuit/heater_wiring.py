"""What the wires of a heater chain leave at each socket."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np


@dataclass(frozen=True)
class Link:
    """A wire between two solder points."""

    a: str
    b: str
    ohm: float


@dataclass(frozen=True)
class Load:
    """A heater, half heater or lamp between two solder points."""

    name: str
    a: str
    b: str
    ohm: float


def load_volts_v(links: Sequence[Link], loads: Sequence[Load], feeds: Mapping[str, float]) -> dict[str, float]:
    """Return the volts at every load behind the resistance of its wires.

    Parameters
    ----------
    links : sequence of Link
        The wires. [ohm]
    loads : sequence of Load
        What they feed. [ohm]
    feeds : mapping of str to float
        Level of every solder point that is held: where the winding's leads come out. [V]

    Returns
    -------
    dict of str to float
        By load; those that no wire joins to a feed at both ends are left out. [V]

    Valid
    -----
    Direct current, or alternating current in phase: copper and heaters have no reactance to speak of.

    Source
    ------
    Ohm and Kirchhoff.
    """
    fed = _reached(links, feeds)
    wired = [load for load in loads if load.a in fed and load.b in fed]
    points = sorted(fed)
    row = {point: i for i, point in enumerate(points)}
    matrix, drive = np.zeros((len(points), len(points))), np.zeros(len(points))
    branches: list[Link | Load] = [*(link for link in links if link.a in fed), *wired]
    for branch in branches:
        a, b, siemens = row[branch.a], row[branch.b], 1.0 / branch.ohm
        matrix[a, a] += siemens
        matrix[b, b] += siemens
        matrix[a, b] -= siemens
        matrix[b, a] -= siemens
    for point, volts in feeds.items():
        matrix[row[point]] = 0.0
        matrix[row[point], row[point]] = 1.0
        drive[row[point]] = volts
    level = np.linalg.solve(matrix, drive)
    return {load.name: float(abs(level[row[load.a]] - level[row[load.b]])) for load in wired}


def _reached(links: Sequence[Link], feeds: Mapping[str, float]) -> set[str]:
    reached, waiting = set(feeds), list(feeds)
    while waiting:
        point = waiting.pop()
        for link in links:
            for near, far in ((link.a, link.b), (link.b, link.a)):
                if near == point and far not in reached:
                    reached.add(far)
                    waiting.append(far)
    return reached
