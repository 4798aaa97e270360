"""What an amplifier does under a steady signal: power, distortion, heat, headroom."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass


@dataclass(frozen=True)
class PowerWish:
    """What is asked for: the load, the frequency of the sine, and whether power over frequency is wanted too."""

    loudspeaker: bool = False
    hertz: float = 1000.0
    band: bool = False


@dataclass(frozen=True)
class DrivenTube:
    """One amplifying section under a steady signal: means over the period, and how far it is swung."""

    name: str
    plate_a: float
    screen_a: float
    grid_a: float
    plate_w: float
    screen_w: float
    plate_low_v: float  # lowest plate to cathode
    plate_high_v: float
    plate_peak_a: float
    plate_least_a: float
    grid_high_v: float  # highest grid to cathode
    grid_low_v: float
    knee: (
        float  # how much the plate's own volts hold a pentode's current back at their lowest: 0 free, about 1 bottomed
    )

    @property
    def cathode_a(self) -> float:
        """Return plate, screen and grid current together. [A]"""
        return self.plate_a + self.screen_a + self.grid_a


@dataclass(frozen=True)
class PowerCertificate:
    """What stands behind a driven point; without ``passed`` no number of it is printed."""

    passed: bool
    left_over: float  # volts left over at the worst port, as a share of its own peak
    supply_gap: float  # rectifier current by which supply and signal disagree, as a share
    power_in_w: float  # from the rectifiers, batteries and the generator
    power_out_w: float  # into heat and the load
    harmonics: int  # solved with
    halved_change: float | None  # largest change of a harmonic, as a share of the fundamental, against half as many
    steps: int


@dataclass(frozen=True)
class PowerPoint:
    """The amplifier driven steadily at one level.

    ``harmonics`` are the speaker's volts at 1, 2, ... times the drive as shares of the first; ``distortion`` is the
    root of the sum of the squares of all but the first. ``watts`` counts everything that heats the load.
    """

    drive_rms_v: float  # at the input jack
    hertz: float
    watts: float
    speaker_rms_v: float
    distortion: float
    harmonics: tuple[float, ...]
    b_plus_v: Mapping[str, float]  # means of the B+ joints
    rectifier_a: Mapping[str, float]  # means
    supply_w: float  # from the rectifiers
    tubes: Mapping[str, DrivenTube]
    certificate: PowerCertificate


@dataclass(frozen=True)
class SpeakerWave:
    """One period of the speaker's volts, from where the generator rises through zero."""

    drive_rms_v: float
    seconds: tuple[float, ...]
    volts: tuple[float, ...]


@dataclass(frozen=True)
class StageLimit:
    """Where one tube section runs out of room first: the drive at the jack, and in which way."""

    tube: str
    how: str  # grid current, cut-off, bottoming
    drive_rms_v: float
    watts: float  # at the speaker, at that drive


@dataclass(frozen=True)
class PowerAtFrequency:
    """The power at which the distortion reaches the stated share, at one frequency."""

    hertz: float
    watts: float
    drive_rms_v: float


@dataclass(frozen=True)
class Intermodulation:
    """Two tones of equal volts at the jack; each product a share of the first tone at the speaker."""

    low_hz: float
    high_hz: float
    drive_rms_v: float  # of each
    watts: float
    products: tuple[tuple[float, float], ...]  # hertz, share
    total: float  # root of the sum of the squares of all products but the tones
    certificate: PowerCertificate


@dataclass(frozen=True)
class Power:
    """Output power of a whole amplifier from its input jack to its speaker load, knobs as the build file has them."""

    jack: str
    load: str
    load_ohm: float
    hertz: float
    idle_b_plus_v: Mapping[str, float]
    points: tuple[PowerPoint, ...]  # by rising drive
    five_percent: PowerPoint | None  # the lowest drive at which the distortion reaches 5 %
    ten_percent: PowerPoint | None
    full_drive: PowerPoint  # the highest drive solved
    first_limit: StageLimit | None
    limits: tuple[StageLimit, ...]  # of every stage that runs out of room, the earliest first
    waves: tuple[SpeakerWave, ...]  # at five and ten percent and at full drive
    intermodulation: Intermodulation | None
    over_frequency: tuple[PowerAtFrequency, ...]  # at ten percent; empty where it was not asked for
    stopped_at: str  # empty, or why no higher drive was solved


@dataclass(frozen=True)
class NoPower:
    """Why there is no power to print, in the words of the error."""

    what: str
    found: str
    wanted: str
    do: str
