"""A grid or signal wire keeps away from mains wiring."""

from __future__ import annotations

from lugwright.layout.rules.alongside import clean_beside
from lugwright.layout.rules.case import Case, Judged

WITHIN_MM = 20.0


def mains_near_signal(case: Case) -> Judged:
    """Return the grid or signal wire that runs longest beside a mains wire."""
    return clean_beside(case, "mains", within_mm=WITHIN_MM, rule="mains-near-signal")
