"""From a build to a plan: which joint on which lug, which part between which two terminals, which wires."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from lugwright.buildfile.build import GROUND, Build
from lugwright.layout.anneal import repair, whole_plans
from lugwright.layout.best_routed import best_routed
from lugwright.layout.board import Board, make_board
from lugwright.layout.charging_loop import center_taps, charging_wires, reservoirs
from lugwright.layout.chassis import fixed_terminals
from lugwright.layout.frozen import (
    Frozen,
    laid_wires,
    raise_if_against,
    soldered_holds,
    with_laid,
)
from lugwright.layout.frozen_board import closed, raise_if_no_seat
from lugwright.layout.hardware import Hardware, hardware_for
from lugwright.layout.heater_chain import ChainWire, heater_chains
from lugwright.layout.heights import seat_heights_mm
from lugwright.layout.holds import with_held_joints
from lugwright.layout.joint_classes import joint_facts
from lugwright.layout.kept_wires import kept_wires
from lugwright.layout.links import Link
from lugwright.layout.plan_file import plan_fingerprint
from lugwright.layout.resettle import resettle
from lugwright.layout.results import Plan, PlanTerminal, SeatedPart, Wire
from lugwright.layout.room import plans_with_room
from lugwright.layout.route_terms import routed_terms
from lugwright.layout.routing import route_wires
from lugwright.layout.search import Bench
from lugwright.layout.shortage import raise_if_hopeless, raise_if_outside, raise_if_too_many, raise_if_unfinished
from lugwright.layout.star import each_to_its_star
from lugwright.layout.wishes import wished
from lugwright.layout.wishes_fit import keep_off, raise_if_wishes_fail

NOTHING_YET = Frozen()


def plan_lugs(
    build: Build,
    *,
    joint_volts: Mapping[str, float],
    previous: Plan | None = None,
    hardware: Hardware | None = None,
    frozen: Frozen = NOTHING_YET,
) -> Plan:
    """Return a valid plan; PlanError says what is missing when there is none.

    Parameters
    ----------
    build : Build
        The amplifier, with its chassis.
    joint_volts : mapping
        Largest DC voltage of each joint against ground, cold tubes included. [V]
    previous : Plan, optional
        The plan to start from: what still fits in it stays where it is. Made for this very build, it is
        the answer.
    hardware : Hardware, optional
        Catalogue entries; looked up when not given.
    frozen : Frozen, optional
        What is soldered and laid already: all of it is kept, SolderedAgainst says where the circuit forbids it.

    Returns
    -------
    Plan
        Terminals with their joints, seated parts, routed wires.
    """
    hardware = hardware or hardware_for(build)
    terminals = fixed_terminals(build, hardware)
    raise_if_outside(build, terminals)
    raise_if_too_many(build)
    facts = joint_facts(build, joint_volts)
    fingerprint = plan_fingerprint(build, facts)
    if previous is not None and previous.fingerprint == fingerprint and frozen.is_in(previous):
        return previous
    raise_if_against(build, terminals, frozen)
    laid = laid_wires(build, terminals, frozen)
    holds = wished(build, terminals, soldered_holds(build, terminals, frozen))
    terminals = with_held_joints(terminals, holds.lugs)
    chain = with_laid([*heater_chains(build, terminals), *charging_wires(build, terminals)], laid)
    free_board = make_board(build, hardware, terminals, facts, holds.parts)
    raise_if_no_seat(free_board, frozen)
    board = keep_off(build, free_board)
    raise_if_wishes_fail(build, free_board, board, holds, decided_wires(board, chain))
    raise_if_hopeless(build, board)
    bench, others = _searched(board, decided_wires(board, chain), previous, frozen)
    raise_if_unfinished(build, bench)
    before = _with_laid_wires(previous, laid)
    plans = [_finished(build, bench, chain, hardware, before, laid)]
    for kept in others:
        bench.lay_out(kept)
        plans.append(_finished(build, bench, chain, hardware, before, laid))
    return replace(best_routed(build, plans, joint_volts=joint_volts, hardware=hardware), fingerprint=fingerprint)


def _searched(
    board: Board, decided: list[tuple[int, int, int]], previous: Plan | None, frozen: Frozen
) -> tuple[Bench, list[NDArray[np.int64]]]:
    """Return the bench with everything seated, and other ways to seat it.

    Soldered joints are left closed where anything else will do.
    """
    bench = Bench(replace(board, capacity=closed(board, frozen, ())), decided)
    others = _settle(bench, previous)
    short = {*bench.broken(), *(joint for part in bench.unplaced() for joint in board.parts[part].joints)}
    if short and frozen.soldered:
        bench = Bench(replace(board, capacity=closed(board, frozen, short)), decided)
        others = _settle(bench, previous)
    return bench, others


def _settle(bench: Bench, previous: Plan | None) -> list[NDArray[np.int64]]:
    """Seat everything; return other ways to do it, none beside an earlier plan that can stay as it is."""
    others: list[NDArray[np.int64]] = []
    if previous is not None and previous.seats:
        resettle(bench, previous)
        repair(bench)
    else:
        others = whole_plans(bench)[1:]
    if bench.unplaced() or bench.broken():
        others = plans_with_room(bench)[1:]
    return others


def _with_laid_wires(previous: Plan | None, laid: tuple[Wire, ...]) -> Plan | None:
    """Return the earlier plan with the laid wires in it, so that they keep their numbers."""
    if previous is None:
        return Plan("", {}, (), laid, (), {}) if laid else None
    known = {frozenset(w.terminals) for w in laid}
    return replace(previous, wires=(*laid, *(w for w in previous.wires if frozenset(w.terminals) not in known)))


def decided_wires(board: Board, chain: list[ChainWire]) -> list[tuple[int, int, int]]:
    """Return the wires decided beforehand as (joint, terminal, terminal)."""
    place = {t.key: index for index, t in enumerate(board.terminals)}
    number = {name: index for index, name in enumerate(board.joints)}
    return [(number[w.joint], place[w.terminals[0]], place[w.terminals[1]]) for w in chain]


def _finished(
    build: Build,
    bench: Bench,
    chain: list[ChainWire],
    hardware: Hardware,
    previous: Plan | None,
    laid: tuple[Wire, ...],
) -> Plan:
    terminals = _terminals(bench)
    seats = _seated(bench)
    trees = each_to_its_star(build, bench, kept_wires(bench, previous))
    links = _links(build, bench, chain, trees, {frozenset(w.terminals) for w in laid})
    wires = route_wires(build, hardware, terminals, seats, links, bench.board.facts, previous, laid)
    spare = tuple(t.key for t in terminals.values() if t.kind == "lug" and not t.joint)
    routed = routed_terms(wires, seats, {fact.joint: fact for fact in bench.board.facts}, build.wishes.weights)
    terms = bench.cost_terms() | routed
    terms["wires"] = _wires_cost(bench.board, links[len(chain) :])
    terms = {name: round(value, 1) for name, value in terms.items()}
    return Plan(
        build.title, terminals, seats, wires, spare, terms, notes=_notes(build, terminals)
    )  # fmt: skip


def _wires_cost(board: Board, links: Iterable[Link]) -> float:
    """Return what wires cost along and across; bonds count with the seats."""
    place = {t.key: index for index, t in enumerate(board.terminals)}
    weight: dict[str, float] = dict(zip(board.joints, board.weight.tolist(), strict=True))
    return sum(
        weight[k.joint] * float(board.distance[place[k.terminals[0]], place[k.terminals[1]]])
        for k in links
        if not k.bond
    )


def _terminals(bench: Bench) -> dict[str, PlanTerminal]:
    found = {}
    for index, t in enumerate(bench.board.terminals):
        joint = int(bench.joint_at[index])
        name = t.joint or (bench.board.joints[joint] if joint >= 0 else "")
        found[t.key] = PlanTerminal(t.key, t.owner, t.kind, t.x_mm, t.y_mm, t.z_mm, name, t.capacity, t.label)
    return found


def _seated(bench: Bench) -> tuple[SeatedPart, ...]:
    board = bench.board
    heights = seat_heights_mm(bench)
    found = []
    for index, (part, seat) in enumerate(zip(board.parts, bench.seats, strict=True)):
        if seat is None or part.is_bond:
            continue
        first, second = (board.terminals[end].key for end in seat.lying.ends)
        span = float(board.seats[index].span_mm[seat.row])
        found.append(
            SeatedPart(
                part.name,
                (first, second),
                part.lead_names,
                seat.layer,
                part.length_mm,
                part.diameter_mm,
                heights[index],
                span,
            )
        )
    return tuple(found)


def _links(
    build: Build,
    bench: Bench,
    chain: list[ChainWire],
    trees: list[tuple[tuple[int, int], ...]],
    laid: set[frozenset[str]],
) -> list[Link]:
    """Return every wire of the plan as a pair of terminals."""
    board = bench.board
    links = [Link(w.joint, w.terminals, w.twist, "") for w in chain]
    for index, edges in enumerate(trees):
        for a, b in edges:
            ends = sorted((a, b), key=lambda i: (board.terminals[i].kind != "exit", i))
            links.append(
                Link(board.joints[index], (board.terminals[ends[0]].key, board.terminals[ends[1]].key), "", "")
            )
    links = _with_charging_loop(build, bench, links, laid)
    for part, seat in zip(board.parts, bench.seats, strict=True):
        if part.is_bond and seat is not None:
            first, second = (board.terminals[end].key for end in seat.lying.ends)
            links.append(Link(board.joints[part.joints[0]], (first, second), "", part.name))
    return links


def _with_charging_loop(build: Build, bench: Bench, links: list[Link], laid: set[frozenset[str]]) -> list[Link]:
    """Return the links with each center tap moved to the minus lead of its reservoir, where that lug has room."""
    fixed = {key for ends in laid for key in ends}
    at = {part.name: index for index, part in enumerate(bench.board.parts)}
    place = {t.key: index for index, t in enumerate(bench.board.terminals)}
    for tap, ends in center_taps(build):
        if tap in fixed:
            continue
        for part in reservoirs(build, ends):
            seat = bench.seats[at[part.name]] if part.name in at else None
            if seat is None:
                continue
            side = next(side for side in (0, 1) if part.terminals[side].joint == GROUND)
            minus = bench.board.terminals[seat.lying.ends[side]].key
            taken = sum(minus in link.terminals for link in links)
            if bench.board.capacity[place[minus]] > bench.load[place[minus]] + taken:
                links = [replace(k, terminals=(tap, minus)) if k.terminals[0] == tap else k for k in links]
            break
    return links


def _notes(build: Build, terminals: Mapping[str, PlanTerminal]) -> tuple[str, ...]:
    """Return what the builder must know beside the plan: leads that go nowhere."""
    idle = [
        t.label
        for t in terminals.values()
        if t.kind == "exit" and (not t.joint or sum(1 for e in build.joints[t.joint] if e.part != t.owner) == 0)
    ]
    return tuple(f"{label} is not used: cut it back, sleeve it and tie it away" for label in idle)
