"""Setting the idle: what readings say of each tube, what a turn of the control does, how far to the target. Records."""

from __future__ import annotations

from dataclasses import dataclass

from lugwright.findings import Finding


@dataclass(frozen=True)
class Figure:
    """A figure and by how much it may be off either way, in 95 of 100 cases."""

    value: float
    off: float

    @property
    def share_off(self) -> float:
        """Return the uncertainty as a share of the figure. [-]"""
        return self.off / abs(self.value) if self.value else 0.0


@dataclass(frozen=True)
class TubeAtIdle:
    """One output tube as its readings show it. ``from`` fields say in words where a figure comes from."""

    tube: str
    cathode_a: Figure
    cathode_from: str
    screen_a: Figure
    screen_from: str
    plate_a: Figure
    plate_from: str
    plate_to_cathode_v: Figure
    plate_v_from: str
    plate_w: Figure
    plate_limit_w: float
    share: Figure  # of the plate limit
    screen_w: float
    screen_limit_w: float | None
    strength: float  # against the average of its type, at the same volts; 1.1: draws 10 percent more
    read: bool  # False: nothing was read that tells its current
    alone: bool  # False: what was read is the current of several tubes together


@dataclass(frozen=True)
class OtherWay:
    """Plate current of a tube by another method than the one that is gone by."""

    tube: str
    method: str
    plate_a: Figure


@dataclass(frozen=True)
class Match:
    """How like each other the tubes of a stage are."""

    tubes: tuple[str, ...]
    plate_a: tuple[float, ...]
    apart: float  # between the most and the least, as a share of their mean
    left_over_a: float  # direct current that does not cancel in the output transformer; 0 for one tube
    words: str


@dataclass(frozen=True)
class TubeState:
    """One tube at one setting."""

    tube: str
    grid_v: float
    cathode_reading_v: float  # what the meter shows at the cathode: over its small resistor, else to ground
    plate_a: float
    plate_to_cathode_v: float
    plate_w: float
    share: float


@dataclass(frozen=True)
class TurnRow:
    """What one turn of a control does, with everything solved anew."""

    control: str
    turn: str  # "one hour clockwise"
    rotation: float
    b_plus_v: float
    tubes: tuple[TubeState, ...]


@dataclass(frozen=True)
class SetTo:
    """Where a control has to go for the target, and what the meter then shows."""

    control: str
    rotation: float  # as it stands
    wanted: float
    reached: bool
    words: str
    tubes: tuple[TubeState, ...]  # those the control moves, at the target


@dataclass(frozen=True)
class ReachRow:
    """One end of the bias controls with strong, average or weak tubes and mains low, nominal or high."""

    end: str  # "most negative", "least negative"
    tubes: str  # "strong", "average", "weak"
    mains: float
    grid_v: float | None
    share: float | None  # the hottest tube; None where nothing settles
    b_plus_v: float | None


@dataclass(frozen=True)
class ResistorRow:
    """Another cathode resistor: what it makes of the tubes."""

    ohm: float
    resistors: tuple[str, ...]
    now: bool
    best: bool
    cathode_v: float
    plate_a: float  # the hottest tube
    share: float
    resistor_w: float


@dataclass(frozen=True)
class Target:
    """Where to idle: a band by class, and a share within it by taste."""

    kind: str  # "fixed bias, push-pull"
    least: float
    most: float
    aim: float
    words: str


@dataclass(frozen=True)
class Advice:
    """The target, the way to it, and what each turn on the way does."""

    target: Target
    set_to: tuple[SetTo, ...]
    turns: tuple[TurnRow, ...]
    resistors: tuple[ResistorRow, ...]
    high_mains_share: float | None  # the hottest tube at the target with mains 10 percent high
    misleading: tuple[str, ...]

    @property
    def as_it_is(self) -> str:
        """Return that the cathode resistor may stay; "" where it may not, or where there is a control to turn."""
        now = next((row for row in self.resistors if row.now), None)
        if now is None or self.set_to or not self.target.least <= now.share <= self.target.most:
            return ""
        return (
            f"As it is, the hottest tube takes {now.share:.0%} of its limit: inside {self.target.least:.0%} to "
            f"{self.target.most:.0%}. Nothing has to be changed."
        )


@dataclass(frozen=True)
class IdleMeasured:
    """What readings at idle say."""

    readings: tuple[str, ...]  # as they were given
    tubes: tuple[TubeAtIdle, ...]  # none where the readings fit no setting
    others: tuple[OtherWay, ...]
    match: Match | None
    mains_share: float  # of the mains stated, as the readings have it
    controls: tuple[tuple[str, float], ...]  # control, where it stands by the readings, share of rotation
    advice: Advice | None
    findings: tuple[Finding, ...]
    read_on: str = ""  # when the log says they were read, UTC
    trace: str = ""  # where nothing fits: the command that looks for the fault
