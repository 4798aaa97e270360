"""A star: every return of its joint lands there with its own wire, in stage order around the ring."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from lugwright.buildfile.build import Build
from lugwright.layout.search import Bench

Edge = tuple[int, int]


def each_to_its_star(build: Build, bench: Bench, trees: Sequence[tuple[Edge, ...]]) -> list[tuple[Edge, ...]]:
    """Return the wires of every joint, those of a star's joint from each terminal straight to a lug of the star.

    Where the star has not room for all of them the wires stay as they were searched.
    """
    joints, found = bench.board.joints, list(trees)
    for star in build.stars:
        lugs = [index for index, t in enumerate(bench.board.terminals) if t.owner == star.name]
        if star.joint in joints and lugs:
            joint = joints.index(star.joint)
            found[joint] = _starred(build, bench, found[joint], lugs, joint)
    return found


def _starred(build: Build, bench: Bench, edges: Sequence[Edge], lugs: Sequence[int], joint: int) -> tuple[Edge, ...]:
    outer = _outer_ends(edges, set(lugs))
    free = _free(bench, lugs)
    ties = set(bench.ties[joint])  # lugs for wires alone: of no use where each terminal has a wire of its own
    near = [edge for edge in edges if _on_one_part(bench, edge)]
    own = [edge for edge in edges if edge not in near]
    order = [edge for edge in own if outer[edge] not in ties]
    if len(free) < len(order):
        return tuple(edges)
    order.sort(key=lambda edge: (_stage(build, bench, outer[edge]), outer[edge]))
    spread = len(free) / max(1, len(order))  # around the whole ring where it has more room than returns
    landed = [(outer[edge], free[int(count * spread)]) for count, edge in enumerate(order)]
    return (*near, *landed)


def _on_one_part(bench: Bench, edge: Edge) -> bool:
    """Return whether a wire joins two lugs of one jack, pot or switch: they have one return between them."""
    one, two = (bench.board.terminals[end] for end in edge)
    return one.owner == two.owner and one.kind == two.kind and one.kind in ("jack", "pot", "panel")


def _free(bench: Bench, lugs: Sequence[int]) -> list[int]:
    """Return the lugs of a star, each as often as it takes another lead."""
    room = Counter({lug: int(bench.board.capacity[lug]) for lug in lugs})
    room.subtract(end for seat in bench.seats if seat is not None for end in seat.lying.ends if end in room)
    room.subtract(end for _, *ends in bench.chain for end in ends if end in room)
    return [lug for lug in lugs for _ in range(max(0, room[lug]))]


def _outer_ends(edges: Sequence[Edge], lugs: set[int]) -> dict[Edge, int]:
    """Return for each wire of a tree its end that is farther from the star, wire by wire."""
    reached, left = set(lugs), list(edges)
    found: dict[Edge, int] = {}
    while left:
        here = next((edge for edge in left if set(edge) & reached), left[0])
        left.remove(here)
        found[here] = here[0] if here[0] not in reached else here[1]
        reached |= set(here)
    return found


def _stage(build: Build, bench: Bench, terminal: int) -> int:
    """Return the first stage that has something on a terminal."""
    number = {name: index for index, stage in enumerate(build.stages) for name in stage.parts}
    there = [
        part.name
        for part, seat in zip(bench.board.parts, bench.seats, strict=True)
        if seat is not None and terminal in seat.lying.ends
    ]
    owner = bench.board.terminals[terminal].owner
    return min((number[name] for name in (owner, *there) if name in number), default=len(build.stages))
