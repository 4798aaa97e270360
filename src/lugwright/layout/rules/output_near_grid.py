"""A grid or signal wire keeps away from the plate wires of the output tubes: what comes back sings."""

from __future__ import annotations

from lugwright.layout.rules.alongside import clean_beside
from lugwright.layout.rules.case import Case, Judged

WITHIN_MM = 15.0


def output_near_grid(case: Case) -> Judged:
    """Return the grid or signal wire that runs longest beside a plate wire of an output tube."""
    return clean_beside(case, "output plate", within_mm=WITHIN_MM, rule="output-near-grid")
