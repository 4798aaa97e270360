"""Of several plans of one build, the best as it is routed: what the search of the seats alone cannot see."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from lugwright.buildfile.build import Build
from lugwright.findings import Grade
from lugwright.layout.hardware import Hardware
from lugwright.layout.results import Plan
from lugwright.layout.rules.table import layout_findings

BAD = (Grade.DANGER, Grade.FAULT, Grade.DOUBT)  # each outweighs any number of the next, and these any length of wire


def best_routed(build: Build, plans: Sequence[Plan], *, joint_volts: Mapping[str, float], hardware: Hardware) -> Plan:
    """Return the plan with fewest dangers, faults, doubts, then the one that costs least; of equals the first."""
    if len(plans) == 1:
        return plans[0]
    return min(plans, key=lambda plan: _badness(build, plan, joint_volts, hardware))


def _badness(
    build: Build, plan: Plan, joint_volts: Mapping[str, float], hardware: Hardware
) -> tuple[tuple[int, ...], float]:
    grades = [finding.grade for finding in layout_findings(build, plan, joint_volts=joint_volts, hardware=hardware)]
    return tuple(grades.count(grade) for grade in BAD), round(sum(plan.cost.values()), 1)
