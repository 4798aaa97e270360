"""The heater chain: from the transformer to the nearest tube, on from tube to tube, the input tube last."""

from __future__ import annotations

import itertools
from collections.abc import Mapping
from dataclasses import dataclass

from lugwright.buildfile.build import Build, Part, Tube
from lugwright.layout.joint_classes import heater_pairs, heater_sides
from lugwright.layout.results import PlanTerminal

MOST_TUBES_TRIED = 7  # every order of so many tubes is tried; beyond that the nearest comes next


@dataclass(frozen=True)
class ChainWire:
    """One wire of a chain; two with the same ``twist`` make a twisted pair."""

    joint: str
    terminals: tuple[str, str]
    twist: str


def heater_chains(build: Build, terminals: Mapping[str, PlanTerminal]) -> list[ChainWire]:
    """Return the wires of every heater chain of the build."""
    wires: list[ChainWire] = []
    for pair in heater_pairs(build):
        tubes = [p for p in build.parts if isinstance(p.values, Tube) and _sides(p) == pair]
        exits = _exits(build, terminals, pair)
        order = _order(build, tubes, terminals, exits)
        wires += _chain(pair, order, terminals)
        if exits and _first_has_room(build, pair, order, terminals):
            wires += _feed(pair, order[0], exits)
    return wires


def _sides(part: Part) -> tuple[str, str] | None:
    joints = sorted({t.joint for t in heater_sides(part)})
    return (joints[0], joints[1]) if joints else None


def _exits(build: Build, terminals: Mapping[str, PlanTerminal], pair: tuple[str, str]) -> dict[str, PlanTerminal]:
    """Return the lead of each side of one transformer; empty unless both sides have one."""
    leads = {joint: [t for t in terminals.values() if t.kind == "exit" and t.joint == joint] for joint in pair}
    for lead in leads[pair[0]]:
        other = next((t for t in leads[pair[1]] if t.owner == lead.owner), None)
        if other is not None:
            return {pair[0]: lead, pair[1]: other}
    return {}


def _order(
    build: Build, tubes: list[Part], terminals: Mapping[str, PlanTerminal], exits: dict[str, PlanTerminal]
) -> list[Part]:
    """Return the tubes in chain order: shortest way from the exits that ends at the input tube."""
    stage_of = {name: i for i, stage in enumerate(build.stages) for name in stage.parts}
    last = min(tubes, key=lambda p: (stage_of.get(p.name, 99), p.name))
    others = [p for p in tubes if p is not last]
    at = {p.name: _center(p, terminals) for p in tubes}
    start = next(((e.x_mm, e.y_mm) for e in exits.values()), at[max(at, key=lambda n: _apart(at[n], at[last.name]))])
    if len(others) > MOST_TUBES_TRIED:
        return [*_nearest_next(others, at, start), last]
    ways = itertools.permutations(others)
    return [
        *min(ways, key=lambda way: (_length([start, *(at[p.name] for p in (*way, last))]), *(p.name for p in way))),
        last,
    ]


def _nearest_next(tubes: list[Part], at: Mapping[str, tuple[float, float]], start: tuple[float, float]) -> list[Part]:
    order: list[Part] = []
    left, here = list(tubes), start
    while left:
        near = min(left, key=lambda p: (_apart(at[p.name], here), p.name))
        order.append(near)
        left.remove(near)
        here = at[near.name]
    return order


def _center(part: Part, terminals: Mapping[str, PlanTerminal]) -> tuple[float, float]:
    pins = [t for t in terminals.values() if t.owner == part.name and t.kind == "pin"]
    return sum(t.x_mm for t in pins) / len(pins), sum(t.y_mm for t in pins) / len(pins)


def _apart(a: tuple[float, float], b: tuple[float, float]) -> float:
    return abs(a[0] - b[0]) + abs(a[1] - b[1])


def _length(points: list[tuple[float, float]]) -> float:
    return sum(_apart(a, b) for a, b in itertools.pairwise(points))


def _pins(part: Part, joint: str) -> list[str]:
    return [f"{part.name}.{pin}" for t in heater_sides(part) if t.joint == joint for pin in t.pins]


def _chain(pair: tuple[str, str], order: list[Part], terminals: Mapping[str, PlanTerminal]) -> list[ChainWire]:
    wires: list[ChainWire] = []
    for part in order:
        for joint in pair:
            wires += [ChainWire(joint, link, "") for link in itertools.pairwise(_pins(part, joint))]
    for one, two in itertools.pairwise(order):
        twist = f"{one.name}-{two.name} heater"
        wires += [ChainWire(joint, (_pins(one, joint)[-1], _pins(two, joint)[0]), twist) for joint in pair]
    return wires


def _feed(pair: tuple[str, str], first: Part, exits: Mapping[str, PlanTerminal]) -> list[ChainWire]:
    twist = f"{exits[pair[0]].owner}-{first.name} heater"
    return [ChainWire(joint, (exits[joint].key, _pins(first, joint)[0]), twist) for joint in pair]


def _first_has_room(
    build: Build, pair: tuple[str, str], order: list[Part], terminals: Mapping[str, PlanTerminal]
) -> bool:
    """Return whether the leads reach the first socket and the chain still has room for what else is on the joint.

    Two places are enough: one for a wire to a lug that carries the rest, one for a part that needs the pin.
    """
    for joint in pair:
        pins = [key for part in order for key in _pins(part, joint)]
        used = 2 * (len(pins) - 1) + 1
        room = sum(terminals[key].capacity for key in pins) - used
        others = [t for t in build.joints[joint] if t.part not in {p.name for p in order}]
        if room < min(len(others) - 1, 2) or terminals[_pins(order[0], joint)[0]].capacity < 2:
            return False
    return True
