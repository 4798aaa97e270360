"""Put the units in order: earliest phase first, nothing before what it lies over, rings broken and reported."""

from __future__ import annotations

import heapq
from collections import defaultdict
from dataclasses import dataclass, replace
from itertools import pairwise

from lugwright.workorder.covers import Precedence
from lugwright.workorder.phases import FEEDBACK, GROUND_BUS, RANK
from lugwright.workorder.units import UNDER_THE_BUS, Priority, Unit


@dataclass(frozen=True)
class Sequence:
    """The units in working order, and the precedences that had to be given up to get there."""

    units: tuple[Unit, ...]
    given_up: tuple[Precedence, ...]
    waited_for: dict[str, Precedence]  # unit -> the precedence that let it in last


def in_order(all_units: tuple[Unit, ...], rules: tuple[Precedence, ...]) -> Sequence:
    """Return the units sorted by priority as far as the precedences allow.

    When every unit left waits for another one they stand in a ring; the cheapest precedence of one ring
    is given up and the work goes on. The earth lead waits for nothing: it is the first to go in.
    """
    unit = {u.name: u for u in all_units}
    before: dict[str, dict[str, Precedence]] = defaultdict(dict)
    after: dict[str, list[str]] = defaultdict(list)
    given_up: list[Precedence] = []
    for rule in rules:
        if unit[rule.then].earth and not unit[rule.first].earth:
            given_up.append(rule)
            continue
        before[rule.then][rule.first] = rule
        after[rule.first].append(rule.then)
    ready = [(u.priority, u.name) for u in all_units if not before[u.name]]
    heapq.heapify(ready)
    done: list[Unit] = []
    waited_for: dict[str, Precedence] = {}
    waiting = {u.name for u in all_units if before[u.name]}
    while ready or waiting:
        if not ready:
            rule = _cheapest_of_a_ring(unit, before, waiting)
            given_up.append(rule)
            _release(rule, unit, before, waiting, ready)
            continue
        _, name = heapq.heappop(ready)
        done.append(unit[name])
        for later in after[name]:
            rule_met = before[later].get(name)
            if rule_met is not None:
                waited_for[later] = rule_met
                _release(rule_met, unit, before, waiting, ready)
    return Sequence(tuple(done), tuple(given_up), waited_for)


def _release(
    rule: Precedence,
    unit: dict[str, Unit],
    before: dict[str, dict[str, Precedence]],
    waiting: set[str],
    ready: list[tuple[Priority, str]],
) -> None:
    del before[rule.then][rule.first]
    if not before[rule.then]:
        waiting.discard(rule.then)
        heapq.heappush(ready, (unit[rule.then].priority, rule.then))


def _cheapest_of_a_ring(
    unit: dict[str, Unit], before: dict[str, dict[str, Precedence]], waiting: set[str]
) -> Precedence:
    """Walk from unit to unit it waits for until one comes round again."""
    name = min(waiting, key=lambda n: unit[n].priority)
    path: list[str] = []
    while name not in path:
        path.append(name)
        name = min(before[name], key=lambda n: unit[n].priority)
    ring = [*path[path.index(name) :], name]
    rules = [before[then][first] for then, first in pairwise(ring)]
    return min(rules, key=lambda rule: (rule.cost, unit[rule.then].priority, rule.then))


def under_buses_first(all_units: tuple[Unit, ...], rules: tuple[Precedence, ...]) -> tuple[Unit, ...]:
    """Return the units with everything that has to lie under a ground bus moved to just before the bus.

    Otherwise one signal wire below the bus would hold up every return that is soldered to it.
    """
    before: dict[str, list[str]] = defaultdict(list)
    for rule in rules:
        before[rule.then].append(rule.first)
    stack = [u.name for u in all_units if u.kind == "bus"]
    under: set[str] = set()
    while stack:
        for name in before[stack.pop()]:
            if name not in under:
                under.add(name)
                stack.append(name)
    moved = [_just_before_the_bus(u) if u.name in under else u for u in all_units]
    return tuple(sorted(moved, key=lambda u: u.priority))


def _just_before_the_bus(unit: Unit) -> Unit:
    if unit.kind == "bus" or unit.phase == FEEDBACK or RANK[unit.phase] < RANK[GROUND_BUS]:
        return unit
    priority = (RANK[GROUND_BUS], UNDER_THE_BUS, *unit.priority[2:])
    return replace(unit, phase=GROUND_BUS, stage=UNDER_THE_BUS, priority=priority)
