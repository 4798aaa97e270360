"""Several plans of one build, each made with other weights: shortest, tidiest, fewest lugs and strips."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from functools import partial

from lugwright.buildfile.build import Build
from lugwright.errors import PlanError
from lugwright.layout.frozen import Frozen
from lugwright.layout.hardware import Hardware
from lugwright.layout.joint_classes import joint_facts
from lugwright.layout.lug_plan import NOTHING_YET, plan_lugs
from lugwright.layout.own_terms import own_terms
from lugwright.layout.plan_file import plan_fingerprint
from lugwright.layout.remedies import can_be_planned
from lugwright.layout.results import Plan

STRIP_TRIES = 3  # strips left out for a try, those with fewest lugs in use first


@dataclass(frozen=True)
class Style:
    """A way of planning: what the search minds more or less, and by which terms plans are then compared."""

    name: str
    words: str
    search: Mapping[str, float] = field(default_factory=dict)  # term -> factor of its weight in the search
    counts: Mapping[str, float] = field(default_factory=dict)  # the same, of a finished plan with its routes
    fewer_strips: bool = False


STYLES = (
    Style(
        "shortest",
        "wire and detours count three times",  # the same as all else a third, with which the search fares better
        {"layers": 0.33, "lugs": 0.33, "leads": 0.33, "order": 0.33},
        {"wires": 3.0, "detours": 3.0},
    ),
    Style(
        "tidiest",
        "crossings, layers, coupling and busy lugs count four times",
        {"crossings": 4.0, "layers": 4.0, "coupling": 4.0, "busy": 4.0},
        {"crossings": 4.0, "layers": 4.0, "coupling": 4.0, "neighbors": 4.0, "busy": 4.0},
    ),
    Style(
        "fewest",
        "a lug counts ten times, and a strip stays empty where it can",
        {"lugs": 10.0},
        {"lugs": 10.0},
        fewer_strips=True,
    ),
)


def plan_in_style(
    build: Build,
    style: Style,
    stored: Plan,
    *,
    joint_volts: Mapping[str, float],
    hardware: Hardware,
    frozen: Frozen = NOTHING_YET,
) -> Plan:
    """Return the best plan in a style, around what is soldered: one made for it, or the stored one.

    Raises
    ------
    PlanError
        A plan cannot be made for it.
    """
    weights = dict(build.wishes.weights)
    for term, factor in style.search.items():
        weights[term] = weights.get(term, 1.0) * factor
    weighted = replace(build, wishes=replace(build.wishes, weights=weights))
    planner = partial(plan_lugs, joint_volts=joint_volts, hardware=hardware, frozen=frozen)
    made = planner(weighted)
    if style.fewer_strips:
        may_do = partial(can_be_planned, joint_volts=joint_volts, hardware=hardware)
        made = _on_fewer_strips(weighted, made, planner, may_do)
    best = min(made, stored, key=lambda plan: _in_style(build, style, plan, joint_volts, hardware))
    kept = replace(best, strips=stored.strips, buses=stored.buses)
    return replace(kept, fingerprint=plan_fingerprint(build, joint_facts(build, joint_volts)))


def _in_style(
    build: Build, style: Style, plan: Plan, joint_volts: Mapping[str, float], hardware: Hardware
) -> tuple[int, float]:
    """Return what a plan is compared by: strips in use where a style minds them, then what it costs in the style."""
    strips = len(build.strips) - len(empty_strips(build, plan)) if style.fewer_strips else 0
    terms = own_terms(build, plan, joint_volts, hardware)
    return strips, sum(cost * style.counts.get(term, 1.0) for term, cost in terms.items())


def _on_fewer_strips(
    build: Build, plan: Plan, planner: Callable[[Build], Plan], may_do: Callable[[Build], bool]
) -> Plan:
    """Return a plan that leaves strips empty, as many as a few tries find."""
    empty = set(empty_strips(build, plan))
    tries, tried = 0, set(empty)
    while tries < STRIP_TRIES and (left := [s for s in _by_lugs_in_use(build, plan) if s not in tried]):
        tries += 1
        tried.add(left[0])
        off = tuple(sorted({*empty, left[0]}))
        wishes = replace(build.wishes, keep_off={**build.wishes.keep_off, **dict.fromkeys(build.joints, off)})
        without = replace(build, wishes=wishes)
        if not may_do(without):
            continue
        try:
            plan = planner(without)
        except PlanError:
            continue
        empty.update(off)
    return plan


def _by_lugs_in_use(build: Build, plan: Plan) -> list[str]:
    """Return the strips, those with fewest lugs in use first."""
    used = {strip.name: 0 for strip in build.strips}
    for t in plan.terminals.values():
        if t.kind == "lug" and t.joint and t.owner in used:
            used[t.owner] += 1
    return sorted(used, key=lambda name: (used[name], name))


def empty_strips(build: Build, plan: Plan) -> tuple[str, ...]:
    """Return the strips that a plan does without: nothing is soldered to them."""
    return tuple(
        strip.name
        for strip in build.strips
        if not any(t.owner == strip.name and plan.leads_at(key) for key, t in plan.terminals.items())
    )
