"""Which stage runs out of room first, read from points of rising drive."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

import numpy as np

from lugwright.solve.power_results import DrivenTube, PowerPoint, StageLimit
from lugwright.solve.readout import read_idle
from lugwright.solve.solved import Solved

CUT_OFF = 0.02  # of the idle plate current
KNEE = 0.3  # plate current follows the plate's own volts by more than this share


def stage_limits(idle: Solved, points: Sequence[PowerPoint]) -> list[StageLimit]:
    """Return the earliest limit of every section that has one, by rising drive.

    Parameters
    ----------
    idle : Solved
        The idle of the same circuit.
    points : sequence of PowerPoint
        By rising drive.

    Returns
    -------
    list of StageLimit
        Where between two points a limit is passed is interpolated on a logarithmic drive.

    Valid
    -----
    Grid current: the grid reaches its cathode. Cut-off: less than 2 % of the idle current is left; not
    counted against a pentode with a partner, which takes over. Bottoming: a pentode's plate at its knee.
    """
    quiet = read_idle(idle).tubes
    alone = len(idle.system.pentodes) == 1
    found = []
    for name in points[0].tubes:
        pentode = quiet[name].screen_to_cathode_v is not None
        measures: list[tuple[str, Callable[[DrivenTube], float], float]] = [("grid current", _grid_v, 0.0)]
        if not pentode or alone:
            measures.append(("cut-off", _left_share(quiet[name].plate_a), -CUT_OFF))
        if pentode:
            measures.append(("bottoming", _knee_share, KNEE))
        earliest = min(_crossings(name, measures, points), key=lambda limit: limit.drive_rms_v, default=None)
        if earliest is not None:
            found.append(earliest)
    return sorted(found, key=lambda limit: limit.drive_rms_v)


def _grid_v(tube: DrivenTube) -> float:
    return tube.grid_high_v


def _knee_share(tube: DrivenTube) -> float:
    return tube.knee


def _left_share(idle_a: float) -> Callable[[DrivenTube], float]:
    return lambda tube: -tube.plate_least_a / max(idle_a, 1e-9)


def _crossings(
    name: str, measures: Sequence[tuple[str, Callable[[DrivenTube], float], float]], points: Sequence[PowerPoint]
) -> Iterator[StageLimit]:
    for how, measure, limit in measures:
        values = [measure(point.tubes[name]) - limit for point in points]
        above = next((k for k, value in enumerate(values) if value > 0.0), None)
        if above is None:
            continue
        if above == 0:
            yield StageLimit(name, how, points[0].drive_rms_v, points[0].watts)
            continue
        low, high = points[above - 1], points[above]
        share = values[above - 1] / (values[above - 1] - values[above])
        drive = low.drive_rms_v * (high.drive_rms_v / low.drive_rms_v) ** share
        watts = low.watts + share * (high.watts - low.watts)
        yield StageLimit(name, how, float(drive), float(np.clip(watts, 0.0, None)))
