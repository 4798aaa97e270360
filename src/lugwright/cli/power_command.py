"""``lugwright power``: watts, distortion and headroom over drive, and what full drive asks of tubes and supply."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import click

from lugwright.cli.numbers import Number
from lugwright.cli.printing import at_work, table
from lugwright.cli.session import build_file, certified, emit, json_option, leave, opened_build, set_option, writing
from lugwright.cli.what_if import only_as_built, show_what_if
from lugwright.documents.compared import Quantity, named_points, power_figures
from lugwright.quantities import with_unit

if TYPE_CHECKING:
    from lugwright.findings import Finding
    from lugwright.solve.power_results import Intermodulation, Power, PowerAtFrequency, PowerWish
    from lugwright.workflow import Opened

_SHOWN_HARMONICS = 7


@click.command()
@build_file
@click.option("--loudspeaker", is_flag=True, help="The loudspeaker model as the load in place of a resistor.")
@click.option("--hertz", type=Number(min=20.0, max=20e3), default=1000.0, show_default=True, metavar="HZ")
@click.option("--band", is_flag=True, help="Also the power at ten percent distortion from 40 Hz to 10 kHz.")
@click.option("--chart", type=click.Path(path_type=Path), metavar="FILE", help="Draw power over drive, as SVG.")
@set_option
@json_option
def command(
    build_file: Path, loudspeaker: bool, hertz: float, band: bool, chart: Path | None, changes: tuple[str, ...],
    as_json: bool,
) -> None:  # fmt: skip
    """Compute output power: a steady sine from the first input jack to the speaker, clean to well past clipping."""
    from lugwright.cli.reports import PowerReport
    from lugwright.solve.power_results import PowerWish

    wish = PowerWish(loudspeaker, hertz, band)
    if changes:
        only_as_built(chart=chart)
        show_what_if(build_file, changes, lambda opened: quantities(opened, wish), doing="computing the power",
                     as_json=as_json, findings=lambda opened: _findings(opened, opened.power_to(wish)))  # fmt: skip
    opened = opened_build(build_file)
    with at_work("computing the power"):
        certified(opened.idle)
        power = opened.power_to(wish)
        findings = _findings(opened, power)
    if chart is not None:
        from lugwright.documents.drawings.power_chart import band_chart_svg, power_chart_svg
        from lugwright.workflow import write_drawing

        with writing():
            write_drawing(chart, power_chart_svg(power))
            if power.over_frequency:
                beside = chart.with_name(f"{chart.stem}_band{chart.suffix}")
                write_drawing(beside, band_chart_svg(power))
    report = PowerReport(opened.written.title, findings, power, opened.driven_ratings_of(power))
    emit(report, as_json=as_json, text=lambda: power_text(opened.written.title, power))
    leave(findings)


def _findings(opened: Opened, power: Power) -> tuple[Finding, ...]:
    return (*opened.findings, *opened.driven_findings_of(power))


def quantities(opened: Opened, wish: PowerWish) -> Iterator[Quantity]:
    """Yield the figures of the power that a changed part may move."""
    certified(opened.idle)
    yield from power_figures(opened.power_to(wish))


def power_text(title: str, power: Power) -> str:
    """Return every answer as plain tables."""
    from lugwright.documents.book.power_pages import certificate_words, limit_words, load_words

    blocks = [
        f"{title}, a steady sine of {with_unit(power.hertz, 'Hz')} at {power.jack}, into {load_words(power)}",
        _summary(power),
        _points(power),
        limit_words(power),
        _harmonics(power),
        _tubes(power),
        _supply(power),
        *_intermodulation(power.intermodulation),
        *_band(power.over_frequency),
        *([f"No higher drive: {power.stopped_at}."] if power.stopped_at else []),
        certificate_words(power),
    ]
    return "\n\n".join(blocks)


def _summary(power: Power) -> str:
    rows = (
        (name, "-", "-", "-") if point is None
        else (name, with_unit(point.watts, "W"), with_unit(point.drive_rms_v, "V"), f"{point.distortion:.1%}")
        for name, point in named_points(power)
    )  # fmt: skip
    return table(("at", "power", f"drive at {power.jack}", "distortion"), rows, right="lrrr")


def _points(power: Power) -> str:
    first = next(iter(power.idle_b_plus_v), None)
    rows = (
        (with_unit(p.drive_rms_v, "V"), with_unit(p.watts, "W"), with_unit(p.speaker_rms_v, "V"), f"{p.distortion:.2%}",
         "-" if first is None else with_unit(p.b_plus_v[first], "V", figures=4), with_unit(p.supply_w, "W"))
        for p in power.points
    )  # fmt: skip
    return table(("drive", "power", "speaker", "distortion", first or "B+", "supply gives"), rows, right="rrrrrr")


def _harmonics(power: Power) -> str:
    chosen = [(name, point) for name, point in named_points(power) if point is not None]
    rows = ((str(n), *(f"{point.harmonics[n - 1]:.2%}" for _, point in chosen)) for n in range(2, _SHOWN_HARMONICS + 1))
    return table(("harmonic", *(name for name, _ in chosen)), rows, right="r" * (1 + len(chosen)))


def _tubes(power: Power) -> str:
    rows = (
        (tube.name, with_unit(tube.plate_a, "A"), with_unit(tube.screen_a, "A"), with_unit(tube.plate_w, "W"),
         with_unit(tube.screen_w, "W"), with_unit(tube.plate_peak_a, "A"), with_unit(tube.plate_low_v, "V"))
        for tube in power.full_drive.tubes.values()
        if tube.screen_a
    )  # fmt: skip
    head = ("at full drive", "plate", "screen", "plate heat", "screen heat", "plate peak", "plate down to")
    return table(head, rows, right="lrrrrrr")


def _supply(power: Power) -> str:
    rows = (
        (joint, with_unit(volts, "V", figures=4), with_unit(power.full_drive.b_plus_v[joint], "V", figures=4),
         with_unit(volts - power.full_drive.b_plus_v[joint], "V"))
        for joint, volts in power.idle_b_plus_v.items()
    )  # fmt: skip
    return table(("", "idle", "full drive", "sag"), rows, right="lrrr")


def _intermodulation(found: Intermodulation | None) -> list[str]:
    if found is None:
        return []
    rows = ((with_unit(hertz, "Hz"), f"{share:.2%}") for hertz, share in found.products)
    head = (
        f"Two tones, {with_unit(found.low_hz, 'Hz')} and {with_unit(found.high_hz, 'Hz')}, "
        f"{with_unit(found.drive_rms_v, 'V')} each: {with_unit(found.watts, 'W')}, products {found.total:.1%} in all"
    )
    return [f"{head}\n\n{table(('product', 'of one tone'), rows, right='rr')}"]


def _band(found: tuple[PowerAtFrequency, ...]) -> list[str]:
    rows = ((with_unit(p.hertz, "Hz"), with_unit(p.watts, "W"), with_unit(p.drive_rms_v, "V")) for p in found)
    return [table(("frequency", "power at 10 %", "drive"), rows, right="rrr")] if found else []
