"""What a page about the plan needs of a build: whether its stored plan stands, its drawing, how high its joints are."""

from __future__ import annotations

import math
from collections.abc import Mapping

from lugwright.buildfile.build import Build
from lugwright.documents.drawings.wiring_side import WiringSide, wiring_side
from lugwright.layout.joint_classes import joint_facts
from lugwright.layout.results import Plan
from lugwright.workflow.opened import Opened
from lugwright.workorder.results import WorkOrder

MOST_SIDES = 4
_SIDES: list[tuple[Plan, WiringSide]] = []  # drawn of late: placing the labels takes seconds, asking again nothing


def plan_stands(opened: Opened) -> bool:
    """Return whether the stored plan is the plan of the build as it is now, so that none has to be made."""
    stored = opened.fresh_plan
    return stored is not None and opened.bench_log.frozen.is_in(stored)


def side_of(opened: Opened) -> WiringSide:
    """Return the wiring side of a build with its plan, labels placed."""
    return side_of_plan(opened.build, opened.plan, opened, opened.work_order)


def side_of_plan(build: Build, plan: Plan, opened: Opened, order: WorkOrder) -> WiringSide:
    """Return the wiring side of another plan of a build; drawn once for each plan."""
    for kept, side in _SIDES:
        if kept is plan:
            return side
    side = wiring_side(build, plan, opened.hardware, order=order)
    _SIDES.append((plan, side))
    del _SIDES[:-MOST_SIDES]
    return side


def worst_volts(opened: Opened) -> Mapping[str, float]:
    """Return how far each joint gets from ground at worst: cold or warm, high mains, ripple and mains included."""
    facts = joint_facts(opened.build, opened.joint_volts)
    return {joint: abs(fact.dc_v) + math.sqrt(2.0) * fact.ac_v for joint, fact in facts.items()}
