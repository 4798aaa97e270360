"""A plan in figures, to be laid beside others."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from lugwright.buildfile.build import Build
from lugwright.findings import Finding, Grade
from lugwright.layout.explain_results import PlanFigures
from lugwright.layout.hardware import Hardware
from lugwright.layout.own_terms import own_terms
from lugwright.layout.results import Plan
from lugwright.layout.styles import empty_strips


def plan_figures(
    build: Build,
    plan: Plan,
    findings: Sequence[Finding],
    *,
    name: str,
    words: str,
    seconds: float,
    joint_volts: Mapping[str, float],
    hardware: Hardware,
) -> PlanFigures:
    """Return the figures of a plan; its terms are priced at the build's own weights."""
    lengths: dict[str, float] = {}
    for wire in plan.wires:
        lengths[wire.kind] = round(lengths.get(wire.kind, 0.0) + wire.length_mm, 1)
    lugs = [t for t in plan.terminals.values() if t.kind == "lug"]
    return PlanFigures(
        name,
        words,
        own_terms(build, plan, joint_volts, hardware),
        dict(sorted(lengths.items())),
        len(plan.wires),
        sum(len(wire.lies_over) for wire in plan.wires),
        sum(1 for seat in plan.seats if seat.layer > 1),
        len(lugs) - len(plan.spare_lugs),
        len(plan.spare_lugs),
        empty_strips(build, plan),
        _longest(plan, "grid"),
        _longest(plan, "signal"),
        sum(1 for finding in findings if finding.grade is Grade.DOUBT),
        round(seconds, 1),
    )


def _longest(plan: Plan, kind: str) -> float:
    return max((wire.length_mm for wire in plan.wires if wire.kind == kind), default=0.0)
