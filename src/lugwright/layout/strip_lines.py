"""Lines on which strips could stand, all of the free area covered, and the bus between two of them."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from lugwright.buildfile.build import Build, Bus, Can, OpenBus, Placement, Strip, Tube
from lugwright.layout.results import PlanTerminal
from lugwright.layout.strip_space import BUS_END_MM, ROW_MM, Space, along_bus, around_row

LEAST_RUN = 3  # lugs; a shorter strip is not worth its screw
STEP_MM = 1.0
BUS_CLEAR_MM = 8.0  # bus to whatever lugs keep away from, less what a lug needs besides
BUS_REACH_MM = 25.0  # the bus goes on so far beyond the outermost socket or can

Point = tuple[float, float]


@dataclass(frozen=True)
class Run:
    """Places for lugs, one pitch apart, in a straight line: ``turn`` 0 to the right, 90 toward the front."""

    at: Point
    turn: int
    count: int
    pitch: float

    def site(self, index: int) -> Point:
        """Return where a lug of the run stands."""
        step = index * self.pitch
        return (self.at[0] + step, self.at[1]) if self.turn == 0 else (self.at[0], self.at[1] + step)

    @property
    def sites(self) -> list[Point]:
        """Return all its places."""
        return [self.site(index) for index in range(self.count)]


@dataclass(frozen=True)
class Pattern:
    """Parallel lines of strips: the way they run, where the first lies, how far apart they are."""

    turn: int
    first: float
    spacing: float


@dataclass(frozen=True)
class Lines:
    """Everything a pattern gives: runs of places, and the buses between them."""

    runs: tuple[Run, ...]
    buses: tuple[Bus, ...]


def lines_of(
    build: Build, space: Space, terminals: Mapping[str, PlanTerminal], pattern: Pattern, pitch_mm: float, most: int
) -> Lines:
    """Return the runs of a pattern, short ones across it where it leaves room, and the open buses.

    ``most`` is the number of places for lugs that are looked at.
    """
    levels = _levels(space, pattern)
    buses = buses_of(build, space, terminals, pattern)
    room = space.without([shape for bus in buses for shape in along_bus(bus.points)])
    runs: list[Run] = []
    for level in levels:
        runs += runs_along(room, pattern.turn, level, pitch_mm)
    across = 90 - pattern.turn
    far = space.width if across else space.depth
    level = ROW_MM
    while level < far - ROW_MM:
        taken = room.without([shape for run in runs for shape in around_row(run.sites)])
        found = runs_along(taken, across, level, pitch_mm)
        runs += found
        level += ROW_MM if found else 4.0 * STEP_MM
    near = _nearest(runs, [(t.x_mm, t.y_mm) for t in terminals.values() if t.capacity and t.kind != "bolt"], most)
    return Lines(tuple(sorted(near, key=lambda r: (r.at[1], r.at[0], r.turn))), buses)


def _nearest(runs: list[Run], points: Sequence[Point], most: int) -> list[Run]:
    """Return what of the runs lies nearest to something that is wired, no more places than a search can look at."""
    places = [(run, k) for run in runs for k in range(run.count)]
    if len(places) <= most or not points:
        return runs
    sites, at = np.array([run.site(k) for run, k in places]), np.array(points)
    apart = np.array([float(np.abs(at - site).sum(axis=1).min()) for site in sites])
    kept = {places[index] for index in np.argsort(apart, kind="stable")[:most].tolist()}
    return [piece for run in runs for piece in _pieces(run, [(run, k) in kept for k in range(run.count)])]


def _pieces(run: Run, kept: list[bool]) -> Iterator[Run]:
    """Yield the stretches of a run whose places are kept, short ones left out."""
    start = 0
    for k, keep in enumerate([*kept, False]):
        if not keep:
            if k - start >= LEAST_RUN:
                yield Run(run.site(start), run.turn, k - start, run.pitch)
            start = k + 1


def buses_of(build: Build, space: Space, terminals: Mapping[str, PlanTerminal], pattern: Pattern) -> tuple[Bus, ...]:
    """Return the open buses that find a line halfway between two of a pattern's."""
    return tuple(_open_buses(build, space, terminals, pattern, _levels(space, pattern)))


def _levels(space: Space, pattern: Pattern) -> list[float]:
    far = space.depth if pattern.turn == 0 else space.width
    first = pattern.first % pattern.spacing
    return [first + k * pattern.spacing for k in range(int((far - first) / pattern.spacing) + 1)]


def runs_along(space: Space, turn: int, level: float, pitch_mm: float) -> list[Run]:
    """Return the longest runs one line has room for, from its beginning to its end."""
    far = space.width if turn == 0 else space.depth
    found: list[Run] = []
    start = 0.0
    while start < far:
        count = 0
        while _lug_at(space, turn, start + count * pitch_mm, level):
            count += 1
        if count >= LEAST_RUN:
            found.append(Run((start, level) if turn == 0 else (level, start), turn, count, pitch_mm))
            start += count * pitch_mm
        else:
            start += STEP_MM
    return found


def _lug_at(space: Space, turn: int, along: float, level: float) -> bool:
    return space.lug_may_stand(along, level) if turn == 0 else space.lug_may_stand(level, along)


def _open_buses(
    build: Build, space: Space, terminals: Mapping[str, PlanTerminal], pattern: Pattern, levels: list[float]
) -> Iterator[Bus]:
    """Yield each open bus on the best line halfway between two levels."""
    middles = [(a + b) / 2.0 for a, b in itertools.pairwise(levels)]
    for wanted in build.left_open.buses:
        points = [(t.x_mm, t.y_mm) for t in terminals.values() if t.joint == wanted.joint]
        points += [placement.at for placement in _served(build)]
        rated = sorted((_bus_price(bus, points), middle, bus.points) for middle in middles
                       for bus in _bus_on(build, space, pattern.turn, middle, wanted))  # fmt: skip
        if rated:
            _, middle, ends = rated[0]
            middles.remove(middle)
            yield Bus(wanted.name, wanted.joint, ends, wanted.height_mm)


def _bus_on(build: Build, space: Space, turn: int, level: float, wanted: OpenBus) -> Iterator[Bus]:
    """Yield the longest bus one line has room for between the outermost sockets and cans."""
    ends = [placement.at[0 if turn == 0 else 1] for placement in _served(build)]
    if not ends:
        return
    far = space.width if turn == 0 else space.depth
    low, high = max(BUS_END_MM, min(ends) - 2.0 * BUS_REACH_MM), min(far - BUS_END_MM, max(ends) + BUS_REACH_MM)
    best: tuple[float, float] = (0.0, 0.0)
    start = along = math.ceil(low)
    while along <= high:
        if not _lug_at(space, turn, along, level):
            start = along + 1
        elif along - start > best[1] - best[0]:
            best = (float(start), float(along))
        along += 1
    if best[1] - best[0] >= 2.0 * ROW_MM:
        points = tuple((along, level) if turn == 0 else (level, along) for along in best)
        yield Bus(wanted.name, wanted.joint, points, wanted.height_mm)


def _served(build: Build) -> list[Placement]:
    """Return the sockets and cans, in whose neighborhood a bus belongs."""
    return [
        placement
        for name, placement in build.placements.items()
        if isinstance(build.part(name).values, Tube | Can) and placement.panel == "plate"
    ]


def _bus_price(bus: Bus, points: Sequence[Point]) -> float:
    """Return how far everything that the bus grounds stands from it, all together."""
    (x0, y0), (x1, y1) = bus.points[0], bus.points[-1]
    return sum(math.hypot(x - min(max(x, x0), x1), y - min(max(y, y0), y1)) for x, y in points)


def with_lines(build: Build, lines: Lines, strip_type: str) -> Build:
    """Return a build with a strip on every run, feet left out, for a first trial."""
    strips = tuple(
        Strip(f"~{index}", run.count, (), run.at, float(run.turn), strip_type) for index, run in enumerate(lines.runs)
    )
    return replace(build, strips=(*build.strips, *strips), buses=(*build.buses, *lines.buses))
