"""Put the units in order: earliest phase first, nothing before what it lies over, rings broken and reported."""

from __future__ import annotations

import heapq
from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass, replace
from itertools import pairwise

from lugwright.workorder.covers import CHEAP, Precedence
from lugwright.workorder.phases import FEEDBACK, RANK
from lugwright.workorder.units import Priority, Unit

Place = tuple[int, int]  # rank of the phase it goes in with; 1 for what comes at its end, 2 for the ground bond


@dataclass(frozen=True)
class Sequence:
    """The units in working order, and the precedences that had to be given up to get there."""

    units: tuple[Unit, ...]
    given_up: tuple[Precedence, ...]
    waited_for: dict[str, Precedence]  # unit that goes in later than its phase -> the precedence that let it in last


def in_order(all_units: tuple[Unit, ...], rules: tuple[Precedence, ...]) -> Sequence:
    """Return the units sorted by phase as far as the precedences that may not be given up allow.

    Nothing waits for the feedback lead and the earth lead waits for nothing. What would have to wait for a later
    phase keeps its phase where the precedence is a cheap one; otherwise it goes in at the end of that later phase.
    """
    unit = {u.name: u for u in all_units}
    never = {rule for rule in rules if _never_kept(unit, rule)}
    dear = tuple(rule for rule in rules if rule not in never and rule.cost > CHEAP)
    bare, ringed, _ = _topological(all_units, dear)
    dropped = never | set(ringed)
    place = _places(bare, [rule for rule in dear if rule not in dropped])
    dropped |= {r for r in rules if r.cost <= CHEAP and place[r.first] > place[r.then]}
    placed = tuple(replace(u, priority=(*place[u.name], *u.priority)) for u in all_units)
    _, rings, _ = _topological(placed, tuple(rule for rule in rules if rule not in dropped))
    dropped |= set(rings)  # once more without them: a ring stands still until nothing else is left
    done, _, waited_for = _topological(placed, tuple(rule for rule in rules if rule not in dropped))
    late = {name: rule for name, rule in waited_for.items() if place[name][0] > RANK[unit[name].phase]}
    given_up = tuple(rule for rule in rules if rule in dropped)
    return Sequence(tuple(unit[u.name] for u in done), given_up, late)


def _never_kept(unit: Mapping[str, Unit], rule: Precedence) -> bool:
    first, then = unit[rule.first], unit[rule.then]
    return (then.earth and not first.earth) or (first.phase == FEEDBACK and then.phase != FEEDBACK)


def _places(bare: tuple[Unit, ...], dear: list[Precedence]) -> dict[str, Place]:
    """Return where each unit goes in: with its phase, or at the end of a later one that it has to wait for."""
    before: dict[str, list[str]] = defaultdict(list)
    for rule in dear:
        before[rule.then].append(rule.first)
    place: dict[str, Place] = {}
    for unit in bare:
        rank, end_of_it = RANK[unit.phase], 2 if unit.ground_bond else 0
        earlier = [place[name] for name in before[unit.name]]
        place[unit.name] = max([(rank, end_of_it), *((r, 1) if r > rank else (r, min(end, 1)) for r, end in earlier)])
    return place


def _topological(
    all_units: tuple[Unit, ...], rules: tuple[Precedence, ...]
) -> tuple[tuple[Unit, ...], list[Precedence], dict[str, Precedence]]:
    """Return the units in order of priority, each after what it waits for; what was given up; what it waited for.

    When every unit left waits for another one they stand in a ring; the cheapest precedence of one ring is given up.
    """
    unit = {u.name: u for u in all_units}
    before: dict[str, dict[str, Precedence]] = defaultdict(dict)
    after: dict[str, list[str]] = defaultdict(list)
    for rule in rules:
        before[rule.then][rule.first] = rule
        after[rule.first].append(rule.then)
    ready = [(u.priority, u.name) for u in all_units if not before[u.name]]
    heapq.heapify(ready)
    waiting = {u.name for u in all_units if before[u.name]}
    done: list[Unit] = []
    given_up: list[Precedence] = []
    waited_for: dict[str, Precedence] = {}
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
    return tuple(done), given_up, waited_for


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
