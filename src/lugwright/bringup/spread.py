"""How far readings move with real parts: a thousand drawn builds, what moves them, the worst corners.

Builds are drawn in blocks of a fixed size, so that the same seed gives the same numbers wherever the
blocks are solved.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any, Protocol

import numpy as np

from lugwright.bringup.good_builds import Array, Draws, part_factors, running_factors
from lugwright.bringup.results import Mover, RatingChance, Spread, SpreadRow
from lugwright.bringup.spread_causes import Cause, causes_of, one_at_a_time
from lugwright.bringup.spread_corners import worst_corners
from lugwright.bringup.spread_readings import spread_readings
from lugwright.buildfile.build import Build
from lugwright.circuit.network import Circuit
from lugwright.circuit.operating import Idle
from lugwright.circuit.rules import AT_IDLE, judged, ratings
from lugwright.circuit.rules.case import Case
from lugwright.solve.idle import solve_column
from lugwright.solve.many import ManyIdles, idle_of, solve_many
from lugwright.solve.readout import read_idle
from lugwright.solve.solved import Solved
from lugwright.solve.system import System

DRAWS, SEED = 1000, 1
RATED_DRAWS = 100
BLOCK, RATED_BLOCK = 250, 50
PERCENT = (0.5, 5.0, 50.0, 95.0, 99.5)
MOVERS = 5
LEFT_OUT = (
    "what changes inside the power transformer (turns, copper)",
    "capacitors: at idle they carry no current",
)


class Workers(Protocol):
    """Something that calls a function on many things, elsewhere or here, and keeps their order."""

    def __call__(self, function: Callable[[Any], Any], work: Sequence[Any], /) -> Sequence[Any]:
        """Return the answers in order."""
        ...


def here(function: Callable[[Any], Any], work: Sequence[Any], /) -> Sequence[Any]:
    """Call the function on one thing after the other in this process."""
    return [function(one) for one in work]


@dataclass(frozen=True)
class _Block:
    """Some builds of a study, everything needed to solve them on another machine."""

    circuit: Circuit
    factors: Draws
    build: Build | None = None  # with it, ratings are told instead of readings
    cold: Idle | None = None


def spread(
    build: Build,
    circuit: Circuit,
    solved: Solved,
    cold: Idle,
    *,
    draws: int = DRAWS,
    seed: int = SEED,
    workers: Workers = here,
) -> Spread:
    """Return how far readings and ratings move among good builds.

    Parameters
    ----------
    build, circuit : Build, Circuit
        The build and its circuit.
    solved : Solved
        Its idle, solved whole.
    cold : Idle
        The idle with cold tubes, for the ratings.
    draws, seed : int
        How many builds, and the seed of their draws; the same pair gives the same numbers.
    workers : Workers
        Where the blocks of builds are solved.

    Returns
    -------
    Spread
        Percentiles, movers, worst corners, chances of exceeding a rating.

    Raises
    ------
    NoIdlePoint
        A drawn build has no certified idle.

    Valid
    -----
    Resistors, pots, tube emission and mains evenly within their tolerance, independent of one another.

    Source
    ------
    Monte Carlo over `lugwright.solve.many.solve_many`; tolerances from the build file, tube spreads
    from the catalogue.
    """
    everything = running_factors(build, circuit, count=draws, seed=seed)
    rated = part_factors(build, count=min(draws, RATED_DRAWS), seed=seed)
    rated = {**rated, **{k: f[: min(draws, RATED_DRAWS)] for k, f in everything.items() if k[1] == "on"}}
    work = [_Block(circuit, part) for part in _blocks(everything, BLOCK)]
    work += [_Block(circuit, part, build, cold) for part in _blocks(rated, RATED_BLOCK)]
    answers = workers(solved_block, work)
    count = len(work) - len(list(_blocks(rated, RATED_BLOCK)))
    causes = causes_of(build, circuit)
    table = np.concatenate(answers[:count], axis=1)
    rows = tuple(_rows(solved, table, causes))
    corners = tuple(worst_corners(solved, causes))
    chances = tuple(_chances(build, read_idle(solved), cold, np.concatenate(answers[count:], axis=1)))
    return Spread(draws, seed, min(draws, RATED_DRAWS), rows, corners, chances, LEFT_OUT)


def solved_block(block: _Block) -> Array:
    """Return the readings (reading, build) of a block, or the shares of its ratings (rating, build)."""
    solved = _base(block.circuit)
    many = solve_many(solved, block.factors)
    if block.build is None or block.cold is None:
        return np.stack([np.broadcast_to(r.of(many), many.count) for r in spread_readings(solved.system)])
    return _rated(block.build, many, read_idle(solved), block.cold)


@lru_cache(maxsize=2)
def _base(circuit: Circuit) -> Solved:
    """Return the circuit solved as drawn; a worker asks once for all its blocks."""
    system = System(circuit)
    return solve_column(system, system.values(()))


def _rated(build: Build, many: ManyIdles, nominal: Idle, cold: Idle) -> Array:
    case = Case(build, nominal, cold)
    columns = [
        [r.value for r in judged(case.with_idle(idle_of(many, k, nominal)), AT_IDLE)[0]] for k in range(many.count)
    ]
    return np.array(columns, dtype=float).T


def _blocks(factors: Draws, size: int) -> Iterator[Draws]:
    count = len(next(iter(factors.values())))
    for first in range(0, count, size):
        yield {key: column[first : first + size] for key, column in factors.items()}


def _rows(solved: Solved, table: Array, causes: Sequence[Cause]) -> Iterator[SpreadRow]:
    readings = spread_readings(solved.system)
    nominal = solve_many(solved, {})
    moved = solve_many(solved, one_at_a_time(causes))
    for reading, column in zip(readings, table, strict=True):
        expected = float(np.broadcast_to(reading.of(nominal), 1)[0])
        moves = np.broadcast_to(reading.of(moved), len(causes)) - expected
        lowest, low, middle, high, highest = (float(np.percentile(column, p)) for p in PERCENT)
        movers = _movers(causes, moves)
        yield SpreadRow(reading.name, reading.unit, expected, lowest, low, middle, high, highest, movers)


def _movers(causes: Sequence[Cause], moves: Array) -> tuple[Mover, ...]:
    variance = moves * moves
    whole = float(variance.sum()) or 1.0
    order = sorted(range(len(causes)), key=lambda k: (-variance[k], causes[k].part))[:MOVERS]
    return tuple(
        Mover(causes[k].part, causes[k].extent, float(moves[k]), float(variance[k] / whole))
        for k in order
        if variance[k] > 1e-6 * whole
    )


def _chances(build: Build, nominal: Idle, cold: Idle, values: Array) -> Iterator[RatingChance]:
    """Yield the ratings that at least one drawn build exceeds, the likeliest first."""
    rows, _ = ratings(build, nominal, cold, AT_IDLE)
    found = []
    for rating, drawn in zip(rows, values, strict=True):
        beyond = drawn < rating.limit if rating.at_least else drawn > rating.limit
        if beyond.any():
            worst = drawn.min() if rating.at_least else drawn.max()
            found.append(
                RatingChance(rating.rule, rating.part, rating.what, rating.unit, rating.limit, rating.value,
                             float(worst), float(beyond.mean()))
            )  # fmt: skip
    yield from sorted(found, key=lambda c: (-c.chance, c.part, c.what))
