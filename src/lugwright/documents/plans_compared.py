"""Several plans of one build in figures that stand side by side."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from lugwright.layout.explain_results import PlanFigures

Figure = Callable[["PlanFigures"], str]
LEAST_SAVED = 1.0  # in millimeters of ordinary wire; less is no reason to choose another plan


def plan_rows(plans: Sequence[PlanFigures]) -> list[tuple[str, ...]]:
    """Return one row a figure: its name, and how it is in each plan."""
    return [
        _row("cost", plans, lambda p: f"{sum(p.cost.values()):.0f}"),
        *(_row(f"  {term}", plans, _entry("cost", term)) for term in _names(plans, "cost")),
        _row("wire, mm", plans, lambda p: f"{sum(p.wire_mm.values()):.0f}"),
        *(_row(f"  {kind}", plans, _entry("wire_mm", kind)) for kind in _names(plans, "wire_mm")),
        _row("longest grid wire, mm", plans, lambda p: f"{p.longest_grid_mm:.0f}"),
        _row("longest signal wire, mm", plans, lambda p: f"{p.longest_signal_mm:.0f}"),
        _row("wires", plans, lambda p: str(p.wires)),
        _row("crossings", plans, lambda p: str(p.crossings)),
        _row("bodies above the first layer", plans, lambda p: str(p.upper_bodies)),
        _row("lugs used", plans, lambda p: str(p.lugs_used)),
        _row("lugs spare", plans, lambda p: str(p.lugs_spare)),
        _row("strips left empty", plans, lambda p: ", ".join(p.empty_strips) or "none"),
        _row("doubts", plans, lambda p: str(p.doubts)),
        _row("seconds to plan", plans, lambda p: f"{p.seconds:.1f}" if p.seconds else "-"),
    ]


def made_words(plans: Sequence[PlanFigures], dislikes: Mapping[str, float]) -> list[str]:
    """Return how each plan was made, and at which weights it is judged."""
    weighed = [f"{term} times {factor:g}" for term, factor in dislikes.items()]
    said = [f"Costs are at your own weights: {', '.join(weighed)}."] if weighed else []
    return [*(f"{plan.name}: {plan.words}" for plan in plans), *said]


def cheapest(plans: Sequence[PlanFigures]) -> tuple[PlanFigures, float] | None:
    """Return the plan that costs less than the first at the builder's own weights, and by how much."""
    costs = [sum(plan.cost.values()) for plan in plans]
    saved = costs[0] - min(costs)
    return (plans[costs.index(min(costs))], saved) if saved >= LEAST_SAVED else None


def _row(title: str, plans: Sequence[PlanFigures], figure: Figure) -> tuple[str, ...]:
    return (title, *(figure(plan) for plan in plans))


def _entry(field: str, name: str) -> Figure:
    """Return what prints one term of the cost, or the wire of one kind."""
    return lambda plan: f"{getattr(plan, field).get(name, 0.0):.0f}"


def _names(plans: Sequence[PlanFigures], field: str) -> list[str]:
    """Return the terms or kinds of wire that any of the plans has, in order of their first."""
    return list(dict.fromkeys(name for plan in plans for name in getattr(plan, field)))
