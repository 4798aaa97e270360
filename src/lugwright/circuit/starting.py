"""The first minute after switch-on and the one after switch-off, as computed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass


@dataclass(frozen=True)
class Line:
    """One joint over time, cycle means against ground."""

    joint: str
    seconds: tuple[float, ...]
    volts: tuple[float, ...]


@dataclass(frozen=True)
class FuseInrush:
    """What a fuse carries after switch-on, at the worse of the two moments of switching on."""

    name: str
    peak_a: float
    half_cycle_a2s: float  # integral of the current squared over the worst half cycle
    stretches: tuple[tuple[float, float], ...]  # seconds from switch-on, RMS amperes over them
    idle_a: float  # RMS for good
    fault_a: float | None  # RMS with the first filter capacitor shorted; None where that was not computed
    suggested_a: float | None  # smallest preferred time-lag fuse that stands idle and start; None: none does


@dataclass(frozen=True)
class Inrush:
    """Current from the mains in the first cycles. ``switched``: at what moment of the mains."""

    switched: str
    peak_a: float
    peak_s: float
    first_cycle_rms_a: float
    last_cycle_rms_a: float


@dataclass(frozen=True)
class WarmingTube:
    """How a tube comes up: heater current cold over hot, when it can draw half and nine tenths of its current."""

    name: str
    rectifier: bool
    filament: bool
    cold_ratio: float
    half_s: float | None  # None: not within the time computed
    full_s: float | None


@dataclass(frozen=True)
class CapacitorCourse:
    """One capacitor: its highest volts while starting, at idle, and how long it stays above 60 V after switch-off."""

    name: str
    peak_v: float  # nominal mains, ripple included
    peak_s: float
    idle_v: float  # cycle mean
    safe_s: float | None  # with tubes warm at switch-off; None: not within the time computed
    left_v: float  # at the end of the time computed after switch-off


@dataclass(frozen=True)
class Start:
    """A start: everything switched on together, or standby closed late."""

    how: str
    inrush: tuple[Inrush, ...]
    saturated_a: float  # peak the copper alone would let through: a saturated core comes near it
    saturated_a2s: float  # integral of its square over one half cycle: about the most an inrush can have
    fuses: tuple[FuseInrush, ...]
    tubes: tuple[WarmingTube, ...]
    capacitors: tuple[CapacitorCourse, ...]
    lines: tuple[Line, ...]
    decay: tuple[Line, ...]
    duration_s: float
    decay_s: float
    off_idle_v: float  # how far the worst joint is from idle at the end
    off_idle_joint: str
    steps: int

    def capacitor(self, name: str) -> CapacitorCourse:
        """Return the course of one capacitor; KeyError when there is none."""
        return self._by_name[name]

    @property
    def _by_name(self) -> Mapping[str, CapacitorCourse]:
        return {c.name: c for c in self.capacitors}


@dataclass(frozen=True)
class FilterRow:
    """One filter capacitor held against its limits, for tables."""

    name: str
    idle_v: float
    peak_v: float  # nominal mains
    peak_s: float
    high_v: float  # mains 10 % high
    rated_v: float
    surge_v: float
    warm_s: float | None  # to 60 V after switch-off, tubes warm; None: not within the time computed
    cold_s: float | None  # the same with cold or pulled tubes, in the worst position of every switch; None: never
