"""Ohms of what a current is read over: as measured, as the build has it, or as warm copper."""

from __future__ import annotations

import math
from collections.abc import Iterable

from lugwright.bringup.idle.readings import IdleReading
from lugwright.bringup.idle.stage import SENSE_UP_TO_OHM, Path
from lugwright.bringup.idle_results import Figure

EVEN = 1.0 / math.sqrt(3.0)  # standard deviation of what lies evenly within a tolerance
WARM_COPPER = 1.07  # of a winding at idle against cold: 18 kelvin at 0.39 percent each, from memory
WARM_COPPER_OFF = 0.03
# Of the screen's own current: sheets print one figure of it and no band. Twice the band of the plate, from memory.
SCREEN_SPREAD = 0.4
# Two leads and their tips add about this much to a two-wire reading, as owners have measured it.
LEADS_OHM = (0.02, 0.6)


def as_read(reading: IdleReading) -> Figure:
    """Return a reading with twice the standard deviation of its meter."""
    return Figure(reading.value, 2.0 * EVEN * reading.off)


def measured_ohms(path: Path, readings: Iterable[IdleReading]) -> IdleReading | None:
    """Return the reading of these ohms, where there is one."""
    return next((r for r in readings if r.unit == "ohm" and (r.red, r.black) == (path.high, path.low)), None)


def leads_in_it(path: Path, ohm: float) -> bool:
    """Return whether a small resistor was measured with the leads of the meter in the reading."""
    more = ohm - path.printed_ohm
    small = not path.winding and path.printed_ohm <= SENSE_UP_TO_OHM
    return small and more > path.printed_tolerance * path.printed_ohm and LEADS_OHM[0] <= more <= LEADS_OHM[1]


def ohms_of(path: Path, readings: Iterable[IdleReading]) -> Figure:
    """Return the ohms of what a current flows through; of a winding, warm.

    Parameters
    ----------
    path : Path
        The resistor or winding.
    readings : iterable of IdleReading
        What was measured counts, except where the leads of the meter are in it.

    Returns
    -------
    Figure
        At idle. [ohm]

    Source
    ------
    Copper: 0.39 percent for each kelvin. How warm a winding gets: from memory.
    """
    measured = measured_ohms(path, readings)
    if measured is not None and not leads_in_it(path, measured.value):
        cold = as_read(measured)
    elif leads_in_it(path, path.ohm):
        cold = Figure(path.printed_ohm, 2.0 * EVEN * path.printed_tolerance * path.printed_ohm)
    else:
        cold = Figure(path.ohm, 2.0 * EVEN * path.tolerance * path.ohm)
    if not path.winding:
        return cold
    warm = cold.value * WARM_COPPER
    return Figure(warm, math.hypot(cold.off * WARM_COPPER, 2.0 * WARM_COPPER_OFF * warm))
