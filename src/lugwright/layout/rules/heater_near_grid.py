"""A grid or signal wire does not run along a heater pair."""

from __future__ import annotations

from lugwright.layout.rules.alongside import clean_beside
from lugwright.layout.rules.case import Case, Judged

WITHIN_MM = 10.0


def heater_near_grid(case: Case) -> Judged:
    """Return the grid or signal wire that runs longest beside a heater wire."""
    return clean_beside(case, "heater", within_mm=WITHIN_MM, rule="heater-near-grid")
