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
    terms["wires"] = _wires_as_laid(standing, plan)
    return {term: round(cost, 1) for term, cost in terms.items() if cost}


def _wires_as_laid(standing: Standing, plan: Plan) -> float:
    """Return what the wires cost along and across; what was decided beforehand is no choice, bonds count as seats."""
    decided = {frozenset(ends) for _, *ends in standing.bench.chain}
    board, cost = standing.board, 0.0
    for wire in plan.wires:
        ends = frozenset(standing.place[key] for key in wire.terminals)
        if not wire.bond and ends not in decided:
            cost += float(board.distance[tuple(ends)]) * float(board.weight[standing.joint[wire.joint]])
    return cost
