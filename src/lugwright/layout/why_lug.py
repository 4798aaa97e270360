"""Why a joint is on a lug: what is soldered there, what it costs to have it on another."""

from __future__ import annotations

import math

from lugwright.layout.board import FREE
from lugwright.layout.explain_results import Choice, Why
from lugwright.layout.objective import WIRE_WEIGHT
from lugwright.layout.results import PlanTerminal
from lugwright.layout.standing import Standing, Terms
from lugwright.layout.why_words import change_in_words, cheaper_in_words, listed

SHOWN = 3


def why_lug(standing: Standing, key: str) -> Why:
    """Return why a terminal carries what it carries, or why it is left over."""
    t = standing.plan.terminals[key]
    if t.kind == "lug" and not t.joint:
        return Why(key, (f"{t.label} is spare.",), _neighbors(standing, t), _could_come(standing, t))
    here = [f"{t.label} carries {t.joint}: {listed(standing.plan.leads_at(key)) or 'nothing is soldered to it'}."]
    fixed = _fixed(standing, t)
    if fixed:
        here.append(fixed)
        return Why(key, tuple(here), (*_wires(standing, t), *_neighbors(standing, t)), ())
    wish = standing.build.wishes.on.get(t.joint, ())
    if key in wish:
        here.append(f"It was asked for there: [plan.on] {t.joint}.")
    asked = [s.part for s in standing.plan.seats if key in s.terminals and s.part in standing.build.wishes.between]
    if asked:
        here.append(f"{listed(asked)} {'was' if len(asked) == 1 else 'were'} asked for there: [plan.between].")
    choices = lug_choices(standing, key)
    here += cheaper_in_words(choices, "on ", pinned=key in wish or bool(asked))
    return Why(key, tuple(here), (*_wires(standing, t), *_neighbors(standing, t)), choices)


def lug_choices(standing: Standing, key: str) -> tuple[Choice, ...]:
    """Return the best free lugs that all of a lug could move to, then the nearest that it cannot move to, and why."""
    terminal = standing.place[key]
    x, y = standing.board.terminals[terminal].x_mm, standing.board.terminals[terminal].y_mm
    free = [other for other in range(len(standing.board.terminals)) if standing.bench.joint_at[other] == FREE]
    free.sort(key=lambda o: (math.hypot(standing.board.terminals[o].x_mm - x, standing.board.terminals[o].y_mm - y), o))
    possible, blocked = [], []
    for other in free:
        change = moved(standing, terminal, other)
        if isinstance(change, str):
            blocked.append(Choice(standing.label(other), None, change))
        else:
            possible.append(Choice(standing.label(other), sum(change.values()), change_in_words(change)))
    possible.sort(key=lambda choice: choice.more or 0.0)
    return (*possible[:SHOWN], *blocked[:SHOWN])


def moved(standing: Standing, lug: int, other: int) -> Terms | str:
    """Return by how much each term changes when all that is on a lug goes to a free one, or why it cannot."""
    rows: dict[int, int | None] = {}
    joint = int(standing.bench.joint_at[lug])
    for part, seat in enumerate(standing.bench.seats):
        if seat is None or lug not in seat.lying.ends:
            continue
        ends = [other if end == lug else end for end in seat.lying.ends]
        row = standing.row(part, ends[0], ends[1])
        if row is None:
            return standing.misfit(part, ends[0], ends[1])
        rows[part] = row
    ties = {joint: (lug, other)} if lug in standing.bench.ties[joint] else {}
    return standing.changed(rows, ties)


def _could_come(standing: Standing, spare: PlanTerminal) -> tuple[Choice, ...]:
    """Return what it would cost to bring the nearest lugs in use here."""
    lugs = [t for t in standing.plan.terminals.values() if t.kind == "lug" and t.joint and not _fixed(standing, t)]
    lugs.sort(key=lambda t: (math.hypot(t.x_mm - spare.x_mm, t.y_mm - spare.y_mm), t.key))
    found = []
    for t in lugs[: 4 * SHOWN]:
        change = moved(standing, standing.place[t.key], standing.place[spare.key])
        place = f"all of {t.label} ({t.joint})"
        if isinstance(change, str):
            found.append(Choice(place, None, change))
        else:
            found.append(Choice(place, sum(change.values()), change_in_words(change)))
    return tuple(sorted(found, key=lambda choice: math.inf if choice.more is None else choice.more)[: 2 * SHOWN])


def _fixed(standing: Standing, t: PlanTerminal) -> str:
    """Return why a terminal carries its joint whatever the plan, "" when the plan chose it."""
    if standing.board.joint_at[standing.place[t.key]] == FREE:
        return ""
    part = standing.build.part_by_name.get(t.owner)
    if part is not None:
        return f"That is no choice of the plan: the build file has {t.joint} there."
    return "That is no choice of the plan: it is bolted to the metal." if t.kind in ("foot", "bolt") else (
        f"That is no choice of the plan: {t.owner} carries {t.joint} along its whole length."
    )  # fmt: skip


def _wires(standing: Standing, t: PlanTerminal) -> tuple[str, ...]:
    found = []
    for wire in standing.plan.wires:
        if t.key in wire.terminals:
            other = standing.plan.terminals[next((end for end in wire.terminals if end != t.key), t.key)]
            weight = WIRE_WEIGHT.get(wire.kind, 1.0)
            found.append(
                f"W{wire.number} to {other.label}: {wire.length_mm:.0f} mm of {wire.kind} wire at {weight:g} a mm."
            )
    return tuple(found)


def _neighbors(standing: Standing, t: PlanTerminal) -> tuple[str, ...]:
    """Return the lugs beside it, with the distance there is and the one their voltage needs."""
    found = []
    terminal = standing.place[t.key]
    joint = int(standing.bench.joint_at[terminal])
    for other in standing.board.next_lugs[terminal]:
        theirs = int(standing.bench.joint_at[other])
        if standing.board.terminals[other].kind == "foot":
            found.append(
                f"Beside it {standing.label(other)} stands on the metal{standing.apart_in_words(terminal, other)}."
            )
        elif theirs < 0:
            found.append(f"Beside it {standing.label(other)} is spare.")
        elif theirs == joint:
            found.append(f"Beside it {standing.label(other)} carries the same.")
        elif joint < 0:
            found.append(f"Beside it {standing.label(other)} carries {standing.carried(other)}.")
        else:
            carried = standing.carried(other)
            found.append(
                f"Beside it {standing.label(other)} carries {carried}{standing.apart_in_words(terminal, other)}."
            )
    return tuple(found)
