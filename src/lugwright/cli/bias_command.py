"""``lugwright bias``: how the idle current of the output tubes is set, and what readings say of it."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from lugwright.cli.printing import at_work
from lugwright.cli.session import (
    build_file,
    certified,
    emit,
    json_option,
    leave,
    opened_build,
    set_option,
)
from lugwright.cli.what_if import only_as_built, show_what_if
from lugwright.documents.compared import Quantity

if TYPE_CHECKING:
    from collections.abc import Iterator

    from lugwright.workflow import Opened

MIDDLE = "middle"
_NOTHING = "This amplifier has no output tube whose idle is set or read."


@click.command()
@build_file
@click.option(
    "--reading",
    "readings",
    multiple=True,
    metavar="TEXT",
    help="What a meter shows at idle: 'V5 = 34.2 mV', 'V5 plate = 405 V', 'V5 primary = 2.6 V'. May be given more than "
    "once.",
)
@click.option(
    "--target",
    default=MIDDLE,
    metavar="TEXT",
    help="Where to idle: cool, middle or hot within the usual band, or a share of the plate limit such as 60%.",
)
@click.option("--computed", is_flag=True, help="As computed, also when the log holds readings of the idle.")
@set_option
@json_option
def command(
    build_file: Path, readings: tuple[str, ...], target: str, computed: bool, changes: tuple[str, ...], as_json: bool
) -> None:
    """Compute where the idle of each output tube is read, what it is, and what the control can do.

    With readings, given here or found in the log: what they say of each tube, and how far to turn the control.
    """
    from lugwright.cli.bias_text import measured_text, setting_text
    from lugwright.cli.reports import BiasReport

    if changes:
        only_as_built(reading=readings, target=target if target != MIDDLE else "")
        show_what_if(build_file, changes, quantities, doing="computing the idle setting", as_json=as_json)
    from lugwright.workflow import measured_idle, setting_for

    opened = opened_build(build_file)
    with at_work("computing the idle setting"):
        certified(opened.idle)
        setting = setting_for(opened, target)
        measured = None if computed else measured_idle(opened, readings, target)
    findings = (*opened.findings, *(measured.findings if measured else ()))
    title = opened.written.title
    report = BiasReport(title, findings, setting, measured)

    def text() -> str:
        if measured is not None:
            return measured_text(title, measured, setting.cautions if setting else ())
        return setting_text(setting) if setting else _NOTHING

    emit(report, as_json=as_json, text=text)
    leave(findings)


def quantities(opened: Opened) -> Iterator[Quantity]:
    """Yield every reading of the idle setting, and what the control does."""
    certified(opened.idle)
    setting = opened.idle_setting
    for row in setting.rows if setting else ():
        yield Quantity(f"{row.tube} reads at the cathode", row.cathode_reading_mv, "mV")
        yield Quantity(f"{row.tube} cathode to ground", row.cathode_v, "V")
        yield Quantity(f"{row.tube} plate", row.plate_a, "A")
        yield Quantity(f"{row.tube} plate to cathode", row.plate_to_cathode_v, "V")
        yield Quantity(f"{row.tube} plate heat", row.plate_w, "W", f"{row.share:.0%}")
    for control, share, grid_v, plate_ma in setting.bias_range if setting else ():
        yield Quantity(f"{control} at {share:.0%}, grid", grid_v, "V")
        yield Quantity(f"{control} at {share:.0%}, plate of one tube", plate_ma, "mA")
