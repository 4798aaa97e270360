"""``lugwright curves``: plate curves, load lines and limits of every tube section."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from lugwright.cli.printing import at_work, table
from lugwright.cli.session import build_file, certified, emit, json_option, leave, opened_build, set_option, writing
from lugwright.cli.what_if import only_as_built, show_what_if
from lugwright.documents.compared import Quantity
from lugwright.quantities import with_unit

if TYPE_CHECKING:
    from lugwright.solve.results import PlateCurves
    from lugwright.workflow import Opened


@click.command()
@build_file
@set_option
@click.option("--tube", "tube", metavar="TUBE", help="Only this tube or section, such as V5 or V1a.")
@click.option("--out", type=click.Path(path_type=Path), metavar="FOLDER", help="Write the charts there, as SVG.")
@json_option
def command(build_file: Path, changes: tuple[str, ...], tube: str | None, out: Path | None, as_json: bool) -> None:
    """Compute where each tube stands on its plate curves, and what it works into."""
    from lugwright.cli.reports import CurvesReport
    from lugwright.workflow import write_plate_curves

    if changes:
        only_as_built(out=out)
        show_what_if(build_file, changes, lambda o: quantities(o, tube), doing="computing the idle", as_json=as_json)
    opened = opened_build(build_file)
    with at_work("computing the idle"):
        certified(opened.idle)
        found = tuple(c for c in opened.plate_curves if tube is None or _is_of(c, tube))
        if not found:
            known = ", ".join(name for c in opened.plate_curves for name in c.together)
            raise click.BadParameter(f"no section {tube!r} conducts; there are {known or 'none'}", param_hint="--tube")
        files: tuple[str, ...] = ()
        if out is not None:
            with writing():
                files = tuple(str(f) for f in write_plate_curves(found, out))
    report = CurvesReport(opened.written.title, tuple(opened.findings), found, files)
    emit(report, as_json=as_json, text=lambda: curves_text(found, files))
    leave(opened.findings)


def quantities(opened: Opened, tube: str | None) -> Iterator[Quantity]:
    """Yield idle and loads of every section, or of one tube."""
    certified(opened.idle)
    for found in opened.plate_curves:
        for name in found.together if tube is None or _is_of(found, tube) else ():
            yield Quantity(f"{name} plate to cathode", found.idle_plate_v, "V")
            yield Quantity(f"{name} plate", found.idle_plate_a, "A")
            yield Quantity(f"{name} DC load", found.dc_ohm, "Ω")
            yield Quantity(f"{name} AC load", found.ac_ohm, "Ω")
            if found.ac_alone_ohm is not None:
                yield Quantity(f"{name} AC load, other cut off", found.ac_alone_ohm, "Ω")
            yield Quantity(f"{name} plate at 0 V on the grid", found.grid_zero_v, "V")
            yield Quantity(f"{name} current at 0 V on the grid", found.grid_zero_a, "A")


def _is_of(curves: PlateCurves, tube: str) -> bool:
    return any(tube in (name, name[:-1] if name[-1:].isalpha() else name) for name in curves.together)


def curves_text(found: Sequence[PlateCurves], files: Sequence[str]) -> str:
    """Return idle, loads and limits as a table."""
    rows = (
        (
            ", ".join(c.together),
            c.type,
            "-" if c.screen_v is None else f"{c.screen_v:.0f} V",
            f"{c.idle_plate_v:.0f} V",
            with_unit(c.idle_plate_a, "A"),
            f"{c.idle_grid_v:.3g} V",
            with_unit(c.idle_plate_v * c.idle_plate_a, "W"),
            "-" if c.plate_w_limit is None else f"{c.plate_w_limit:g} W",
            with_unit(c.dc_ohm, "Ω"),
            with_unit(c.ac_ohm, "Ω"),
            "-" if c.ac_alone_ohm is None else with_unit(c.ac_alone_ohm, "Ω"),
            f"{c.grid_zero_v:.0f} V, {with_unit(c.grid_zero_a, 'A')}",
        )
        for c in found
    )
    head = ("tube", "type", "screen", "plate", "current", "grid", "heat", "limit", "DC load", "AC load",
            "other cut off", "grid at 0 V")  # fmt: skip
    text = table(head, rows, right="llrrrrrrrrrr")
    return text + ("\n\nWritten:\n" + "\n".join(f"  {name}" for name in files) if files else "")
