"""Several plans side by side."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from lugwright.cli.printing import table
from lugwright.documents.plans_compared import cheapest, made_words, plan_rows

if TYPE_CHECKING:
    from lugwright.layout.explain_results import PlanFigures


def compare_text(plans: Sequence[PlanFigures], dislikes: Mapping[str, float]) -> str:
    """Return one line a figure, one column a plan, and how each was made."""
    head = ("", *(plan.name for plan in plans))
    said = [*made_words(plans, dislikes), *_hint(plans)]
    return "\n\n".join([table(head, plan_rows(plans), right="l" + "r" * len(plans)), "\n".join(said)])


def _hint(plans: Sequence[PlanFigures]) -> list[str]:
    found = cheapest(plans)
    if found is None:
        return []
    best, saved = found
    return [f"{best.name} costs {saved:.0f} less than {plans[0].name}: keep it with --choose {best.name}."]
