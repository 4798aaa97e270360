"""Ruin and recreate inside annealing: take a few related parts out, put them back better, keep what pays."""

from __future__ import annotations

import math
import random
from collections.abc import Sequence

from lugwright.layout.board import FREE, Board
from lugwright.layout.search import Bench, Seat
from lugwright.layout.trees import Tree

SEED = 20
MOVES_PER_PART = 90
LEAST_MOVES = 400
REPAIR_ROUNDS = 4  # times the moves of a plain search, while a part is left over
HOT, COLD = 60.0, 1.0  # temperatures, in millimeters of ordinary wire
MOST_RUINED = 6
BLINK = 0.06  # chance that a seat is overlooked, which keeps the search from repeating itself
COMMON_JOINT = 12  # a joint with more parts than this relates nothing
NEAR_MM = 45.0
FORCED_SHARE = 0.5  # of the moves while a part is left over: seat it and let what is in its way move on
FORCED_TRIES = 6

Snapshot = tuple[list[Seat | None], list[list[int]], list[Tree]]


def fill(bench: Bench, parts: Sequence[int]) -> None:
    """Seat parts one after the other, those with fewest seats first, and wire everything."""
    board = bench.board
    for part in sorted(parts, key=lambda p: (len(board.seats[p].first), p)):
        seat = bench.best_seat(part)
        if seat is not None:
            bench.put(part, seat)
    for joint in range(len(board.joints)):
        bench.rewire(joint)


def improve(bench: Bench, share: float = 1.0) -> None:
    """Search for a cheaper plan; ends on the best one met. The moves are a share of what the build's size asks for."""
    moves = round(share * max(LEAST_MOVES, MOVES_PER_PART * len(bench.seats)))
    _anneal(bench, random.Random(SEED), moves, HOT)


def repair(bench: Bench, rounds: int = REPAIR_ROUNDS) -> None:
    """Search only until every part has a seat and every joint is whole."""
    moves = max(LEAST_MOVES, MOVES_PER_PART * len(bench.seats))
    for attempt in range(rounds):
        if not bench.unplaced() and not bench.broken():
            return
        _anneal(bench, random.Random(SEED + 1 + attempt), moves, HOT, until_whole=True)


def _anneal(bench: Bench, rng: random.Random, moves: int, hot: float, *, until_whole: bool = False) -> None:
    if not bench.seats:
        return
    related = _related(bench.board)
    now = best = bench.cost()
    kept = _snapshot(bench)
    for move in range(moves):
        if until_whole and not bench.unplaced() and not bench.broken():
            return
        heat = hot * (COLD / hot) ** (move / moves)
        before = _snapshot(bench)
        _ruin_and_recreate(bench, related, rng)
        after = bench.cost()
        if after < now - heat * math.log(max(rng.random(), 1e-12)):
            now = after
            if now < best - 1e-9:
                best, kept = now, _snapshot(bench)
        else:
            _restore(bench, before)
    _restore(bench, kept)


def _ruin_and_recreate(bench: Bench, related: Sequence[Sequence[int]], rng: random.Random) -> None:
    board = bench.board
    waiting = bench.unplaced()
    forced = _make_room(bench, rng.choice(waiting), rng) if waiting and rng.random() < FORCED_SHARE else None
    out = forced[1] if forced else _choose(bench, related, rng, waiting)
    joints = sorted({joint for part in (*out, *waiting) for joint in board.parts[part].joints} | set(bench.broken()))
    for part in out:
        bench.take(part)
    for joint in joints:
        if bench.ties[joint]:
            bench.drop_ties(joint)
    order = [*out, *waiting]
    if forced and bench.seat_allowed(forced[0], forced[2]):
        lying = bench.lay(forced[0], forced[2])
        layer = bench.free_layer(forced[0], forced[2], lying)
        if layer:
            bench.put(forced[0], Seat(forced[2], layer, lying))
            order.remove(forced[0])
    rng.shuffle(order)
    if rng.random() < 0.5:
        order.sort(key=lambda part: len(board.seats[part].first))
    for part in order:
        seat = bench.best_seat(part, rng, BLINK)
        if seat is not None:
            bench.put(part, seat)
    for joint in joints:
        bench.rewire(joint)


def _make_room(bench: Bench, part: int, rng: random.Random) -> tuple[int, list[int], int] | None:
    """Return (part, parts that have to leave, row) for the one of some random seats that costs fewest parts."""
    seats = bench.board.seats[part]
    best: tuple[int, list[int], int] | None = None
    for _ in range(FORCED_TRIES):
        row = rng.randrange(len(seats.first))
        lying = bench.lay(part, row)
        out = {other for other, seat in bench.overlapped(part, row, lying) if seat.layer == int(seats.min_layer[row])}
        for end, joint in zip(lying.ends, bench.board.parts[part].joints, strict=True):
            if int(bench.joint_at[end]) not in (joint, FREE) or bench.room[end] < 1:
                out |= {other for other, seat in enumerate(bench.seats) if seat is not None and end in seat.lying.ends}
        if best is None or len(out) < len(best[1]):
            best = (part, sorted(out), row)
    return best


def _choose(bench: Bench, related: Sequence[Sequence[int]], rng: random.Random, waiting: list[int]) -> list[int]:
    """Return a few seated parts near each other or on a common joint; near a part left over when there is one."""
    seated = [part for part, seat in enumerate(bench.seats) if seat is not None]
    if not seated:
        return []
    first = rng.choice(waiting) if waiting and rng.random() < 0.7 else rng.choice(seated)
    wanted = rng.randint(2, MOST_RUINED)
    pool = [part for part in related[first] if bench.seats[part] is not None]
    seat = bench.seats[first]
    if seat is not None:
        pool += [part for part in seated if part != first and _near(seat, bench.seats[part])]
    elif not pool or rng.random() < 0.5:
        pool += _in_reach(bench, first, seated)
    pool = list(dict.fromkeys(pool)) or seated
    chosen = rng.sample(pool, min(wanted, len(pool)))
    return sorted({*chosen, *([first] if seat is not None else [])})


def _near(a: Seat, b: Seat | None) -> bool:
    if b is None:
        return False
    return math.hypot(a.lying.body[0] - b.lying.body[0], a.lying.body[1] - b.lying.body[1]) < NEAR_MM


def _in_reach(bench: Bench, part: int, seated: list[int]) -> list[int]:
    """Return seated parts whose lugs the waiting part could use."""
    seats = bench.board.seats[part]
    wanted = {int(t) for t in seats.first} | {int(t) for t in seats.second}
    return [p for p in seated if (s := bench.seats[p]) is not None and not wanted.isdisjoint(s.lying.ends)]


def _related(board: Board) -> list[list[int]]:
    """Return for every part the others that share a joint few parts share."""
    at: dict[int, list[int]] = {}
    for index, part in enumerate(board.parts):
        for joint in part.joints:
            at.setdefault(joint, []).append(index)
    small = {joint: parts for joint, parts in at.items() if len(parts) <= COMMON_JOINT}
    return [
        sorted({other for joint in part.joints for other in small.get(joint, ()) if other != index})
        for index, part in enumerate(board.parts)
    ]


def _snapshot(bench: Bench) -> Snapshot:
    return list(bench.seats), [list(ties) for ties in bench.ties], list(bench.trees)


def _restore(bench: Bench, snapshot: Snapshot) -> None:
    seats, ties, trees = snapshot
    for part, seat in enumerate(seats):
        if bench.seats[part] is not seat and bench.seats[part] is not None:
            bench.take(part)
    for joint, lugs in enumerate(ties):
        if bench.ties[joint] != lugs:
            bench.drop_ties(joint)
    for part, seat in enumerate(seats):
        if bench.seats[part] is not seat and seat is not None:
            bench.put(part, seat)
    for joint, lugs in enumerate(ties):
        if bench.ties[joint] != lugs:
            for lug in lugs:
                bench.add_tie(joint, lug)
    bench.trees = list(trees)
