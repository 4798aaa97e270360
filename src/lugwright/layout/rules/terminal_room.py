"""No terminal holds more leads than it takes."""

from __future__ import annotations

from lugwright.layout.explain_results import WorstPlace
from lugwright.layout.rules.case import Case, Judged


def terminal_room(case: Case) -> Judged:
    """Return the fullest terminal; one that is overfilled is a fault of the plan, which the check of it finds.

    Transformer leads, bus points and bolts are left out: they are made for one lead, or for as many as they have.
    """
    room = [
        (t.capacity - len(leads), key)
        for key, leads in case.leads.items()
        if (t := case.plan.terminals[key]).kind not in ("exit", "bus", "bolt")
    ]
    if not room:
        return Judged()
    left, key = min(room)
    full = sum(1 for other, _ in room if other == left)
    capacity = case.plan.terminals[key].capacity
    return Judged(
        WorstPlace(
            "terminal-full",
            "fullest terminal",
            f"{case.label(key)}: {', '.join(case.leads[key])}",
            f"{len(case.leads[key])} leads ({full} as full as this)",
            f"{capacity} leads",
            left >= 0,
        )
    )
