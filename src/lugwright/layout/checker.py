"""Check any plan against its build, from the records alone: the planner's own code is not used."""

from __future__ import annotations

from collections.abc import Mapping

from lugwright.buildfile.build import Build
from lugwright.findings import Finding, sorted_by_grade
from lugwright.layout.check_holes import check_holes
from lugwright.layout.check_joints import check_joints
from lugwright.layout.check_metal import check_metal
from lugwright.layout.check_places import check_places
from lugwright.layout.check_routes import check_routes
from lugwright.layout.check_shields import check_shields
from lugwright.layout.check_stands import check_stands
from lugwright.layout.check_volts import volts_of
from lugwright.layout.check_wires import check_wires
from lugwright.layout.hardware import Hardware, hardware_for
from lugwright.layout.results import Plan


def check_plan(
    build: Build, plan: Plan, *, joint_volts: Mapping[str, float], hardware: Hardware | None = None
) -> list[Finding]:
    """Return everything wrong with a plan, worst first; an empty list is the proof that it can be wired from."""
    hardware = hardware or hardware_for(build)
    volts = volts_of(build, joint_volts)
    return sorted_by_grade(
        [
            *check_joints(build, plan, volts.mains),
            *check_metal(build, plan, hardware),
            *check_places(build, hardware),
            *check_holes(build, plan, hardware),
            *check_stands(build, plan, hardware),
            *check_wires(build, plan, volts, hardware),
            *check_routes(build, plan, hardware),
            *check_shields(plan, hardware),
        ]
    )
