"""Wishes against span, height, room and insulation: what only the board knows."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from lugwright.buildfile.build import Build
from lugwright.layout.board import FREE, Board, Hanging
from lugwright.layout.holds import Holds, Refusal, raise_refusals
from lugwright.layout.objective import MAX_LEAD_MM, MIN_LEAD_MM
from lugwright.layout.wishes import wish_line, wish_place


def keep_off(build: Build, board: Board) -> Board:
    """Return the board without the seats on strips that parts and joints keep off."""
    barred: set[tuple[int, int]] = set()
    for name, strips in build.wishes.keep_off.items():
        lugs = [i for i, t in enumerate(board.terminals) if t.owner in strips and board.joint_at[i] == FREE]
        if name in board.joints:
            barred |= {(board.joints.index(name), lug) for lug in lugs}
    seats = []
    for part, here in zip(board.parts, board.seats, strict=True):
        off = [i for i, t in enumerate(board.terminals) if t.owner in build.wishes.keep_off.get(part.name, ())]
        keep = np.ones(len(here.first), dtype=np.bool_)
        for ends, joint in ((here.first, part.joints[0]), (here.second, part.joints[1])):
            keep &= ~np.isin(ends, [*off, *(lug for j, lug in barred if j == joint)])
        seats.append(here.only(keep))
    return replace(board, seats=tuple(seats), barred=frozenset(barred))


def raise_if_wishes_fail(
    build: Build, before: Board, board: Board, holds: Holds, chain: Sequence[tuple[int, int, int]]
) -> None:
    """Raise PlanError for every wish that span, height, room or insulation stands against.

    ``before`` is the board with every strip allowed; ``chain`` are the wires decided beforehand.
    """
    refusals: list[Refusal] = []
    for part, all_seats, seats in zip(board.parts, before.seats, board.seats, strict=True):
        if not len(all_seats.first) and part.name in build.wishes.between:
            refusals.append(_no_span(build, board, part))
        elif len(all_seats.first) and not len(seats.first):
            refusals.append(_off_everywhere(build, board, part))
    refusals += _too_many(build, board, holds, chain)
    refusals += _too_near(build, board, holds)
    raise_refusals(refusals)


def _no_span(build: Build, board: Board, part: Hanging) -> Refusal:
    pair = build.wishes.between[part.name]
    at = {t.key: t for t in board.terminals}
    a, b = (at[key] for key in pair)
    span = math.dist((a.x_mm, a.y_mm), (b.x_mm, b.y_mm))
    low, high = part.length_mm + 2.0 * MIN_LEAD_MM, part.length_mm + 2.0 * MAX_LEAD_MM
    fits = low <= span <= high
    no_height = f"its body of {part.diameter_mm:.0f} mm finds no height there"
    return Refusal(
        what=f"{part.name} cannot hang between {a.label} and {b.label} ({wish_place(build, 'between', part.name)})",
        found=no_height if fits else f"they are {span:.0f} mm apart",
        wanted="room below the bottom plate, above what it lies over" if fits else f"{low:.0f} to {high:.0f} mm apart",
        do="choose two other terminals, or move the strip",
    )


def _off_everywhere(build: Build, board: Board, part: Hanging) -> Refusal:
    names = [part.name, *(board.joints[joint] for joint in part.joints)]
    wishes = [
        f"{name} off {', '.join(build.wishes.keep_off[name])} ({wish_line(build, 'keep_off', name)})"
        for name in names
        if name in build.wishes.keep_off
    ]
    return Refusal(
        what=f"{part.name} fits between no two points any more",
        found=f"[plan.keep_off] takes them all: {'; '.join(wishes)}",
        wanted="a strip left that it reaches",
        do="take one of these strips out of the wish, or stand another strip there",
    )


def _too_many(build: Build, board: Board, holds: Holds, chain: Sequence[tuple[int, int, int]]) -> Iterator[Refusal]:
    """Yield terminals that wishes ask to take more leads than they can."""
    ends: dict[str, list[str]] = {}
    for name in build.wishes.between:
        fixed = {side: {pair[side] for pair in holds.parts[name].ends} for side in (0, 1)}
        for key in sorted(set.union(*fixed.values())):
            ends.setdefault(key, []).append(name)
    wired = Counter(end for _, a, b in chain for end in (a, b))
    for index, t in enumerate(board.terminals):
        names = ends.get(t.key, [])
        if names and len(names) + wired[index] > t.capacity:
            wires = f", and {wired[index]} wires that must end there" if wired[index] else ""
            yield Refusal(
                what=f"{t.label} cannot take all that [plan.between] puts on it",
                found=f"{', '.join(names)}{wires}",
                wanted=f"at most {t.capacity} leads",
                do="give one of them another lug",
            )


def _too_near(build: Build, board: Board, holds: Holds) -> Iterator[Refusal]:
    """Yield held lugs that stand too near to another joint for its volts."""
    asked = {key for key, (_, why) in holds.lugs.items() if "[plan." in why}
    for i, t in enumerate(board.terminals):
        for k, gap, group in board.neighbors[i]:
            other = board.terminals[k]
            a, b = int(board.joint_at[i]), int(board.joint_at[k])
            both = other.key in asked
            if t.key not in asked or a < 0 or b < 0 or (both and k < i):
                continue
            needed = float(board.needed_mm[group][a, b])
            if needed > gap + 1e-6:
                yield Refusal(
                    what=f"{board.joints[a]} cannot be on {t.label} ({holds.lugs[t.key][1]})",
                    found=f"{other.label} beside it carries {board.joints[b]}, {gap:.1f} mm away",
                    wanted=f"{needed:.1f} mm for the volts between the two",
                    do="choose a lug further away",
                )
