"""No terminal with more than three connections."""

from __future__ import annotations

from collections.abc import Iterator

from lugwright.findings import Finding, Grade
from lugwright.layout.rules.case import Case

MOST_LEADS = 3


def busy_lug(case: Case) -> Iterator[Finding]:
    """Yield the busiest terminal when it holds more than three leads."""
    used = {key for seat in case.plan.seats for key in seat.terminals} | {
        k for w in case.plan.wires for k in w.terminals
    }
    busy = [(len(case.plan.leads_at(key)), key) for key in sorted(used)]
    over = [(count, key) for count, key in busy if count > MOST_LEADS]
    if over:
        count, key = max(over)
        terminal = case.plan.terminals[key]
        yield Finding(
            rule="busy-lug",
            grade=Grade.NOTE,
            part=terminal.owner,
            what=f"{terminal.label} is busy: {', '.join(case.plan.leads_at(key))}",
            found=f"{count} leads ({len(over)} terminals hold more than {MOST_LEADS})",
            wanted=f"at most {MOST_LEADS} leads to a terminal",
            do="use a second lug and a link, or take care in soldering",
            source="MIL-DTL-917F, connections per terminal, read as a page image of a standards site",
        )
