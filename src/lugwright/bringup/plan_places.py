"""Where the plan puts things, in the words printed on it."""

from __future__ import annotations

from collections.abc import Mapping

from lugwright.layout.results import Plan


def seat_ends(plan: Plan | None, part: str) -> Mapping[str, str]:
    """Return the keys of the terminals a part's leads go to, by the names of its own terminals."""
    if plan is None:
        return {}
    for seat in plan.seats:
        if seat.part == part:
            return dict(zip(seat.lead_names, seat.terminals, strict=True))
    return {t.key.removeprefix(f"{part}."): t.key for t in plan.terminals.values() if t.owner == part}


def place_of(plan: Plan | None, key: str) -> str:
    """Return a terminal as it is printed on the plan; "" where the plan does not have it."""
    terminal = None if plan is None else plan.terminals.get(key)
    return "" if terminal is None else terminal.label
