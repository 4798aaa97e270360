"""``lugwright strips``: terminal strips and ground bus, as they may be put into the build file."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import click

from lugwright.cli.printing import at_work
from lugwright.cli.session import build_file, emit, json_option, leave, opened_build, writing

if TYPE_CHECKING:
    from lugwright.cli.reports import StripsReport
    from lugwright.layout.results import BusUse, StripUse

_USUAL_TYPE = "strip 9.5"
_JOINTS_NAMED = 4


@click.command()
@build_file
@click.option(
    "--afresh",
    is_flag=True,
    help="Propose strips and bus as though the build file stated none; nothing is written.",
)
@json_option
def command(build_file: Path, afresh: bool, as_json: bool) -> None:
    """Propose the strips and the bus that the build file leaves open; print all as a table for it.

    What is proposed is kept in NAME.plan.json, so that it stays where it is.
    """
    from lugwright.cli.reports import StripsReport
    from lugwright.workflow import without_strips, write_plan

    opened = opened_build(build_file)
    if afresh:
        opened = without_strips(opened)
    with at_work("finding places for strips"):
        uses, buses, lugs, plan = opened.strip_uses, opened.bus_uses, opened.lug_count, opened.plan
    if not afresh:
        with writing():
            write_plan(opened)
    cost = sum(plan.cost.values())
    report = StripsReport(opened.written.title, opened.findings, uses, buses, lugs, cost)
    emit(report, as_json=as_json, text=lambda: strips_text(report))
    leave(opened.findings)


def strips_text(report: StripsReport) -> str:
    """Return strips and buses as TOML, what each carries beside it, and how many lugs are left."""
    lugs, count = report.lugs, len(report.strips)
    head = (
        f"# {report.build}: {lugs.used} lugs used and {lugs.spare} spare on {count} strip{'s' * (count != 1)} "
        f"(wanted spare: {lugs.spare_wanted}). No plan does with fewer than {lugs.least} lugs and free pins."
    )
    lines = [head, "[strips]", *_in_columns([_strip(strip) for strip in report.strips])]
    return "\n".join([*lines, "[bus]", *_in_columns([_bus(bus) for bus in report.buses])])


def _strip(strip: StripUse) -> tuple[str, str]:
    feet = ", ".join(str(foot) for foot in strip.feet)
    entry = f"{strip.name} = {{ lugs = {strip.lugs}, feet = [{feet}], at = {_point(strip.at)}"
    entry += f", turn = {strip.turn:g}" if strip.turn else ""
    entry += f', type = "{strip.type}"' if strip.type != _USUAL_TYPE else ""
    named = ", ".join(strip.joints[:_JOINTS_NAMED])
    more = f" and {len(strip.joints) - _JOINTS_NAMED} more" if len(strip.joints) > _JOINTS_NAMED else ""
    why = f"{'proposed, ' * strip.proposed}{strip.used} used, {strip.spare} spare: {named}{more}"
    return entry + " }", why if strip.joints else why.partition(":")[0]


def _bus(bus: BusUse) -> tuple[str, str]:
    points = ", ".join(_point(point) for point in bus.points)
    joint = f', joint = "{bus.joint}"' if bus.joint != bus.name else ""
    entry = f"{bus.name} = {{ points = [{points}], height = {bus.height_mm:g}{joint} }}"
    return entry, f"{'proposed, ' * bus.proposed}{bus.leads} leads and wires"


def _point(point: tuple[float, float]) -> str:
    return f"[{point[0]:g}, {point[1]:g}]"


def _in_columns(rows: list[tuple[str, str]]) -> Iterator[str]:
    wide = max((len(entry) for entry, _ in rows), default=0)
    return (f"{entry:{wide}}  # {why}" for entry, why in rows)
