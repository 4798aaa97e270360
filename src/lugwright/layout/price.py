"""What a plan costs, term by term, and how many lugs it takes."""

from __future__ import annotations

import math
from collections.abc import Mapping

from lugwright.buildfile.build import Build
from lugwright.layout.board import BODY_KINDS
from lugwright.layout.explain_results import LugCount, TermShare
from lugwright.layout.hardware import Hardware
from lugwright.layout.objective import TERMS, Term
from lugwright.layout.results import Plan, PlanTerminal
from lugwright.layout.rules.spare_lugs import spare_lugs_wanted

# Terms that a build file raises by other names: what a seat costs is bare leads, order on the bus, lugs lain over.
WISHED_AS = {"seats": ("leads", "order", "layers"), "neighbors": ("coupling",), "detours": ("wires",)}
USUAL_PLACES = 4  # leads a lug takes, where the build has no strip to ask


def term_shares(build: Build, plan: Plan) -> tuple[TermShare, ...]:
    """Return the terms of a plan's objective in the order of the table; those of no cost are left out."""
    table = {term.name: term for term in TERMS}
    names = [*(name for name in table if name in plan.cost), *(name for name in plan.cost if name not in table)]
    whole, weights = sum(plan.cost.values()), build.wishes.weights
    return tuple(
        TermShare(
            name,
            plan.cost[name],
            plan.cost[name] / whole,
            {wish: weights[wish] for wish in WISHED_AS.get(name, (name,)) if weights.get(wish, 1.0) != 1.0},
            *_words(table.get(name)),
        )
        for name in names
        if plan.cost[name]
    )


def _words(term: Term | None) -> tuple[str, str]:
    return (term.weight, term.reason) if term else ("", "")


def lug_count(build: Build, plan: Plan, hardware: Hardware) -> LugCount:
    """Return how many strip lugs a plan uses and leaves, and how many any plan needs."""
    spare = len(plan.spare_lugs)
    used = sum(1 for t in plan.terminals.values() if t.kind == "lug") - spare
    return LugCount(used, spare, spare_lugs_wanted(used), least_lugs(build, plan.terminals, hardware))


def least_lugs(build: Build, terminals: Mapping[str, PlanTerminal], hardware: Hardware) -> int:
    """Return how many free lugs no plan of a build can do without.

    A joint is a tree of wires. On p fixed terminals with c places in all, e transformer leads and k lugs of m places
    it has p + e + k - 1 wires with two ends each; these and the n leads of its parts need c + e + k m places.
    """
    places = max((hardware.strips[strip.type].leads_per_lug for strip in build.strips), default=USUAL_PLACES)
    leads: dict[str, int] = {}
    for part in build.parts:
        if isinstance(part.values, BODY_KINDS):
            for terminal in part.terminals[:2]:
                leads[terminal.joint] = leads.get(terminal.joint, 0) + 1
    return sum(_least_of(build, terminals, joint, count, places) for joint, count in leads.items() if joint)


def _least_of(build: Build, terminals: Mapping[str, PlanTerminal], joint: str, leads: int, places: int) -> int:
    """Return the lugs one joint needs beside its fixed terminals; metal and buses have places for all."""
    at = [t for t in terminals.values() if t.joint == joint and t.kind != "lug" and t.capacity]
    fixed, exits = [t for t in at if t.kind != "exit"], sum(1 for t in at if t.kind == "exit")
    if any(t.kind in ("bus", "foot", "bolt") for t in fixed):
        return 0
    if not fixed:
        return max(1, math.ceil((leads + exits - 2) / (places - 2)))
    inside = sum(len(t.pins) - 1 for t in build.joints[joint] if len(t.pins) > 1)  # pins the tube itself joins
    wanted = leads + exits + 2 * (len(fixed) - inside - 1)
    return max(0, math.ceil((wanted - sum(t.capacity for t in fixed)) / (places - 2)))
