"""A measured tube: the adjustments of its type's law that explain its readings best, and how sure they are.

Few readings cannot tell seven figures. Each figure is therefore drawn toward the published average, as strongly as
specimens are known to differ; readings move it as far as they say something of it.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np

from lugwright.buildfile.tube_readings import TubeReading
from lugwright.catalogue.records import PentodeLaw, Specimen, TriodeLaw, TubeType, adjustments_of
from lugwright.circuit.tubes.drive import Array
from lugwright.circuit.tubes.specimen import (
    SpecimenCurrents,
    pentode_specimen,
    specimen_law,
    triode_specimen,
)
from lugwright.errors import FitError
from lugwright.solve.results import Adjustment

# How far specimens differ, one standard deviation of ln(factor); assumed, of the order of published acceptance bands.
USUAL = {"emission": 0.25, "amplification": 0.05, "cutoff": 0.3, "screen": 0.3, "plate_slope": 0.5, "knee": 0.3}
USUAL_SHIFT_V = {"triode": 0.15, "pentode": 1.0}
MOST = 4.0  # of those, in either direction
ACCURACY = 0.02  # of a reading
FLOOR_SHARE = 0.002  # of the largest current read: the last digits
DOUBTFUL = 4.0  # standard deviations
TOLD = 0.7  # what remains of the usual difference when a figure counts as told by the readings
SURE = 1.96  # standard deviations to either side hold 19 of 20
STEPS, SMALL = 200, 1e-12


@dataclass(frozen=True)
class Readings:
    """Readings of one tube as arrays; ``plate_share`` and ``screen_share`` say what each current is made of."""

    grid_v: Array
    plate_v: Array
    screen_v: Array
    plate_share: Array
    screen_share: Array
    read_a: Array
    width_a: Array
    lines: tuple[int, ...]
    electrodes: tuple[str, ...]


class Fit(NamedTuple):
    """The best adjustments (ln of a factor; volts), their covariance, and how far off each reading is."""

    names: tuple[str, ...]
    best: Array
    covariance: Array
    usual: Array
    off: Array  # standard deviations; a reading that pulls the fit toward itself counts in full
    noise: float  # scatter of the readings over what their accuracy explains, squared, at least 1


def readings_of(rows: Sequence[TubeReading], *, accuracy: float = ACCURACY) -> Readings:
    """Return the readings of one tube as arrays, one entry for each current that was read."""
    entries = [
        (row, electrode, value)
        for row in rows
        for electrode, value in (("plate", row.plate_a), ("screen", row.screen_a), ("cathode", row.cathode_a))
        if value is not None
    ]
    read = np.array([value for _, _, value in entries])
    width = np.hypot(accuracy * read, FLOOR_SHARE * read.max(initial=1e-6))
    return Readings(
        np.array([row.grid_v for row, _, _ in entries]),
        np.array([row.plate_v for row, _, _ in entries]),
        np.array([row.screen_v or 0.0 for row, _, _ in entries]),
        np.array([float(e != "screen") for _, e, _ in entries]),
        np.array([float(e != "plate") for _, e, _ in entries]),
        read,
        width,
        tuple(row.line for row, _, _ in entries),
        tuple(e for _, e, _ in entries),
    )


def law_of(tube: TubeType) -> TriodeLaw | PentodeLaw:
    """Return the published law; FitError for a type that has none to be measured against."""
    if isinstance(tube.law, TriodeLaw | PentodeLaw):
        return tube.law
    raise FitError(
        what=f"{tube.name} cannot be fitted",
        found=f"a {tube.kind}" if tube.law is not None else "a type whose plate current is not known",
        wanted="a triode, pentode or beam tetrode with a known law",
        do="name another type",
    )


def usual_of(tube: TubeType) -> Array:
    """Return how far specimens of a type differ, in the order of its adjustments."""
    law = law_of(tube)
    shift = USUAL_SHIFT_V["triode" if isinstance(law, TriodeLaw) else "pentode"]
    table = {**USUAL, "shift_v": shift, "emission": max(tube.spread, 0.1)}
    return np.array([table[name] for name in adjustments_of(law)])


def specimen_of(names: Sequence[str], x: Array) -> Specimen:
    """Return the specimen that adjustments stand for."""
    return Specimen(**{n: float(v if n == "shift_v" else np.exp(v)) for n, v in zip(names, x, strict=True)})


def modeled(law: TriodeLaw | PentodeLaw, readings: Readings) -> tuple[Array, Array]:
    """Return the current at each reading, and its slopes (adjustment, reading)."""
    c: SpecimenCurrents
    if isinstance(law, TriodeLaw):
        c = triode_specimen(law, plate_v=readings.plate_v, grid_v=readings.grid_v)
    else:
        c = pentode_specimen(law, plate_v=readings.plate_v, screen_v=readings.screen_v, grid_v=readings.grid_v)
    plate, screen = readings.plate_share, readings.screen_share
    return plate * c.plate_a + screen * c.screen_a, plate * c.plate_by + screen * c.screen_by


def fit_readings(tube: TubeType, readings: Readings) -> Fit:
    """Return the adjustments with the least sum of squares of readings and differences from the average.

    Raises
    ------
    FitError
        No minimum was reached.

    Source
    ------
    Least squares with a normal prior; steps of K. Levenberg (1944) with D. Marquardt's scaling (1963).
    """
    law, names, usual = law_of(tube), adjustments_of(tube.law or law_of(tube)), usual_of(tube)

    def at(x: Array) -> tuple[Array, Array]:
        adjusted = specimen_law(law, specimen_of(names, x))
        if not isinstance(adjusted, TriodeLaw | PentodeLaw):
            raise TypeError(f"{tube.name} is a rectifier")
        current, slopes = modeled(adjusted, readings)
        off = np.concatenate([(current - readings.read_a) / readings.width_a, x / usual])
        return off, np.concatenate([(slopes / readings.width_a).T, np.diag(1.0 / usual)])

    best = least_squares(at, np.zeros(len(names)), bound=MOST * usual)
    off, slopes = at(best)
    count = len(readings.read_a)
    of_readings, pull = slopes[:count], np.diag(1.0 / usual**2)
    told = np.linalg.inv(of_readings.T @ of_readings + pull)
    lever = np.einsum("rp,pq,rq->r", of_readings, told, of_readings)
    free = max(count - float(lever.sum()), 1.0)
    noise = max(1.0, float(np.sum(off[:count] ** 2)) / free)  # more scatter than the accuracy explains widens all
    covariance: Array = np.asarray(np.linalg.inv(of_readings.T @ of_readings / noise + pull), dtype=np.float64)
    alone = off[:count] / np.sqrt(np.maximum(1.0 - lever, 1e-3))
    return Fit(names, best, covariance, usual, alone, noise)


def least_squares(at: Callable[[Array], tuple[Array, Array]], start: Array, *, bound: Array) -> Array:
    """Return where the sum of squares is least; ``at`` gives residuals and their slopes (residual, unknown).

    Raises
    ------
    FitError
        No minimum was reached.
    """
    x, damping = start.copy(), 1e-3
    off, slopes = at(x)
    for _ in range(STEPS):
        cost = float(off @ off)
        pull = slopes.T @ off
        free = ~(((x >= bound) & (pull < 0.0)) | ((x <= -bound) & (pull > 0.0)))
        normal, pull = slopes[:, free].T @ slopes[:, free], pull[free]
        if pull @ np.linalg.solve(normal, pull) <= SMALL * cost + SMALL**2:  # what a full step would still gain
            return x
        there = x.copy()
        there[free] -= np.linalg.solve(normal + damping * np.diag(np.diag(normal)), pull)
        there = np.clip(there, -bound, bound)
        new_off, new_slopes = at(there)
        if float(new_off @ new_off) < cost:
            x, off, slopes = there, new_off, new_slopes
            damping = max(0.1 * damping, 1e-12)
        else:
            damping *= 10.0
    raise FitError(
        what="the readings could not be fitted",
        found=f"still getting closer after {STEPS} steps",
        wanted="readings near what such a tube does",
        do="check that the type is right, and that currents are in mA",
    )


def adjustments(fit: Fit) -> tuple[Adjustment, ...]:
    """Return each adjustment with the bounds it lies in 19 of 20 times."""
    found = []
    for name, x, deviation, usual in zip(fit.names, fit.best, np.sqrt(np.diag(fit.covariance)), fit.usual, strict=True):
        ends = (x, x - SURE * deviation, x + SURE * deviation)
        value, low, high = ends if name == "shift_v" else np.exp(ends)
        found.append(Adjustment(name, float(value), float(low), float(high), bool(deviation < TOLD * usual)))
    return tuple(found)


def at_point(tube: TubeType, fit: Fit, *, plate_v: float, screen_v: float | None, grid_v: float) -> tuple[Array, Array]:
    """Return plate current and transconductance of the fitted tube at some volts, and their standard deviations."""
    plate, screen, full, none = (np.array([v]) for v in (plate_v, screen_v or 0.0, 1.0, 0.0))

    def both(x: Array) -> Array:
        law = specimen_law(law_of(tube), specimen_of(fit.names, x))
        if not isinstance(law, TriodeLaw | PentodeLaw):
            raise TypeError(f"{tube.name} is a rectifier")
        spot = Readings(np.array([grid_v]), plate, screen, full, none, full, full, (0,), ("plate",))
        current, slopes = modeled(law, spot)
        return np.array([current[0], slopes[fit.names.index("shift_v"), 0]])

    value = both(fit.best)
    small = 1e-5 * fit.usual
    by = np.stack([(both(fit.best + h) - both(fit.best - h)) / (2.0 * h.max()) for h in np.diag(small)], axis=1)
    return value, np.sqrt(np.einsum("ip,pq,iq->i", by, fit.covariance, by))


def fit_without_slips(tube: TubeType, readings: Readings) -> tuple[Fit, frozenset[int]]:
    """Return the fit to the readings that agree with one another, and the indices of those that do not.

    A reading is left out when it is farther from the fit to all others than four standard deviations of their
    scatter; at most a quarter of them, the worst first.
    """
    slips: list[int] = []
    fit = fit_readings(tube, readings)
    while len(slips) < len(readings.read_a) // 4:
        kept = [k for k in range(len(readings.read_a)) if k not in slips]
        worst = int(np.argmax(np.abs(fit.off)))
        others = fit_readings(tube, chosen(readings, [k for k in kept if k != kept[worst]]))
        if abs(fit.off[worst]) <= DOUBTFUL * np.sqrt(others.noise):
            break
        slips.append(kept[worst])
        fit = others
    return fit, frozenset(slips)


def chosen(readings: Readings, indices: Sequence[int]) -> Readings:
    """Return some of the readings."""
    arrays = ("grid_v", "plate_v", "screen_v", "plate_share", "screen_share", "read_a", "width_a")
    return replace(
        readings,
        **{name: getattr(readings, name)[list(indices)] for name in arrays},
        lines=tuple(readings.lines[k] for k in indices),
        electrodes=tuple(readings.electrodes[k] for k in indices),
    )
