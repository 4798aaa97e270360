"""From a build to a plan: which joint on which lug, which part between which two terminals, which wires."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from lugwright.buildfile.build import GROUND, Build
from lugwright.layout.anneal import fill, improve, repair
from lugwright.layout.board import Board, make_board
from lugwright.layout.charging_loop import center_taps, charging_wires, reservoirs
from lugwright.layout.chassis import fixed_terminals
from lugwright.layout.hardware import Hardware, hardware_for
from lugwright.layout.heater_chain import ChainWire, heater_chains
from lugwright.layout.heights import seat_heights_mm
from lugwright.layout.holds import Holds, with_held_joints
from lugwright.layout.joint_classes import joint_facts
from lugwright.layout.plan_file import plan_fingerprint
from lugwright.layout.results import Plan, PlanTerminal, SeatedPart
from lugwright.layout.routing import Link, route_wires
from lugwright.layout.search import Bench
from lugwright.layout.shortage import raise_if_hopeless, raise_if_outside, raise_if_unfinished
from lugwright.layout.wishes import wished
from lugwright.layout.wishes_fit import keep_off, raise_if_wishes_fail


def plan_lugs(
    build: Build,
    *,
    joint_volts: Mapping[str, float],
    previous: Plan | None = None,
    hardware: Hardware | None = None,
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

    Returns
    -------
    Plan
        Terminals with their joints, seated parts, routed wires.
    """
    hardware = hardware or hardware_for(build)
    terminals = fixed_terminals(build, hardware)
    raise_if_outside(build, terminals)
    facts = joint_facts(build, joint_volts)
    fingerprint = plan_fingerprint(build, facts)
    if previous is not None and previous.fingerprint == fingerprint:
        return previous
    holds = wished(build, terminals, Holds())
    terminals = with_held_joints(terminals, holds.lugs)
    chain = [*heater_chains(build, terminals), *charging_wires(build, terminals)]
    free_board = make_board(build, hardware, terminals, facts, holds.parts)
    board = keep_off(build, free_board)
    raise_if_wishes_fail(build, free_board, board, holds, _decided(board, chain))
    raise_if_hopeless(build, board)
    bench = Bench(board, _decided(board, chain))
    if previous is not None and previous.seats:
        _adopt(bench, previous)
    else:
        fill(bench, range(len(board.parts)))
        improve(bench)
    repair(bench)
    raise_if_unfinished(build, bench)
    return replace(_finished(build, bench, chain, hardware, previous), fingerprint=fingerprint)


def _decided(board: Board, chain: list[ChainWire]) -> list[tuple[int, int, int]]:
    """Return the wires decided beforehand as (joint, terminal, terminal)."""
    place = {t.key: index for index, t in enumerate(board.terminals)}
    number = {name: index for index, name in enumerate(board.joints)}
    return [(number[w.joint], place[w.terminals[0]], place[w.terminals[1]]) for w in chain]


def _adopt(bench: Bench, previous: Plan) -> None:
    """Put back everything of an earlier plan that still fits, then seat the rest."""
    board = bench.board
    place = {t.key: index for index, t in enumerate(board.terminals)}
    seated = {seat.part: seat for seat in previous.seats}
    bonds = {wire.bond: wire.terminals for wire in previous.wires if wire.bond}
    for joint, lug in _old_ties(board, previous, place):
        if bench.may_carry(lug, joint):
            bench.add_tie(joint, lug)
    waiting = []
    for index, part in enumerate(board.parts):
        old = seated.get(part.name)
        ends = old.terminals if old else bonds.get(part.name)
        seat = None if ends is None else bench.seat_between(index, ends, old.layer if old else 1)
        if seat is None:
            waiting.append(index)
        else:
            bench.put(index, seat)
    fill(bench, waiting)


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


def _finished(build: Build, bench: Bench, chain: list[ChainWire], hardware: Hardware, previous: Plan | None) -> Plan:
    terminals = _terminals(bench)
    seats = _seated(bench)
    links = _links(build, bench, chain)
    wires = route_wires(build, hardware, terminals, seats, links, bench.board.facts, previous)
    spare = tuple(t.key for t in terminals.values() if t.kind == "lug" and not t.joint)
    terms = {name: round(value, 1) for name, value in bench.cost_terms().items()}
    return Plan(
        build.title, terminals, seats, wires, spare, terms, notes=_notes(build, terminals)
    )  # fmt: skip


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


def _links(build: Build, bench: Bench, chain: list[ChainWire]) -> list[Link]:
    """Return every wire of the plan as a pair of terminals."""
    board = bench.board
    links = [Link(w.joint, w.terminals, w.twist, "") for w in chain]
    for index, tree in enumerate(bench.trees):
        for a, b in tree.edges:
            ends = sorted((a, b), key=lambda i: (board.terminals[i].kind != "exit", i))
            links.append(
                Link(board.joints[index], (board.terminals[ends[0]].key, board.terminals[ends[1]].key), "", "")
            )
    links = _with_charging_loop(build, bench, links)
    for part, seat in zip(board.parts, bench.seats, strict=True):
        if part.is_bond and seat is not None:
            first, second = (board.terminals[end].key for end in seat.lying.ends)
            links.append(Link(board.joints[part.joints[0]], (first, second), "", part.name))
    return links


def _with_charging_loop(build: Build, bench: Bench, links: list[Link]) -> list[Link]:
    """Return the links with each center tap moved to the minus lead of its reservoir, where that lug has room."""
    at = {part.name: index for index, part in enumerate(bench.board.parts)}
    place = {t.key: index for index, t in enumerate(bench.board.terminals)}
    for tap, ends in center_taps(build):
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
