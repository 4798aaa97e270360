"""What is soldered, on the planner's board: joints that are closed, bodies that no longer fit."""

from __future__ import annotations

from collections.abc import Collection

from lugwright.layout.board import Board
from lugwright.layout.covers import Ints
from lugwright.layout.frozen import Against, Frozen, SolderedAgainst, leads_in


def closed(board: Board, frozen: Frozen, opened: Collection[int]) -> Ints:
    """Return the leads each terminal takes when soldered ones take no more, but for those of ``opened`` joints."""
    capacity = board.capacity.copy()
    count = leads_in(frozen)
    for index, t in enumerate(board.terminals):
        if t.key in frozen.soldered and int(board.joint_at[index]) not in opened:
            capacity[index] = min(int(capacity[index]), count[t.key])
    return capacity


def raise_if_no_seat(board: Board, frozen: Frozen) -> None:
    """Raise SolderedAgainst when a soldered part finds no place with its leads where they are."""
    at = {t.key: t.label for t in board.terminals}
    against = []
    for part, seats in zip(board.parts, board.seats, strict=True):
        leads = tuple(sorted(lead for lead in frozen.leads if lead[0] == part.name))
        if not leads or len(seats.first):
            continue
        whole = len(leads) == 2
        what = "is soldered in and fits no more" if whole else "is soldered by one lead, and the other reaches nothing"
        where = f"between {' and '.join(at[key] for *_, key in leads)}" if whole else f"from {at[leads[0][2]]}"
        wanted = (
            "the part that was soldered in, or room for the new one" if whole else "a terminal of its joint in reach"
        )
        body = f"a body of {part.length_mm:.0f} by {part.diameter_mm:.0f} mm {where}"
        against.append(Against(f"{part.name} {what}", body, wanted, leads=leads))
    if against:
        raise SolderedAgainst(against)
