"""Computed operating values: what a solved circuit says of every joint, part, tube and winding.

Voltages without a second joint are against ``ground``. Currents flow into the terminal named first.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass


@dataclass(frozen=True)
class Certificate:
    """What stands behind a solved circuit; without ``passed`` no number of it is printed."""

    passed: bool
    worst_joint: str
    left_over_a: float  # largest current left over at any joint
    allowed_a: float  # what is allowed at that joint
    error_v: float  # error estimate of the worst joint voltage
    power_in_w: float  # from mains and meter sources, averaged over a cycle
    power_out_w: float  # turned to heat, averaged over a cycle
    steps: int
    how: str  # "Newton", "source stepping", "pseudo-transient"


@dataclass(frozen=True)
class JointIdle:
    """Cycle-averaged volts and ripple of one joint against ground."""

    volts: float
    ripple_rms_v: float
    ripple_peak_to_peak_v: float


@dataclass(frozen=True)
class PartIdle:
    """What one two-lead part (or one named piece of a part: ``T1.hv``, ``R7.1-2``) carries.

    ``volts`` and ``amps`` are cycle means (first terminal positive); rms and peak include ripple and mains.
    """

    name: str
    part: str
    volts: float
    amps: float
    rms_a: float
    peak_a: float
    peak_v: float  # largest absolute voltage within the cycle
    inverse_v: float  # most negative voltage within the cycle, as a positive number (diodes)
    watts: float  # mean power that enters it: its heat; a coil also takes from its core or gives to it (negative)


@dataclass(frozen=True)
class TubeIdle:
    """One tube section (``V1a``) or rectifier plate (``V5.plate1``) at idle."""

    name: str
    part: str
    plate_to_cathode_v: float
    grid_to_cathode_v: float
    screen_to_cathode_v: float | None
    plate_a: float
    screen_a: float
    grid_a: float
    plate_w: float
    screen_w: float
    transconductance_a_per_v: float  # 0 for a rectifier
    plate_resistance_ohm: float

    @property
    def cathode_a(self) -> float:
        """Return plate, screen and grid current together. [A]"""
        return self.plate_a + self.screen_a + self.grid_a

    @property
    def amplifies(self) -> bool:
        """Return whether the grid has a say: not in a rectifier."""
        return self.transconductance_a_per_v > 0.0


@dataclass(frozen=True)
class WindingIdle:
    """One winding of a mains transformer: volts at its ends, current, and the rating it is held against."""

    name: str  # T1.hv
    rms_v: float
    rms_a: float
    peak_a: float
    rated_a: float | None


@dataclass(frozen=True)
class Levels:
    """What of an idle follows a value that is being moved: steady volts and what the tubes carry, no waveforms."""

    volts: Mapping[str, float]  # of every joint, averaged over a cycle
    tubes: Mapping[str, TubeIdle]


@dataclass(frozen=True)
class Idle:
    """A whole circuit with mains on and no signal."""

    joints: Mapping[str, JointIdle]
    parts: Mapping[str, PartIdle]
    tubes: Mapping[str, TubeIdle]
    windings: Mapping[str, WindingIdle]
    mains_rms_a: float
    mains_w: float
    lamp_rms_v: float | None  # across the limiter lamp, where one is in the mains lead
    lamp_brightness: float | None  # share of its rated power
    certificate: Certificate

    @property
    def levels(self) -> Levels:
        """Return its steady part."""
        return Levels({joint: level.volts for joint, level in self.joints.items()}, self.tubes)


@dataclass(frozen=True)
class Rating:
    """One figure of a part held against its limit; ``at_least`` when the limit is a minimum."""

    rule: str  # the rule that looked: "resistor-watts"
    part: str  # R3, T1.hv, V2
    what: str  # "heat", "volts, cold tubes"
    value: float
    limit: float
    unit: str  # V, A, W, Ω, F, s
    source: str = ""
    at_least: bool = False

    @property
    def share(self) -> float:
        """Return how much of the limit is used up, 1.0 at the limit. [-]"""
        if self.at_least:
            return self.limit / self.value if self.value else float("inf")
        return self.value / self.limit if self.limit else float("inf")
