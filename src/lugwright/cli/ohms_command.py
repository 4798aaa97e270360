"""``lugwright ohms``: the ohms chart."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from lugwright.cli.printing import at_work
from lugwright.cli.session import build_file, emit, json_option, leave, opened_build, set_option
from lugwright.cli.what_if import show_what_if
from lugwright.documents.compared import Quantity

if TYPE_CHECKING:
    from collections.abc import Iterator

    from lugwright.bringup.results import OhmsChart
    from lugwright.workflow import Opened

DOING = "computing the ohms chart"
_CAUTION = "Plug out, every capacitor measured below 60 V, no tube in any socket: only then the ohmmeter."


@click.command()
@build_file
@click.option(
    "--between",
    "points",
    multiple=True,
    metavar="POINTS",
    help='Only between these two: "V1 pin 6 to A.4", "B+1 to B+2", R12 (across it). May be given more than once.',
)
@set_option
@json_option
def command(build_file: Path, points: tuple[str, ...], changes: tuple[str, ...], as_json: bool) -> None:
    """Compute what an ohmmeter reads from each pin and lug to ground, or between any two points, plug out."""
    from lugwright.cli.readings import reading_table
    from lugwright.cli.reports import OhmsReport

    if changes:
        show_what_if(build_file, changes, lambda opened: quantities(opened, points), doing=DOING, as_json=as_json)
    opened = opened_build(build_file)
    with at_work(DOING):
        chart = _chart(opened, points)
    report = OhmsReport(opened.written.title, tuple(opened.findings), chart)
    emit(
        report,
        as_json=as_json,
        text=lambda: f"{_CAUTION}\nMeter: {chart.meter}\n\n{reading_table(chart.readings)}",
    )
    leave(opened.findings)


def _chart(opened: Opened, points: tuple[str, ...]) -> OhmsChart:
    if not points:
        return opened.ohms_chart
    from lugwright.workflow import ohms_at

    return ohms_at(opened, points)


def quantities(opened: Opened, points: tuple[str, ...] = ()) -> Iterator[Quantity]:
    """Yield every reading of the ohms chart, or those between some points."""
    for reading in _chart(opened, points).readings:
        yield Quantity(f"{reading.point} {reading.quantity}", reading.expected, reading.unit)
