"""Charts for checking and first power-up. Records only."""

from __future__ import annotations

from dataclasses import dataclass

from lugwright.bringup.idle_results import Advice, ReachRow
from lugwright.findings import Finding

PLUG_OUT = "plug out"  # what the mains of a step is before any volts


@dataclass(frozen=True)
class Reading:
    """What a meter should read at one point, and the window inside which a good build falls.

    Units: V, Vac, mV, mA, ohm. ``low``/``high`` bound the window; math.inf in ``expected`` of an ohms
    reading means "over range".
    """

    point: str  # "V1 pin 1 (plate)"
    joint: str
    quantity: str  # "V dc", "V ac", "ohms to ground"; "ohms" where the point names both ends
    expected: float
    low: float
    high: float
    unit: str
    note: str = ""
    red: str = ""  # key of the plan's terminal where the red lead goes, or a joint
    black: str = "ground"
    at: str = ""  # how a control stands meanwhile, where the step reads the point more than once
    section: str = ""  # heading it stands under
    tells: int = 0  # parts and tubes whose being off by a factor of two it would show
    stop_below: float | None = None  # switch off if the meter shows less than this
    burns_below: str = ""  # what would burn then
    stop_above: float | None = None  # or more than this
    burns_above: str = ""
    stop_feed: str = ""  # joint that feeds this one through the resistor that would burn: the limit moves with it
    stop_feed_v: float = 0.0  # volts there for which the limit is stated
    guards: str = ""  # what would burn or hurt in a later step if this one is not as it should: "", or the reason
    deadly: bool = False  # what it guards can hurt: never to be passed over


@dataclass(frozen=True)
class LampWindow:
    """Volts across the lamp in a step."""

    watts: float
    mains_v: float
    expected_v: float
    low_v: float  # of a good build
    high_v: float


@dataclass(frozen=True)
class Step:
    """One step of the first power-up, computed as an edited circuit."""

    number: int
    title: str
    mains: str  # "through the 60 W lamp", "full mains"
    do: tuple[str, ...]
    stop_if: tuple[str, ...]
    cautions: tuple[str, ...]
    readings: tuple[Reading, ...]
    mains_a: float
    lamp: str  # "", or expected brightness in words with the lamp's volts
    key: str = ""  # by which the log knows it whatever its number: "small tubes", behind the lamp "small tubes, lamp"
    mains_window_a: tuple[float, float] | None = None  # current from the mains of a good build
    instead: tuple[str, ...] = ()  # what a variable transformer in place of the lamp is turned to
    lamp_window: LampWindow | None = None

    @property
    def live(self) -> bool:
        """Return whether the plug is in."""
        return self.mains != PLUG_OUT


@dataclass(frozen=True)
class OhmsChart:
    """What an ohmmeter reads with the plug out and every capacitor empty."""

    meter: str  # the meter assumed, in words
    readings: tuple[Reading, ...]


@dataclass(frozen=True)
class IdleRow:
    """Idle setting of one output tube."""

    tube: str
    cathode_point: str  # where to measure
    cathode_reading_mv: float | None  # over its 1-ohm resistor, where there is one
    cathode_a: float
    plate_a: float
    screen_a: float
    plate_to_cathode_v: float
    plate_w: float
    plate_limit_w: float
    share: float
    low_share: float
    high_share: float
    cathode_v: float  # to ground


@dataclass(frozen=True)
class IdleSetting:
    """How the idle is set, and what the bias control can do."""

    method: str  # "fixed bias", "cathode bias"
    rows: tuple[IdleRow, ...]
    bias_range: tuple[tuple[str, float, float, float], ...]  # control, share of rotation, grid V, plate mA of one tube
    target: str
    cautions: tuple[str, ...]
    advice: Advice | None = None  # from the circuit as drawn
    reach: tuple[ReachRow, ...] = ()  # both ends of the controls, strong and weak tubes, mains low and high


@dataclass(frozen=True)
class Mover:
    """One cause of a reading's spread: what its own tolerance does to the reading, and its share of the whole."""

    part: str  # "R17", "V5", "mains"
    extent: float  # its tolerance, 0.05 = +/-5 %
    moves: float  # the reading's change when it stands at its upper end, in the reading's unit
    share: float  # of the variance of the reading


@dataclass(frozen=True)
class SpreadRow:
    """How far one reading moves from build to build: 0.5, 5, 50, 95 and 99.5 percent of good builds read less."""

    reading: str  # "V5 plate heat"
    unit: str
    expected: float
    lowest: float
    low: float
    middle: float
    high: float
    highest: float
    movers: tuple[Mover, ...]  # largest first


@dataclass(frozen=True)
class Corner:
    """The worst a reading can come to with every part inside its tolerance."""

    reading: str
    unit: str
    expected: float
    lowest: float
    highest: float
    lowest_with: tuple[str, ...]  # what counts most for it: "V5 +25 %"
    highest_with: tuple[str, ...]


@dataclass(frozen=True)
class RatingChance:
    """How often a rating is exceeded among good builds at the mains as stated."""

    rule: str
    part: str
    what: str
    unit: str
    limit: float
    expected: float
    worst: float  # of the rated builds
    chance: float  # of builds beyond the limit


@dataclass(frozen=True)
class Spread:
    """Good builds differ: readings, what moves them, worst corners, and ratings that some builds exceed."""

    draws: int
    seed: int
    rated_draws: int
    rows: tuple[SpreadRow, ...]
    corners: tuple[Corner, ...]
    chances: tuple[RatingChance, ...]
    left_out: tuple[str, ...]  # what is not drawn, in words


@dataclass(frozen=True)
class HeaterAtSocket:
    """Heater volts at a socket's pins with the planned wires; ``drop_v`` is what they take."""

    tube: str
    nominal_v: float
    volts: float
    drop_v: float


def again_words(feed: str, doubt: str) -> str:
    """Return what to do where something burns unless the volts that feed it were read right; "" without a doubt."""
    if not doubt:
        return ""
    return (
        f"read {feed} again, before anything else: {doubt}. If it stays so and no winding of the transformer is low by "
        "the same share, switch off, plug out; when in doubt, switch off first"
    )


@dataclass(frozen=True)
class JudgedReading:
    """A reading that was taken, held against the chart of its step; ``low``, ``high`` None: not charted."""

    step: str  # key of the step
    title: str  # of the step, as it is printed
    point: str  # "V1 pin 6 (plate b) to ground"
    red: str  # key of a terminal of the plan, or a joint
    black: str
    quantity: str
    value: float  # infinite: over range
    unit: str  # V, ohm, A, F
    digit: float  # last place of the display
    shown: str  # the value as it is printed
    verdict: str = "not charted"  # "ok", "high", "low"
    expected: float | None = None
    low: float | None = None
    high: float | None = None
    window: str = ""  # as it is printed
    condition: str = ""
    note: str = ""
    slip: str = ""  # what the display may have said where it was written down a thousand off: "30.6 mV"
    burns: str = ""  # why to switch off at once, or to keep the plug out, at what the meter shows
    feed: str = ""  # joint that was read too, and by which it was held against what burns
    doubt: str = ""  # what burns unless the feed, which nothing explains so low, was read right
    id: str = ""  # of its entry in the log
    time: str = ""

    @property
    def live(self) -> bool:
        """Return whether it is read with the plug in."""
        return self.unit != "ohm"

    @property
    def again(self) -> str:
        """Return what to read again at once, and why; "" where nothing is in doubt."""
        return again_words(self.feed, self.doubt)

    @property
    def off(self) -> str:
        """Return how it is off: ``too high``, of volts that belong below zero ``not negative enough``; or how it is."""
        if self.verdict not in ("high", "low"):
            return self.shown
        if self.high is None or self.high >= 0.0:
            return f"too {self.verdict}"
        return {"high": "not negative enough", "low": "too negative"}.get(self.verdict, self.verdict)

    @property
    def doubted(self) -> str:
        """Return the value as it is printed, with what the display may have said instead."""
        return f"{self.shown} ({self.slip} would be right: is the unit so?)" if self.slip else self.shown


@dataclass(frozen=True)
class AsBuiltRow:
    """One thing measured, fitted or set; ``unused`` says why predictions do not hold it, "" where they do."""

    what: str  # "R3", "T1 hv.1 to hv.3, volts", "V5 tube", "R49 setting", "mains"
    shown: str  # "98.7 kΩ", "6L6GC #12"
    stated: str  # by the build file, "" where it says nothing
    unused: str
    id: str  # of its entry in the log
    time: str


@dataclass(frozen=True)
class StepState:
    """How far a step of the first power-up has come on one copy of a build."""

    number: int
    key: str
    title: str
    mains: str
    readings: int  # on its chart
    taken: int  # of them, in the log
    off: tuple[JudgedReading, ...]  # taken, and outside their windows
    ticked: bool  # said to be done
    passed: bool  # everything in it that guards a later step is as it should be, or was passed over knowingly


@dataclass(frozen=True)
class PowerUp:
    """Where the first power-up of one copy stands, and whether its next step may be taken."""

    states: tuple[StepState, ...]
    next: int  # number of the next step; 0 when all are passed
    shown: Step | None  # the step asked for, or the next one
    readings: tuple[JudgedReading | None, ...]  # what was taken of each reading of that step
    refusals: tuple[Finding, ...]  # why that step may not be taken yet
    passed_over: tuple[str, ...]  # what was passed over knowingly, with the reason given


@dataclass(frozen=True)
class Alarm:
    """What was read or seen at which something burns, or may burn, or that is off where it can hurt."""

    number: int  # of its step; 0 for a sign
    live: bool  # the plug is in then
    point: str
    head: str  # "B+2 to ground shows 190 V dc"
    rest: str  # "at step 5, Every tube out; good builds 278 V to 314 V"
    why: str  # what burns or hurts; of a doubt, what to read again and why
    doubt: bool = False  # it burns only if the volts that feed it were read too low
