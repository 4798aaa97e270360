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

    from lugwright.workflow import Opened

_CAUTION = "Plug out, every capacitor measured below 60 V, no tube in any socket: only then the ohmmeter."


@click.command()
@build_file
@set_option
@json_option
def command(build_file: Path, changes: tuple[str, ...], as_json: bool) -> None:
    """Compute what an ohmmeter reads from each pin and lug to ground, plug out."""
    from lugwright.cli.readings import reading_table
    from lugwright.cli.reports import OhmsReport

    if changes:
        show_what_if(build_file, changes, quantities, doing="computing the ohms chart", as_json=as_json)
    opened = opened_build(build_file)
    with at_work("computing the ohms chart"):
        chart = opened.ohms_chart
    report = OhmsReport(opened.written.title, tuple(opened.findings), chart)
    emit(
        report,
        as_json=as_json,
        text=lambda: f"{_CAUTION}\nMeter: {chart.meter}\n\n{reading_table(chart.readings)}",
    )
    leave(opened.findings)


def quantities(opened: Opened) -> Iterator[Quantity]:
    """Yield every reading of the ohms chart."""
    for reading in opened.ohms_chart.readings:
        yield Quantity(f"{reading.point} {reading.quantity}", reading.expected, reading.unit)
