"""What any plan of a build costs at the build's own weights, whatever weights it was made for."""

from __future__ import annotations

from collections.abc import Mapping

from lugwright.buildfile.build import Build
from lugwright.layout.hardware import Hardware
from lugwright.layout.results import Plan
from lugwright.layout.route_terms import routed_terms
from lugwright.layout.standing import Standing


def own_terms(build: Build, plan: Plan, joint_volts: Mapping[str, float], hardware: Hardware) -> dict[str, float]:
    """Return the terms of a plan at the build's own weights, as a plan made at these would state them."""
    standing = Standing(build, plan, joint_volts, hardware)
    facts = {fact.joint: fact for fact in standing.board.facts}
    terms = standing.terms | routed_terms(plan.wires, plan.seats, facts, build.wishes.weights)
    return {term: round(cost, 1) for term, cost in terms.items() if cost}
