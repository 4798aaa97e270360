"""What solvers hand on besides operating values: a waveform of one mains cycle, measured tubes, matched sets."""

from __future__ import annotations

from dataclasses import dataclass

from lugwright.catalogue.records import Specimen


@dataclass(frozen=True)
class Waveform:
    """One joint over one mains cycle, from a rising zero crossing of the mains."""

    joint: str
    seconds: tuple[float, ...]
    volts: tuple[float, ...]


@dataclass(frozen=True)
class OperatingPoint:
    """Volts against the cathode that tubes are compared at, and why these."""

    plate_v: float
    screen_v: float | None
    grid_v: float
    why: str


@dataclass(frozen=True)
class Adjustment:
    """One figure of a measured tube against the published average (1, or 0 V); 19 of 20 times it lies in between."""

    name: str  # a field of `lugwright.catalogue.records.Specimen`
    value: float
    low: float
    high: float
    told: bool  # False: the readings say next to nothing of it


@dataclass(frozen=True)
class FittedReading:
    """One current that was read, and what the fitted and the published tube have there."""

    line: int
    electrode: str  # plate, screen, cathode
    grid_v: float
    plate_v: float
    screen_v: float | None
    read_a: float
    fitted_a: float
    published_a: float
    doubtful: bool  # farther off than a reading of that accuracy can be


@dataclass(frozen=True)
class CurveLine:
    """One line of a chart: volts across, current up. [V], [A]"""

    label: str
    volts: tuple[float, ...]
    amps: tuple[float, ...]


@dataclass(frozen=True)
class CurveFamily:
    """Fitted and published curves through the volts that were read, with the readings themselves."""

    along: str  # plate or grid: which volts run across
    electrode: str  # plate, screen, cathode: whose current
    fitted: tuple[CurveLine, ...]
    published: tuple[CurveLine, ...]
    read: tuple[CurveLine, ...]


@dataclass(frozen=True)
class SpecimenFit:
    """One tube fitted to its readings."""

    tube: str
    type: str
    specimen: Specimen
    adjustments: tuple[Adjustment, ...]
    readings: tuple[FittedReading, ...]
    typical_off: float  # root mean square of how far the fit is off, as a share of the reading [-]
    point: OperatingPoint
    plate_a: float  # at that point
    plate_error_a: float  # half of the span it lies in 19 of 20 times
    transconductance_a_per_v: float
    transconductance_error_a_per_v: float
    families: tuple[CurveFamily, ...]


@dataclass(frozen=True)
class TubeGroup:
    """Tubes that go together, and how far apart they are at the operating point."""

    tubes: tuple[str, ...]
    plate_a: tuple[float, ...]
    difference_a: float  # highest less lowest plate current
    difference: float  # the same as a share of their mean [-]
    transconductance_difference: float  # likewise [-]


@dataclass(frozen=True)
class Matching:
    """Tubes sorted into groups of two or four with the least sum of squared differences, and what is left."""

    size: int
    within: float | None  # no two in a group differ by more, in current or transconductance [-]
    groups: tuple[TubeGroup, ...]
    left_over: tuple[str, ...]


@dataclass(frozen=True)
class PlateCurves:
    """Plate curves of one tube section at the screen volts of its idle, with what the build makes of them.

    Volts are plate against cathode. ``together`` names every section that stands at the same point with the same load.
    """

    together: tuple[str, ...]
    type: str
    screen_v: float | None
    curves: tuple[CurveLine, ...]  # one for each grid volts
    idle_plate_v: float
    idle_plate_a: float
    idle_grid_v: float
    dc_ohm: float  # what slows the plate down when this section alone draws more, all else following
    dc_line: CurveLine
    ac_ohm: float  # at 1 kHz, the tubes that work with it included
    ac_alone_ohm: float | None  # push-pull: while the other side is cut off
    ac_line: CurveLine
    grid_zero_v: float  # where the AC load line meets the curve of 0 V on the grid
    grid_zero_a: float
    top_a: float  # how high a chart of it should reach
    plate_w_limit: float | None
    plate_v_limit: float | None
