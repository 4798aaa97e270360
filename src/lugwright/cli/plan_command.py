"""``lugwright plan``: lugs and wires, written beside the build file."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from lugwright.cli.printing import at_work, table
from lugwright.cli.session import build_file, emit, json_option, leave, opened_build, writing
from lugwright.quantities import with_unit

if TYPE_CHECKING:
    from lugwright.bringup.results import HeaterAtSocket
    from lugwright.cli.reports import PlanReport
    from lugwright.layout.explain_results import WorstPlace
    from lugwright.layout.results import Plan


@click.command()
@build_file
@json_option
def command(build_file: Path, as_json: bool) -> None:
    """Plan every lug, part and wire; write NAME.plan.json beside NAME.toml.

    A plan that is already there is kept as far as it still fits.
    """
    from lugwright.cli.reports import PlanReport
    from lugwright.workflow import write_plan

    opened = opened_build(build_file)
    with at_work("planning lugs and wires"):
        plan = opened.plan
        findings = (*opened.findings, *opened.plan_findings)
    with writing():
        file = write_plan(opened)
    report = PlanReport(opened.build.title, findings, str(file), plan, opened.heaters, opened.worst_places)
    emit(report, as_json=as_json, text=lambda: report_text(report))
    leave(findings)


def report_text(report: PlanReport) -> str:
    """Return everything the command prints, the tables in order."""
    tables = [plan_text(report.plan), heater_text(report.heaters), worst_text(report.worst_places)]
    return "\n\n".join([*(text for text in tables if text), f"written to {report.file}"])


def worst_text(places: tuple[WorstPlace, ...]) -> str:
    """Return for every layout rule where the plan comes nearest to breaking it."""
    rows = ((p.what, p.place, p.found, p.limit, "" if p.met else "no") for p in places)
    return table(("rule", "worst place", "found", "limit", "met"), rows)


def heater_text(heaters: tuple[HeaterAtSocket, ...]) -> str:
    """Return the heater volts at every socket as a plain table; nothing where no chain is planned."""
    rows = (
        (h.tube, with_unit(h.nominal_v, "V"), with_unit(h.volts, "V"), f"{h.volts / h.nominal_v - 1.0:+.1%}",
         with_unit(h.drop_v, "V"))
        for h in heaters
    )  # fmt: skip
    head = ("tube", "heater", "at the socket", "off by", "lost in the wires")
    return table(head, rows, right="lrrrr") if heaters else ""


def plan_text(plan: Plan) -> str:
    """Return lugs and wires as plain tables."""
    lugs = (
        (terminal.label, terminal.joint, ", ".join(plan.leads_at(key)))
        for key, terminal in plan.terminals.items()
        if plan.leads_at(key)
    )
    wires = (
        (
            f"W{wire.number}",
            wire.joint,
            plan.terminals[wire.terminals[0]].label,
            plan.terminals[wire.terminals[1]].label,
            wire.type,
            wire.color,
            f"{wire.length_mm:.0f} mm",
            wire.twist,
        )
        for wire in plan.wires
    )
    head = ("wire", "joint", "from", "to", "type", "color", "length", "twist")
    total_m = sum(wire.length_mm for wire in plan.wires) / 1000.0
    return "\n\n".join(
        [
            f"{plan.build}: {len(plan.seats)} parts seated, {len(plan.wires)} wires ({total_m:.1f} m), "
            f"{len(plan.spare_lugs)} lugs to spare",
            table(("lug", "joint", "leads"), lugs),
            table(head, wires, right="llllllr"),
            *(f"note: {text}" for text in plan.notes),
        ]
    )
