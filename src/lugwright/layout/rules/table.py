"""All layout rules, one line each."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping

from lugwright.buildfile.build import Build
from lugwright.findings import Finding, sorted_by_grade
from lugwright.layout.joint_classes import joint_classes
from lugwright.layout.results import Plan
from lugwright.layout.rules.bus_order import bus_order
from lugwright.layout.rules.busy_lug import busy_lug
from lugwright.layout.rules.case import Case
from lugwright.layout.rules.charging_loop import charging_loop
from lugwright.layout.rules.grid_lead import grid_lead_length, grid_stopper_on_pin
from lugwright.layout.rules.near_grid import heater_beside_grid, mains_beside_signal, plate_beside_grid
from lugwright.layout.rules.parts_hang import heavy_part, hot_resistor_near_capacitor, unsupported_lead
from lugwright.layout.rules.spare_lugs import spare_lugs

RULES: tuple[Callable[[Case], Iterator[Finding]], ...] = (
    busy_lug,
    spare_lugs,
    grid_lead_length,
    grid_stopper_on_pin,
    plate_beside_grid,
    heater_beside_grid,
    mains_beside_signal,
    hot_resistor_near_capacitor,
    heavy_part,
    unsupported_lead,
    bus_order,
    charging_loop,
)


def layout_findings(build: Build, plan: Plan, *, joint_volts: Mapping[str, float]) -> list[Finding]:
    """Return what the layout rules say of a plan, worst first."""
    case = Case(build, plan, joint_classes(build, joint_volts))
    return sorted_by_grade([finding for rule in RULES for finding in rule(case)])
