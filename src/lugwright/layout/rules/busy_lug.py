"""No terminal with more than three connections."""

from __future__ import annotations

from lugwright.findings import Grade
from lugwright.layout.explain_results import WorstPlace
from lugwright.layout.rules.case import Case, Judged, told

MOST_LEADS = 3


def busy_lug(case: Case) -> Judged:
    """Return the terminal with the most leads."""
    busy = sorted((len(leads), key) for key, leads in case.leads.items())
    if not busy:
        return Judged()
    count, key = busy[-1]
    met = count <= MOST_LEADS
    label, leads = case.label(key), ", ".join(case.leads[key])
    limit = f"at most {MOST_LEADS} leads to a terminal"
    worst = WorstPlace("busy-lug", "busiest terminal", f"{label}: {leads}", f"{count} leads", limit, met)
    over = sum(1 for n, _ in busy if n > MOST_LEADS)
    hold = "terminal holds" if over == 1 else "terminals hold"
    return told(
        worst, Grade.NOTE, part=case.plan.terminals[key].owner, what=f"{label} is busy: {leads}",
        found=f"{count} leads ({over} {hold} more than {MOST_LEADS})",
        do="use a second lug and a link, or take care in soldering",
        source="MIL-DTL-917F, connections per terminal, read as a page image of a standards site",
    )  # fmt: skip
