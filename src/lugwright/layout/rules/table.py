"""All layout rules, one line each. A rule answers with its worst place and its findings."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from lugwright.buildfile.build import Build
from lugwright.findings import Finding, sorted_by_grade
from lugwright.layout.explain_results import WorstPlace
from lugwright.layout.hardware import Hardware
from lugwright.layout.results import Plan
from lugwright.layout.rules.bare_lead_near_lug import bare_lead_near_lug
from lugwright.layout.rules.bus_order import bus_order
from lugwright.layout.rules.busy_lug import busy_lug
from lugwright.layout.rules.case import Case, Judged, case_of
from lugwright.layout.rules.cathode_lead_length import cathode_lead_length
from lugwright.layout.rules.charging_loop import charging_loop
from lugwright.layout.rules.covered_joint import covered_joint
from lugwright.layout.rules.creepage_margin import creepage_margin
from lugwright.layout.rules.grid_lead_length import grid_lead_length
from lugwright.layout.rules.grid_stopper_on_pin import grid_stopper_on_pin
from lugwright.layout.rules.heater_chain_order import heater_chain_order
from lugwright.layout.rules.heater_near_grid import heater_near_grid
from lugwright.layout.rules.heavy_part import heavy_part
from lugwright.layout.rules.hot_near_electrolytic import hot_near_electrolytic
from lugwright.layout.rules.input_lead_shield import input_lead_shield
from lugwright.layout.rules.mains_near_signal import mains_near_signal
from lugwright.layout.rules.output_near_grid import output_near_grid
from lugwright.layout.rules.plate_beside_grid import plate_beside_grid
from lugwright.layout.rules.polarity_readable import polarity_readable
from lugwright.layout.rules.spare_lugs import spare_lugs
from lugwright.layout.rules.stacked_bodies import stacked_bodies
from lugwright.layout.rules.star_returns import star_returns
from lugwright.layout.rules.terminal_room import terminal_room
from lugwright.layout.rules.unsupported_lead import unsupported_lead

RULES: tuple[Callable[[Case], Judged], ...] = (
    creepage_margin,
    grid_lead_length,
    grid_stopper_on_pin,
    plate_beside_grid,
    heater_near_grid,
    mains_near_signal,
    output_near_grid,
    input_lead_shield,
    heater_chain_order,
    cathode_lead_length,
    bus_order,
    star_returns,
    charging_loop,
    hot_near_electrolytic,
    heavy_part,
    unsupported_lead,
    bare_lead_near_lug,
    terminal_room,
    busy_lug,
    covered_joint,
    polarity_readable,
    stacked_bodies,
    spare_lugs,
)


def judged(
    build: Build, plan: Plan, *, joint_volts: Mapping[str, float], hardware: Hardware | None = None
) -> tuple[tuple[WorstPlace, ...], tuple[Finding, ...]]:
    """Return the worst place of every rule that has one, in the order of the table, and all findings, worst first."""
    case = case_of(build, plan, joint_volts, hardware)
    answers = [rule(case) for rule in RULES]
    findings = sorted_by_grade([finding for answer in answers for finding in answer.findings])
    return tuple(answer.worst for answer in answers if answer.worst is not None), tuple(findings)


def layout_findings(
    build: Build, plan: Plan, *, joint_volts: Mapping[str, float], hardware: Hardware | None = None
) -> list[Finding]:
    """Return what the layout rules say of a plan, worst first."""
    return list(judged(build, plan, joint_volts=joint_volts, hardware=hardware)[1])
