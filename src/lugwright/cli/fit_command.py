"""``lugwright fit``: measured tubes against the published average, and matched sets."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from lugwright.cli import exits
from lugwright.cli.numbers import Number
from lugwright.cli.printing import at_work, print_findings, table
from lugwright.cli.session import emit, json_option, leave, writing
from lugwright.quantities import with_unit

if TYPE_CHECKING:
    from lugwright.solve.results import FittedReading, Matching, SpecimenFit, TubeGroup

SIZES = {"pairs": 2, "quads": 4}
CAUTION = (
    "Readings are taken with hundreds of volts at the socket: clip the meters on with the plug out and every filter "
    "capacitor below 60 V, one hand in the pocket."
)
MOST_V = 2000.0  # of any receiving tube


@click.command()
@click.argument("readings", type=click.Path(path_type=Path))
@click.option("--type", "kind", required=True, metavar="TUBE", help="Tube type, such as 6L6GC.")
@click.option("--match", "match", type=click.Choice(list(SIZES)), help="Sort the tubes into pairs or quads.")
@click.option("--within", type=Number(min=0.1, max=100.0), metavar="PERCENT",
              help="Put no two together that differ by more.")  # fmt: skip
@click.option("--at", "at", metavar="PLATE,SCREEN,GRID", help="Volts to compare the tubes at, such as 405,400,-41.")
@click.option("--idle-of", "idle_of", type=(click.Path(path_type=Path), str), metavar="BUILD_FILE TUBE",
              help="Compare them at the idle of this tube of a build, such as amp.toml V5.")  # fmt: skip
@click.option("--accuracy", type=Number(min=0.1, max=20.0), default=2.0, show_default=True,
              metavar="PERCENT", help="Of the current readings.")  # fmt: skip
@click.option("--out", type=click.Path(path_type=Path), metavar="FOLDER", help="Write charts and a snippet there.")
@json_option
def command(
    readings: Path, kind: str, match: str | None, within: float | None, at: str | None,
    idle_of: tuple[Path, str] | None, accuracy: float, out: Path | None, as_json: bool,
) -> None:  # fmt: skip
    """Fit tubes to their readings, a CSV file with the columns tube, grid_v, plate_v, screen_v, plate_ma."""
    from lugwright.cli.reports import FitReport
    from lugwright.workflow import fitted_tubes, matched_tubes, write_fits

    if at and idle_of:
        raise click.UsageError("--at and --idle-of both name the volts; give one")
    with at_work("fitting") as progress:
        answer = fitted_tubes(readings, kind, at=_volts(at), idle_of=idle_of, accuracy=accuracy / 100.0)
        if not answer.fits:
            print_findings(answer.findings)
            click.get_current_context().exit(exits.UNREADABLE)
        progress("matching")
        share = None if within is None else within / 100.0
        matching = matched_tubes(answer.fits, size=SIZES[match], within=share) if match else None
        files: tuple[str, ...] = ()
        if out is not None:
            with writing():
                files = tuple(str(f) for f in write_fits(answer.fits, out))
    report = FitReport(answer.fits[0].type, answer.findings, answer.fits, matching, files)
    emit(report, as_json=as_json, text=lambda: fit_text(answer.fits, matching, files))
    leave(answer.findings)


def _volts(text: str | None) -> tuple[float, float | None, float] | None:
    if text is None:
        return None
    try:
        values = [float(v) for v in text.split(",")]
        plate, grid = values[0], values[-1]
        if len(values) not in (2, 3) or not -MOST_V <= grid <= 0 or not all(0 < v <= MOST_V for v in values[:-1]):
            raise ValueError
    except ValueError:
        raise click.BadParameter(
            f"{text!r} is not plate, screen and grid volts such as 405,400,-41 (triodes: 250,-2)", param_hint="--at"
        ) from None
    return plate, values[1] if len(values) == 3 else None, grid


def fit_text(fits: Sequence[SpecimenFit], matching: Matching | None, files: Sequence[str]) -> str:
    """Return what the readings say of each tube, then the matched sets."""
    blocks = [CAUTION, *(block for fit in fits for block in _one(fit)), _compared(fits)]
    blocks += [_matched(matching)] if matching is not None else []
    blocks += ["Written:\n" + "\n".join(f"  {name}" for name in files)] if files else []
    return "\n\n".join(blocks)


def _one(fit: SpecimenFit) -> Iterator[str]:
    from lugwright.documents.measured_tube import measured_words

    yield f"{fit.tube} ({fit.type}): the fit is {100.0 * fit.typical_off:.1f} % off its readings (rms)"
    rows = (
        (a.name, _figure(a.name, a.value), f"{_figure(a.name, a.low)} to {_figure(a.name, a.high)}",
         "" if a.told else "the readings do not tell; published kept as far as they allow")
        for a in fit.adjustments
    )  # fmt: skip
    yield table(("against published", "best", "19 of 20 times", ""), rows, right="lrr")
    yield _readings(fit.readings)
    yield f"For the build file: {measured_words(fit)}"


def _figure(name: str, value: float) -> str:
    return f"{value:+.2f} V" if name == "shift_v" else f"{value:.3f}"


def _readings(readings: Sequence[FittedReading]) -> str:
    rows = (
        (
            str(r.line), f"{r.grid_v:g}", f"{r.plate_v:g}", "-" if r.screen_v is None else f"{r.screen_v:g}",
            r.electrode, f"{1e3 * r.read_a:.2f}", f"{1e3 * r.fitted_a:.2f}", f"{1e3 * r.published_a:.2f}",
            "left out: it does not agree with the others; read it again" if r.doubtful else "",
        )
        for r in readings
    )  # fmt: skip
    head = ("line", "grid V", "plate V", "screen V", "current", "read mA", "fitted mA", "published mA", "")
    return table(head, rows, right="rrrrlrrr")


def _compared(fits: Sequence[SpecimenFit]) -> str:
    point = fits[0].point
    screen = "" if point.screen_v is None else f", screen {point.screen_v:.4g} V"
    rows = (
        (
            fit.tube,
            f"{1e3 * fit.plate_a:.2f} ± {1e3 * fit.plate_error_a:.2f} mA",
            f"{1e3 * fit.transconductance_a_per_v:.2f} ± {1e3 * fit.transconductance_error_a_per_v:.2f} mA/V",
        )
        for fit in fits
    )
    volts = f"plate {point.plate_v:.4g} V{screen}, grid {point.grid_v:.4g} V"
    return f"At {volts} ({point.why}):\n" + table(("tube", "plate current", "transconductance"), rows, right="lrr")


def _matched(matching: Matching) -> str:
    word = "pair" if matching.size == 2 else "quad"
    limit = "" if matching.within is None else f", none farther apart than {100.0 * matching.within:g} %"
    rows = [_group_row(group) for group in matching.groups]
    head = (word, "plate currents", "apart", "%", "transconductance apart, %")
    lines = [f"Matched into {word}s{limit}:", table(head, rows, right="llrrr") if rows else f"no {word} can be made"]
    lines += [f"without a match: {', '.join(matching.left_over)}"] if matching.left_over else []
    return "\n".join(lines)


def _group_row(group: TubeGroup) -> tuple[str, ...]:
    return (
        " + ".join(group.tubes),
        ", ".join(f"{1e3 * a:.1f}" for a in group.plate_a) + " mA",
        with_unit(group.difference_a, "A"),
        f"{100.0 * group.difference:.1f}",
        f"{100.0 * group.transconductance_difference:.1f}",
    )
