"""Charts and snippets written on their own, beside a command."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from lugwright.circuit.starting import Start
from lugwright.documents.drawings.plate_curves import plate_curves_svg
from lugwright.documents.drawings.specimen_chart import specimen_chart_svg
from lugwright.documents.drawings.start_chart import decay_chart_svg, start_chart_svg
from lugwright.documents.measured_tube import measured_toml
from lugwright.solve.results import PlateCurves, SpecimenFit
from lugwright.workflow.files import write_whole


def write_drawing(path: Path, svg: str) -> None:
    """Write one drawing whole.

    Raises
    ------
    FileAccessError
        It cannot be written; what was there before is untouched.
    """
    write_whole(path, svg.encode())


def write_start(start: Start, others: Sequence[Start], out: Path) -> list[Path]:
    """Write the plots of a start into a folder and return the files.

    Raises
    ------
    FileAccessError
        A file cannot be written.
    """
    charts = {"start.svg": start_chart_svg(start), "switch_off.svg": decay_chart_svg(start)}
    for count, other in enumerate(others, start=1):
        charts[f"start_other_{count}.svg"] = start_chart_svg(other, title=f"After switch-on, {other.how}")
    for name, svg in charts.items():
        write_whole(out / name, svg.encode())
    return [out / name for name in charts]


def write_plate_curves(found: Sequence[PlateCurves], out: Path) -> list[Path]:
    """Write the chart of each of some plate curves into a folder; return the files written."""
    written = []
    for curves in found:
        path = out / f"plate_{'_'.join(curves.together)}.svg"
        write_whole(path, plate_curves_svg(curves).encode())
        written.append(path)
    return written


def write_fits(fits: tuple[SpecimenFit, ...], out: Path) -> list[Path]:
    """Write each tube's charts and its snippet into a folder; return the files written."""
    written = []
    for count, fit in enumerate(fits, start=1):
        stem = f"{count:02d}_" + ("".join(c if c.isalnum() else "_" for c in fit.tube)[:40] or "tube")
        pages = {f"{stem}_{family.electrode}.svg": specimen_chart_svg(fit, family) for family in fit.families}
        for name, text in {**pages, f"{stem}.toml": measured_toml(fit)}.items():
            write_whole(out / name, text.encode())
            written.append(out / name)
    return written
