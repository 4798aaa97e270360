"""Several plans of one build: laid side by side, or one of them chosen."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import replace

from lugwright.errors import PlanError
from lugwright.findings import Finding
from lugwright.layout.checker import check_plan
from lugwright.layout.explain_results import PlanFigures
from lugwright.layout.figures import plan_figures
from lugwright.layout.lug_plan import plan_lugs
from lugwright.layout.plan_file import plan_to_text
from lugwright.layout.results import Plan
from lugwright.layout.rules.table import layout_findings
from lugwright.layout.styles import STYLES, Style, plan_in_style
from lugwright.workflow.files import write_whole
from lugwright.workflow.opened import Opened

STORED = "stored"
Progress = Callable[[str], None]


def compared_plans(opened: Opened, progress: Progress = lambda _: None) -> tuple[PlanFigures, ...]:
    """Return the stored plan and one of each style in figures; a style without a plan is left out."""
    progress("planning: stored")
    found = [_figures(opened, opened.plan, STORED, "the plan as it is now", 0.0)]
    for style in STYLES:
        progress(f"planning: {style.name}")
        began_s = time.perf_counter()
        try:
            plan = _in_style(opened, style)
        except PlanError:
            continue
        found.append(_figures(opened, plan, style.name, style.words, time.perf_counter() - began_s))
    return tuple(found)


def _in_style(opened: Opened, style: Style) -> Plan:
    return plan_in_style(
        opened.build, style, opened.plan, joint_volts=opened.joint_volts, hardware=opened.hardware,
        frozen=opened.bench_log.frozen,
    )  # fmt: skip


def _figures(opened: Opened, plan: Plan, name: str, words: str, seconds: float) -> PlanFigures:
    return plan_figures(
        opened.build, plan, _findings(opened, plan), name=name, words=words, seconds=seconds,
        joint_volts=opened.joint_volts, hardware=opened.hardware,
    )  # fmt: skip


def _findings(opened: Opened, plan: Plan) -> list[Finding]:
    checked = check_plan(opened.build, plan, joint_volts=opened.joint_volts, hardware=opened.hardware)
    return [*checked, *layout_findings(opened.build, plan, joint_volts=opened.joint_volts, hardware=opened.hardware)]


def choose_plan(opened: Opened, name: str) -> Opened:
    """Plan in a style, write that plan beside the build file in place of the stored one, and open the build again.

    Raises
    ------
    PlanError
        There is no such plan.
    FileAccessError
        It cannot be written; what was there before is untouched.
    """
    return _put_down(opened, _in_style(opened, next(style for style in STYLES if style.name == name)))


def plan_afresh(opened: Opened) -> Opened:
    """Plan without a look at the stored plan, around what is soldered; write it and open the build again.

    Raises
    ------
    PlanError
        There is no plan.
    FileAccessError
        It cannot be written; what was there before is untouched.
    """
    plan = plan_lugs(
        opened.build, joint_volts=opened.joint_volts, hardware=opened.hardware, frozen=opened.bench_log.frozen
    )
    stored = opened.plan
    return _put_down(opened, replace(plan, strips=stored.strips, buses=stored.buses))


def _put_down(opened: Opened, plan: Plan) -> Opened:
    write_whole(opened.plan_path, plan_to_text(plan).encode())
    return replace(opened)
