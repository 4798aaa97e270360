"""Planning again from a plan that is there: everything that still fits stays, and as little as possible moves."""

from __future__ import annotations

from collections.abc import Mapping
from typing import NamedTuple

from lugwright.layout.anneal import fill, repair
from lugwright.layout.board import FREE, MAX_LAYERS, Board
from lugwright.layout.results import Plan
from lugwright.layout.search import Bench, Seat, Tree

ROWS_TRIED = 400  # seats of a part that finds none, those that push fewest others out first
MOST_PUSHED = 4  # parts that may move for one, before the whole plan is searched again


def resettle(bench: Bench, previous: Plan) -> None:
    """Put back everything of an earlier plan that still fits, then seat the rest, moving others only where it must."""
    homes = _put_back(bench, previous)
    fill(bench, [part for part, seat in enumerate(bench.seats) if seat is None])
    for part in bench.unplaced():
        _push_in(bench, part, homes)
    if bench.unplaced() or bench.broken():
        repair(bench)
        _send_home(bench, homes)


def _put_back(bench: Bench, previous: Plan) -> dict[int, Seat]:
    """Return the seats taken again, by part."""
    board = bench.board
    place = {t.key: index for index, t in enumerate(board.terminals)}
    ends = {seat.part: (seat.terminals, seat.layer) for seat in previous.seats}
    ends |= {wire.bond: (wire.terminals, 1) for wire in previous.wires if wire.bond}
    for joint, lug in _old_ties(board, previous, place):
        if bench.may_carry(lug, joint):
            bench.add_tie(joint, lug)
    homes = {}
    # Soldered parts have one seat alone; nobody may take it from them.
    for part in sorted(range(len(board.parts)), key=lambda p: (len(board.seats[p].first) > 1, p)):
        old = ends.get(board.parts[part].name)
        seat = None if old is None else bench.seat_between(part, *old)
        if seat is not None:
            homes[part] = _on_a_free_layer(bench, part, seat)
            bench.put(part, homes[part])
    return homes


def _on_a_free_layer(bench: Bench, part: int, seat: Seat) -> Seat:
    """Return the seat on its old layer, or on the lowest free one when something larger lies there now."""
    taken = {other.layer for _, other in bench.overlapped(part, seat.row, seat.lying)}
    return seat._replace(layer=bench.free_layer(part, seat.row)) if seat.layer in taken else seat


def _old_ties(board: Board, previous: Plan, place: Mapping[str, int]) -> list[tuple[int, int]]:
    """Return (joint, lug) of lugs that carried wires alone."""
    number = {name: index for index, name in enumerate(board.joints)}
    used = {key for seat in previous.seats for key in seat.terminals}
    wired = {key for wire in previous.wires for key in wire.terminals}  # not what was a foot, and is a lug now
    return [
        (number[t.joint], place[t.key])
        for t in previous.terminals.values()
        if t.key in place and t.joint in number and t.key in wired - used and board.terminals[place[t.key]].joint == ""
    ]


class _State(NamedTuple):
    """Everything that a trial may change."""

    seats: list[Seat | None]
    ties: list[list[int]]
    trees: list[Tree]


class _Try(NamedTuple):
    """A seat for a part, and the parts that leave theirs for it."""

    row: int
    pushed: tuple[int, ...]


def _push_in(bench: Bench, part: int, homes: Mapping[int, Seat]) -> None:
    """Seat a part where fewest others have to move, if they find other seats; of equals, the cheapest."""
    best: tuple[tuple[int, float], _State] | None = None
    before = _as_it_is(bench)
    for each in _tries(bench, part):
        if best is not None and len(each.pushed) > best[0][0]:
            break
        if _tried(bench, part, each):
            now = bench.seats
            moved = sum(now[p] != seat for p, seat in homes.items())
            price = moved, bench.cost()
            if best is None or price < best[0]:
                best = price, _as_it_is(bench)
        _make_it(bench, before)
    if best is not None:
        _make_it(bench, best[1])


def _tries(bench: Bench, part: int) -> list[_Try]:
    """Return the seats worth trying, those that push fewest out first."""
    found = []
    for row in range(len(bench.board.seats[part].first)):
        pushed = _in_the_way(bench, part, row)
        if pushed is not None and len(pushed) <= MOST_PUSHED:
            found.append(_Try(row, tuple(sorted(pushed))))
    cost = bench.board.seats[part].cost
    return sorted(found, key=lambda t: (len(t.pushed), float(cost[t.row]), t.row))[:ROWS_TRIED]


def _in_the_way(bench: Bench, part: int, row: int) -> set[int] | None:
    """Return the parts that have to leave for a seat; None where something stands that cannot."""
    board = bench.board
    seats, joints = board.seats[part], board.parts[part].joints
    pushed: set[int] = set()
    for end, joint in zip((int(seats.first[row]), int(seats.second[row])), joints, strict=True):
        here = {p for p, seat in enumerate(bench.seats) if seat is not None and end in seat.lying.ends}
        if int(bench.joint_at[end]) not in (joint, FREE):
            if board.joint_at[end] != FREE:
                return None
            pushed |= here
        elif bench.room[end] < 1:
            pushed |= set(sorted(here, key=lambda p: -len(board.seats[p].first))[:1])
            if not here:
                return None
    lying = bench.lay(part, row)
    if not bench.free_layer(part, row):
        over = [(other, seat) for other, seat in bench.overlapped(part, row, lying) if other not in pushed]
        layers = range(int(seats.min_layer[row]), MAX_LAYERS + 1)
        pushed |= min(({o for o, seat in over if seat.layer == layer} for layer in layers), key=len)
    return None if any(len(board.seats[p].first) < 2 for p in pushed) else pushed


def _tried(bench: Bench, part: int, each: _Try) -> bool:
    """Push one part in and seat the pushed ones again; return whether all have seats and every joint is whole."""
    for other in each.pushed:
        bench.take(other)
    for joint in bench.board.parts[part].joints:
        bench.drop_ties(joint)
    if not bench.seat_allowed(part, each.row):
        return False
    lying = bench.lay(part, each.row)
    layer = bench.free_layer(part, each.row)
    if not layer:
        return False
    bench.put(part, Seat(each.row, layer, lying))
    for other in sorted(each.pushed, key=lambda p: (len(bench.board.seats[p].first), p)):
        if not bench.put_best(other):
            return False
    _rewire_all(bench)
    return not bench.broken()


def _as_it_is(bench: Bench) -> _State:
    return _State(bench.seats, bench.ties, bench.trees)


def _make_it(bench: Bench, state: _State) -> None:
    """Seat everything, and give every joint its lugs for wires, as they were."""
    other = [part for part, (now, seat) in enumerate(zip(bench.seats, state.seats, strict=True)) if now != seat]
    retied = [joint for joint, (now, lugs) in enumerate(zip(bench.ties, state.ties, strict=True)) if now != lugs]
    for part in other:
        bench.take(part)
    for joint in retied:
        bench.drop_ties(joint)
    for part in other:
        seat = state.seats[part]
        if seat is not None:
            bench.put(part, seat)
    for joint in retied:
        for lug in state.ties[joint]:
            bench.add_tie(joint, lug)
    for joint, (now, tree) in enumerate(zip(bench.trees, state.trees, strict=True)):
        if now != tree:
            bench.set_tree(joint, tree)


def _rewire_all(bench: Bench) -> None:
    """Make the wires of every joint anew."""
    for joint in range(len(bench.board.joints)):
        bench.rewire(joint)


def _send_home(bench: Bench, homes: Mapping[int, Seat]) -> None:
    """Let parts that a search has moved without need go back where they were."""
    went = True
    while went:
        went = False
        for part, home in homes.items():
            now = bench.seats[part]
            if now is None or now == home:
                continue
            before = _as_it_is(bench)
            bench.take(part)
            if bench.seat_allowed(part, home.row) and bench.free_layer(part, home.row) == home.layer:
                bench.put(part, home)
                _rewire_all(bench)
                if not bench.broken():
                    went = True
                    continue
            _make_it(bench, before)
