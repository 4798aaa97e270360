"""Why a part sits between its two terminals: what that costs, what pulls it, where else it could sit."""

from __future__ import annotations

import math

import numpy as np

from lugwright.layout.explain_results import Choice, Why
from lugwright.layout.objective import MAX_LEAD_MM, MIN_LEAD_MM, WIRE_WEIGHT
from lugwright.layout.results import SeatedPart
from lugwright.layout.standing import Standing, Terms
from lugwright.layout.why_words import change_in_words, cheaper_in_words, terms_in_words

PRICED = 40  # other seats priced to the end, those cheapest at a glance first
SHOWN = 3


def why_part(standing: Standing, name: str) -> Why:
    """Return why a seated part sits where it does."""
    seat = next(s for s in standing.plan.seats if s.part == name)
    choices = _choices(standing, seat)
    cheaper = cheaper_in_words(choices, "between ", pinned=name in standing.build.wishes.between)
    return Why(name, (*_here(standing, seat), *cheaper), _pulls(standing, seat), choices)


def _here(standing: Standing, seat: SeatedPart) -> tuple[str, ...]:
    a, b = (standing.plan.terminals[key] for key in seat.terminals)
    lead = (seat.span_mm - seat.body_length_mm) / 2.0
    words = [
        f"{seat.part} lies between {a.label} ({a.joint}) and {b.label} ({b.joint}), {seat.span_mm:.0f} mm apart: "
        f"a body of {seat.body_length_mm:g} mm and {lead:.0f} mm of lead each side, on layer {seat.layer}."
    ]
    without = standing.changed({standing.part[seat.part]: None})
    if isinstance(without, dict):
        saved = {name: -value for name, value in without.items() if name not in ("unplaced", "broken joints")}
        words.append(
            f"Without it the plan would cost {sum(saved.values()):.0f} less: {terms_in_words(saved) or 'nothing'}."
        )
    wish = standing.build.wishes.between.get(seat.part)
    if wish is not None:
        words.append(f"It was asked for there: [plan.between] {seat.part} = {', '.join(wish)}.")
    return tuple(words)


def _pulls(standing: Standing, seat: SeatedPart) -> tuple[str, ...]:
    """Return what draws each end: the terminal itself where it is fixed, else its wires and the parts it shares."""
    plan, found = standing.plan, []
    for key in seat.terminals:
        t = plan.terminals[key]
        if t.kind not in ("lug", "foot"):
            found.append(f"{t.label} carries {t.joint} by itself: no wire is needed at this end.")
        for wire in plan.wires:
            if key in wire.terminals and t.kind in ("lug", "foot"):
                other = plan.terminals[next(end for end in wire.terminals if end != key)]
                weight = WIRE_WEIGHT.get(wire.kind, 1.0)
                found.append(
                    f"W{wire.number}, {wire.length_mm:.0f} mm of {wire.kind} wire at {weight:g} a mm, "
                    f"runs from {t.label} to {other.label}."
                )
        shared = [lead for lead in plan.leads_at(key) if not lead.startswith((f"{seat.part}.", "W"))]
        if shared:
            found.append(f"{t.label} is shared with {', '.join(shared)}.")
    return tuple(found)


def _choices(standing: Standing, seat: SeatedPart) -> tuple[Choice, ...]:
    part = standing.part[seat.part]
    rough = _rough_prices(standing, part)
    priced: list[tuple[float, int, Terms]] = []
    blocked: list[Choice] = []
    for row in np.argsort(rough, kind="stable").tolist():
        if len(priced) >= PRICED:
            break
        if set(_keys(standing, part, row)) == set(seat.terminals):
            continue
        change = standing.changed({part: row})
        if isinstance(change, str):
            if len(blocked) < SHOWN:
                blocked.append(Choice(_words(standing, part, row), None, change))
        else:
            priced.append((sum(change.values()), row, change))
    best = sorted(priced, key=lambda item: item[:2])[:SHOWN]
    possible = [Choice(_words(standing, part, row), more, change_in_words(change)) for more, row, change in best]
    return (*possible, *_misfits(standing, seat), *blocked)


def _rough_prices(standing: Standing, part: int) -> np.ndarray:
    """Return for each row what the seat costs, and the wire from its two ends to their joints."""
    board, seats = standing.board, standing.board.seats[part]
    cost = np.array(seats.cost, dtype=np.float64)
    for ends, joint in zip((seats.first, seats.second), board.parts[part].joints, strict=True):
        held = _held_without(standing, part, joint)
        if held:
            cost += board.distance[held].min(axis=0)[ends] * board.weight[joint]
    return cost


def _held_without(standing: Standing, part: int, joint: int) -> list[int]:
    """Return the terminals a joint is on when a part is out."""
    seat = standing.bench.seats[part]
    mine = set(seat.lying.ends) if seat is not None else set()
    at = np.flatnonzero(standing.bench.joint_at == joint).tolist()
    return [t for t in at if t not in mine or standing.board.joint_at[t] == joint or standing.bench.load[t] > 1]


def _misfits(standing: Standing, seat: SeatedPart) -> list[Choice]:
    """Return the two terminals its joints have already that come nearest to fitting, and do not."""
    part, board = standing.part[seat.part], standing.board
    me = board.parts[part]
    low, high = me.length_mm + 2.0 * MIN_LEAD_MM, me.length_mm + 2.0 * MAX_LEAD_MM
    held = [
        [t for t in _held_without(standing, part, joint) if board.terminals[t].kind != "exit"] for joint in me.joints
    ]
    found = []
    for a in held[0]:
        for b in held[1]:
            apart = math.dist(*((t.x_mm, t.y_mm, t.z_mm) for t in (board.terminals[a], board.terminals[b])))
            if not low <= apart <= high:
                place = f"{standing.label(a)} and {standing.label(b)}"
                found.append((max(low - apart, apart - high), place, standing.misfit(part, a, b)))
    return [Choice(place, None, words.partition(": ")[2]) for _, place, words in sorted(found)[:1]]


def _keys(standing: Standing, part: int, row: int) -> tuple[str, str]:
    seats, terminals = standing.board.seats[part], standing.board.terminals
    return terminals[int(seats.first[row])].key, terminals[int(seats.second[row])].key


def _words(standing: Standing, part: int, row: int) -> str:
    seats = standing.board.seats[part]
    return f"{standing.label(int(seats.first[row]))} and {standing.label(int(seats.second[row]))}"
