"""``lugwright bias``: how the idle current of the output tubes is set."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from lugwright.cli.printing import at_work, table
from lugwright.cli.session import build_file, certified, emit, json_option, leave, opened_build, set_option
from lugwright.cli.what_if import Quantity, show_what_if
from lugwright.quantities import with_unit

if TYPE_CHECKING:
    from collections.abc import Iterator

    from lugwright.bringup.results import IdleSetting
    from lugwright.workflow import Opened

_NOTHING = "This amplifier has no output tube whose idle is set or read."


@click.command()
@build_file
@set_option
@json_option
def command(build_file: Path, changes: tuple[str, ...], as_json: bool) -> None:
    """Compute where the idle of each output tube is read, what it is, and what the control can do."""
    from lugwright.cli.reports import BiasReport

    if changes:
        show_what_if(build_file, changes, quantities, doing="computing the idle setting", as_json=as_json)
    opened = opened_build(build_file)
    with at_work("computing the idle setting"):
        certified(opened.idle)
        setting = opened.idle_setting
    report = BiasReport(opened.written.title, tuple(opened.findings), setting)
    emit(report, as_json=as_json, text=lambda: setting_text(setting) if setting else _NOTHING)
    leave(opened.findings)


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


def setting_text(setting: IdleSetting) -> str:
    """Return the idle setting as plain tables."""
    rows = (
        (
            row.tube,
            row.cathode_point,
            with_unit(row.cathode_v, "V") if row.cathode_reading_mv is None else f"{row.cathode_reading_mv:.1f} mV",
            with_unit(row.plate_a, "A"),
            with_unit(row.plate_to_cathode_v, "V"),
            f"{row.plate_w:.1f} W of {row.plate_limit_w:g} W",
            f"{row.share:.0%} ({row.low_share:.0%} to {row.high_share:.0%})",
        )
        for row in setting.rows
    )
    head = ("tube", "read at", "reads", "plate", "plate to cathode", "plate heat", "share (tube spread)")
    blocks = [f"Method: {setting.method}. Target: {setting.target}", table(head, rows, right="llrrrr")]
    if setting.bias_range:
        travel = ((c, f"{share:.0%}", f"{grid_v:.1f} V", f"{ma:.1f} mA") for c, share, grid_v, ma in setting.bias_range)
        blocks.append(table(("control", "rotation", "grid", "plate of one tube"), travel, right="lrrr"))
    return "\n\n".join([*blocks, *(f"caution: {text}" for text in setting.cautions)])
