"""Measured tubes: fitted to their readings, matched into sets."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from lugwright.buildfile.tube_readings import read_tube_readings
from lugwright.catalogue.load import tube_type
from lugwright.catalogue.records import PentodeLaw, TubeType
from lugwright.errors import LugwrightError
from lugwright.findings import Finding
from lugwright.solve.measured_tubes import doubts, fit_tubes
from lugwright.solve.results import Matching, OperatingPoint, SpecimenFit
from lugwright.solve.tube_matching import matched
from lugwright.workflow.opened import open_build


@dataclass(frozen=True)
class FittedTubes:
    """Tubes fitted to a file of readings; none when something is wrong with it."""

    fits: tuple[SpecimenFit, ...]
    findings: tuple[Finding, ...]


def fitted_tubes(
    path: Path,
    kind: str,
    *,
    at: tuple[float, float | None, float] | None = None,
    idle_of: tuple[Path, str] | None = None,
    accuracy: float,
) -> FittedTubes:
    """Return the tubes of a file of readings fitted to a type, compared at some volts or at an idle.

    Raises
    ------
    LugwrightError
        No such type or tube, a file that cannot be read, readings that cannot be fitted.
    """
    tube = tube_type(kind)
    sheet = read_tube_readings(path, screened=isinstance(tube.law, PentodeLaw))
    if not sheet.readings:
        return FittedTubes((), sheet.findings)
    point = None if at is None else OperatingPoint(*at, "as asked for")
    point = _idle_point(*idle_of) if idle_of is not None else point
    if point is not None and (point.screen_v is None) == isinstance(tube.law, PentodeLaw):
        raise _other_electrodes(tube, point)
    fits = fit_tubes(tube, sheet.readings, point=point, accuracy=accuracy)
    return FittedTubes(fits, doubts(fits, path.name))


def _idle_point(path: Path, name: str) -> OperatingPoint:
    opened = open_build(path)
    tubes = {name: idle for name, idle in opened.idle.tubes.items() if idle.amplifies}
    if name not in tubes:
        raise LugwrightError(
            what=f"{opened.written.title} has no tube section {name!r}",
            found=name,
            wanted=f"one of {', '.join(tubes)}",
            do="name a tube of the build file",
        )
    idle = tubes[name]
    return OperatingPoint(
        idle.plate_to_cathode_v, idle.screen_to_cathode_v, idle.grid_to_cathode_v, f"idle of {name}, {path.name}"
    )


def _other_electrodes(tube: TubeType, point: OperatingPoint) -> LugwrightError:
    screened = isinstance(tube.law, PentodeLaw)
    return LugwrightError(
        what=f"the volts to compare at are not those of a {tube.kind}",
        found=f"{'no' if screened else 'a'} voltage for the screen ({point.why})",
        wanted=f"{'plate, screen and grid' if screened else 'plate and grid'} volts for the {tube.name}",
        do="name a tube of its kind, or write the volts with --at",
    )


def matched_tubes(fits: tuple[SpecimenFit, ...], *, size: int, within: float | None) -> Matching:
    """Return fitted tubes sorted into pairs or quads."""
    return matched(fits, size=size, within=within)
