"""``lugwright idle``: volts, currents and watts with mains on and no signal."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from lugwright.cli.printing import at_work, table
from lugwright.cli.session import build_file, certified, emit, json_option, leave, opened_build, set_option
from lugwright.cli.what_if import show_what_if
from lugwright.documents.compared import Quantity, idle_figures
from lugwright.quantities import with_unit

if TYPE_CHECKING:
    from collections.abc import Iterator

    from lugwright.circuit.operating import Idle
    from lugwright.circuit.rules.mains_swing import MainsRow
    from lugwright.workflow import Opened


@click.command()
@build_file
@set_option
@json_option
def command(build_file: Path, changes: tuple[str, ...], as_json: bool) -> None:
    """Compute the idle: volts at every joint, ripple, windings, tubes."""
    from lugwright.cli.reports import IdleReport

    if changes:
        show_what_if(build_file, changes, quantities, doing="computing the idle", as_json=as_json)
    opened = opened_build(build_file)
    with at_work("computing the idle"):
        idle = certified(opened.idle)
        rows = opened.mains_rows
        findings = (*opened.findings, *opened.mains_findings)
    report = IdleReport(opened.written.title, findings, idle, rows)
    emit(report, as_json=as_json, text=lambda: idle_text(opened.written.title, idle, rows))
    leave(findings)


def quantities(opened: Opened) -> Iterator[Quantity]:
    """Return every reading of an idle."""
    return idle_figures(certified(opened.idle))


def idle_text(title: str, idle: Idle, mains: tuple[MainsRow, ...] = ()) -> str:
    """Return the idle as plain tables."""
    certificate = idle.certificate
    return "\n\n".join(
        [
            f"{title}, mains on, no signal: {with_unit(idle.mains_rms_a, 'A')} and {with_unit(idle.mains_w, 'W')} "
            "from the mains",
            _joints(idle),
            _tubes(idle),
            _windings(idle),
            *([_mains(mains)] if mains else []),
            f"Certificate: {certificate.how}, {certificate.steps} steps; most current left over "
            f"{certificate.left_over_a:.2g} A at {certificate.worst_joint} (allowed {certificate.allowed_a:.2g} A).",
        ]
    )


def _joints(idle: Idle) -> str:
    rows = (
        (name, with_unit(joint.volts, "V", figures=4), with_unit(joint.ripple_peak_to_peak_v, "V"))
        for name, joint in idle.joints.items()
    )
    return table(("joint", "DC", "ripple p-p"), rows, right="lrr")


def _tubes(idle: Idle) -> str:
    rows = (
        (
            tube.name,
            with_unit(tube.plate_to_cathode_v, "V") if tube.amplifies else "-",  # a rectifier's swings with the mains
            with_unit(tube.grid_to_cathode_v, "V") if tube.amplifies else "-",
            with_unit(tube.plate_a, "A"),
            "-" if tube.screen_to_cathode_v is None else with_unit(tube.screen_a, "A"),
            with_unit(tube.plate_w, "W"),
        )
        for tube in idle.tubes.values()
    )
    head = ("tube", "plate to cathode", "grid to cathode", "plate", "screen", "plate heat")
    return table(head, rows, right="lrrrrr")


def _mains(rows: tuple[MainsRow, ...]) -> str:
    lines = (
        (
            row.reading,
            *(with_unit(value, row.unit) for value in (row.low, row.nominal, row.high)),
            "-" if row.limit is None else with_unit(row.limit, row.unit),
        )
        for row in rows
    )
    return table(("reading", "mains -10 %", "nominal", "mains +10 %", "at most"), lines, right="lrrrr")


def _windings(idle: Idle) -> str:
    rows = (
        (
            winding.name,
            with_unit(winding.rms_v, "V"),
            with_unit(winding.rms_a, "A"),
            "-" if winding.rated_a is None else with_unit(winding.rated_a, "A"),
        )
        for winding in idle.windings.values()
    )
    return table(("winding", "RMS volts", "RMS amps", "rated"), rows, right="lrrr")
