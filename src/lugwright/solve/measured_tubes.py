"""Every tube of a file of readings: fitted, compared at one operating point, with curves to draw."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from itertools import groupby

import numpy as np

from lugwright.buildfile.tube_readings import TubeReading
from lugwright.catalogue.records import PentodeLaw, TriodeLaw, TubeType
from lugwright.circuit.tubes.drive import Array
from lugwright.circuit.tubes.specimen import specimen_law
from lugwright.errors import FitError
from lugwright.findings import Finding, Grade, Place
from lugwright.solve.results import CurveFamily, CurveLine, FittedReading, OperatingPoint, SpecimenFit
from lugwright.solve.specimen_fit import (
    ACCURACY,
    SURE,
    Fit,
    Readings,
    adjustments,
    at_point,
    chosen,
    fit_without_slips,
    law_of,
    modeled,
    readings_of,
    specimen_of,
)

CURVE_POINTS = 61
FAR_OFF = 0.25  # rms of the residuals, as a share of the readings
Volts = tuple[float, float | None, float]


def fit_tubes(
    tube: TubeType, rows: Sequence[TubeReading], *, point: OperatingPoint | None = None, accuracy: float = ACCURACY
) -> tuple[SpecimenFit, ...]:
    """Return every tube of a file fitted, in the order of the file, all compared at one operating point.

    Raises
    ------
    FitError
        The type has no law, or the readings cannot be fitted.
    """
    law_of(tube)  # a type without one is refused before anything else is asked for
    point = point or usual_point(tube, rows)
    names = dict.fromkeys(row.tube for row in rows)
    return tuple(_fitted(tube, [row for row in rows if row.tube == name], point, accuracy) for name in names)


def usual_point(tube: TubeType, rows: Sequence[TubeReading]) -> OperatingPoint:
    """Return where to compare tubes when nobody says: where most of them were read, else the first published row.

    Of several such points the one that comes first in the file.
    """
    at: dict[Volts, set[str]] = {}
    for row in rows:
        at.setdefault((row.plate_v, row.screen_v, row.grid_v), set()).add(row.tube)
    tubes = len({row.tube for row in rows})
    best = max(at, key=lambda volts: len(at[volts]), default=None)
    if best is not None and (tubes == 1 or len(at[best]) > 1):
        return OperatingPoint(*best, "first reading" if tubes == 1 else f"read on {len(at[best])} of {tubes} tubes")
    for figures in tube.idle_figures:
        if {"plate_v", "grid_v"} <= set(figures):
            plate, screen, grid = figures["plate_v"], figures.get("screen_v"), figures["grid_v"]
            return OperatingPoint(plate, screen, grid, f"first published row of the {tube.name}")
    raise FitError(
        what="no operating point to compare the tubes at",
        found="readings at different volts, and no published row",
        wanted="plate, screen and grid volts",
        do="name them with --at",
    )


def doubts(fits: Sequence[SpecimenFit], file: str) -> tuple[Finding, ...]:
    """Return a finding for each tube whose readings are not those of its type."""
    return tuple(
        Finding(
            rule="not-that-type",
            grade=Grade.DOUBT,
            place=Place(file, fit.readings[0].line),
            source="docs/how_to/measure_a_tube.md",
            what=f"tube {fit.tube!r} does not behave like the published {fit.type}",
            found=f"line {worst.line}: {1e3 * worst.read_a:.3g} mA where the published tube has "
            f"{1e3 * worst.published_a:.3g} mA; the fit is {100.0 * fit.typical_off:.0f} % off its readings",
            wanted=f"a fit within {100.0 * FAR_OFF:.0f} % of the readings",
            do="check the type, the unit (mA), and that volts are against the cathode",
        )
        for fit in fits
        if fit.typical_off > FAR_OFF
        for worst in [max(fit.readings, key=_times_off)]
    )


def _times_off(reading: FittedReading) -> float:
    low, high = sorted((max(reading.read_a, 1e-9), max(reading.published_a, 1e-9)))
    return high / low


def _fitted(tube: TubeType, rows: Sequence[TubeReading], point: OperatingPoint, accuracy: float) -> SpecimenFit:
    readings = readings_of(rows, accuracy=accuracy)
    try:
        fit, slips = fit_without_slips(tube, readings)
    except FitError as error:
        what = f"tube {rows[0].tube!r}: {error.what}"
        raise FitError(what=what, found=error.found, wanted=error.wanted, do=error.do) from error
    specimen = specimen_of(fit.names, fit.best)
    said, published = (_current(law, readings) for law in (specimen_law(law_of(tube), specimen), law_of(tube)))
    kept = [k for k in range(len(readings.read_a)) if k not in slips]
    off = (said - readings.read_a)[kept] / np.maximum(readings.read_a[kept], readings.width_a[kept])
    value, deviation = at_point(tube, fit, plate_v=point.plate_v, screen_v=point.screen_v, grid_v=point.grid_v)
    screens = readings.screen_v if isinstance(tube.law, PentodeLaw) else None
    return SpecimenFit(
        tube=rows[0].tube,
        type=tube.name,
        specimen=specimen,
        adjustments=adjustments(fit),
        readings=tuple(
            FittedReading(
                line, electrode, float(readings.grid_v[k]), float(readings.plate_v[k]),
                None if screens is None else float(screens[k]), float(readings.read_a[k]), float(said[k]),
                float(published[k]), k in slips,
            )
            for k, (line, electrode) in enumerate(zip(readings.lines, readings.electrodes, strict=True))
        ),
        typical_off=float(np.sqrt(np.mean(off**2))),
        point=point,
        plate_a=float(value[0]),
        plate_error_a=float(SURE * deviation[0]),
        transconductance_a_per_v=float(value[1]),
        transconductance_error_a_per_v=float(SURE * deviation[1]),
        families=tuple(_families(tube, fit, readings)),
    )  # fmt: skip


def _current(law: object, readings: Readings) -> Array:
    if not isinstance(law, TriodeLaw | PentodeLaw):
        raise TypeError("no law to fit")
    return modeled(law, readings)[0]


def _families(tube: TubeType, fit: Fit, readings: Readings) -> Iterator[CurveFamily]:
    """Yield the curves of each electrode that was read: over plate volts, or over grid volts if those moved more."""
    fitted = specimen_law(law_of(tube), specimen_of(fit.names, fit.best))
    for electrode in dict.fromkeys(readings.electrodes):
        mine = [k for k, e in enumerate(readings.electrodes) if e == electrode]
        part = chosen(readings, mine)
        along = "plate" if _longest(part, "plate") >= _longest(part, "grid") else "grid"
        groups = _groups(part, along)
        yield CurveFamily(
            along,
            electrode,
            tuple(_curve(fitted, part, along, label, rows) for label, rows in groups),
            tuple(_curve(law_of(tube), part, along, label, rows) for label, rows in groups),
            tuple(CurveLine(label, _across(part, along, rows), tuple(map(float, part.read_a[rows])))
                  for label, rows in groups),
        )  # fmt: skip


def _key(readings: Readings, along: str, k: int) -> tuple[float, ...]:
    """Return the volts that stay the same along a curve through a reading."""
    held = readings.grid_v[k] if along == "plate" else readings.plate_v[k]
    return (float(readings.screen_v[k]), float(held))


def _longest(readings: Readings, along: str) -> int:
    """Return the most different volts that any one curve would have."""
    moved = readings.plate_v if along == "plate" else readings.grid_v
    count = Counter({(*_key(readings, along, k), float(moved[k])) for k in range(len(readings.read_a))})
    return max(Counter(key[:2] for key in count).values())


def _groups(readings: Readings, along: str) -> list[tuple[str, list[int]]]:
    order = sorted(range(len(readings.read_a)), key=lambda k: _key(readings, along, k))
    screens = len(set(readings.screen_v)) > 1
    found = []
    for (screen, held), rows in groupby(order, key=lambda k: _key(readings, along, k)):
        words = f"{'grid' if along == 'plate' else 'plate'} {held:g} V".replace("-", "−")
        found.append((f"{words}, screen {screen:g} V" if screens else words, list(rows)))
    return found


def _across(readings: Readings, along: str, rows: list[int]) -> tuple[float, ...]:
    return tuple(float(v) for v in (readings.plate_v if along == "plate" else readings.grid_v)[rows])


def _curve(law: object, readings: Readings, along: str, label: str, rows: list[int]) -> CurveLine:
    """Return a curve through the volts of some readings: from 0 to beyond the last, grid volts from cut-off side."""
    first = rows[0]
    moved = readings.plate_v if along == "plate" else readings.grid_v
    lowest, highest = float(np.min(moved)), float(np.max(moved))
    ends = (0.0, 1.05 * highest) if along == "plate" else (1.1 * lowest, 0.9 * highest)
    across = np.linspace(*ends, CURVE_POINTS)
    held = {n: np.full(CURVE_POINTS, getattr(readings, n)[first])
            for n in ("grid_v", "plate_v", "screen_v", "plate_share", "screen_share")}  # fmt: skip
    held["plate_v" if along == "plate" else "grid_v"] = across
    line = Readings(**held, read_a=across, width_a=across, lines=(), electrodes=())
    return CurveLine(label, tuple(map(float, across)), tuple(map(float, _current(law, line))))
