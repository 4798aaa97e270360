"""What small signals do: response curves, stages, loop gain, poles and hiss, as plain records."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class ResponseWish:
    """What is asked for. Points are joints, terminals or speakers; A/B is the difference of two joints."""

    source: str | None = None
    output: str | None = None
    knobs: tuple[tuple[str, tuple[float, ...]], ...] = ()
    low_hz: float = 10.0
    high_hz: float = 100e3
    resistive_speaker: bool = False
    guitar_ohm: float | None = None  # at the input while it hisses; None: nothing plugged in
    full_power_w: float | None = None


@dataclass(frozen=True)
class ResponseCurve:
    """Gain from one point to another over frequency, under one setting of the knobs.

    ``gain_db`` is volts over volts with the first point driven by a source without resistance; both impedances are
    magnitudes, the output's with that source standing still and without the loudspeaker, where one stands there.
    ``low_hz`` and ``high_hz`` lie 3 dB below the gain at 1 kHz; None where the curve does not get there.
    """

    setting: str
    hertz: tuple[float, ...]
    gain_db: tuple[float, ...]
    phase_deg: tuple[float, ...]
    input_ohm: tuple[float, ...]
    output_ohm: tuple[float, ...]
    gain_1khz_db: float
    input_1khz_ohm: float
    output_1khz_ohm: float
    low_hz: float | None
    high_hz: float | None


@dataclass(frozen=True)
class StageGain:
    """What one tube section makes of a signal, in its place in the circuit, at 1 kHz.

    ``gain`` is negative where the stage turns the signal over. ``level_db`` is the signal the section gets, volts
    over volts at the input; None where the input does not reach it, and then it is driven by itself at its grid.
    """

    tube: str
    driven_at: str  # grid, or cathode where more of the signal is there
    taken_at: str  # plate, cathode
    gain: float
    low_hz: float | None
    high_hz: float | None
    output_ohm: float
    level_db: float | None


@dataclass(frozen=True)
class Margin:
    """How far the loop is from oscillating, at one frequency: ``phase_deg`` where its gain is 1, ``gain_db`` where
    its phase has turned by half a circle. Negative: it oscillates."""

    hertz: float
    phase_deg: float | None = None
    gain_db: float | None = None


@dataclass(frozen=True)
class LoopGain:
    """The feedback around the amplifier, seen as the return ratio of what comes back through its feedback parts."""

    parts: tuple[str, ...]  # the feedback resistor and what lies beside it
    origin: str  # joint the feedback is taken from
    joint: str  # joint it comes back to
    positive: bool  # it adds at 1 kHz instead of subtracting
    reduction_db: float  # of the gain at 1 kHz
    hertz: tuple[float, ...]
    gain_db: tuple[float, ...]
    phase_deg: tuple[float, ...]  # 0 where the feedback is purely negative
    margins: tuple[Margin, ...]


@dataclass(frozen=True)
class Pole:
    """One way in which the amplifier comes to rest by itself; one that grows when ``growth_per_s`` is positive."""

    hertz: float  # of its swing; 0 when it does not swing
    growth_per_s: float
    damping: float  # 1: does not swing, 0: never ends, negative: grows
    joints: tuple[str, ...]  # where most of it happens
    error: float  # relative, of the pole as an answer of the circuit's equations


@dataclass(frozen=True)
class Poles:
    """Every pole that swings or grows, the least damped first, and how many there are in all."""

    count: int
    poles: tuple[Pole, ...]


@dataclass(frozen=True)
class TurnedPole:
    """A pole that grows with knobs turned otherwise than set."""

    setting: str
    pole: Pole


@dataclass(frozen=True)
class HissSource:
    """What one part adds to the hiss."""

    part: str
    what: str
    volts: float  # RMS at the output, within the band
    share: float  # of the hiss power


@dataclass(frozen=True)
class Hiss:
    """Hiss at the output from resistors and tubes, with nothing else wrong; real tubes are rarely quieter."""

    output: str
    low_hz: float
    high_hz: float
    volts: float  # RMS within the band
    weighted_volts: float  # the same, A-weighted
    input_v_per_root_hz: float  # density at 1 kHz as if it came from the input
    full_power_w: float | None
    signal_to_noise_db: float | None
    hertz: tuple[float, ...]
    volts_per_root_hz: tuple[float, ...]
    sources: tuple[HissSource, ...]  # the loudest first


@dataclass(frozen=True)
class KnobEffect:
    """What one knob does when it is turned from end to end, the others as set."""

    part: str
    label: str
    ends: tuple[ResponseCurve, ResponseCurve]
    most_db: float  # the largest change anywhere in the band
    at_hz: float  # where that is
    shapes: bool  # it changes the tone rather than the level


@dataclass(frozen=True)
class AmplifierResponse:
    """Everything that small signals tell of an amplifier."""

    source: str  # where the signal goes in and comes out, as named
    output: str
    curves: tuple[ResponseCurve, ...]  # knobs as set in the build file, then the settings asked for
    knobs: tuple[KnobEffect, ...]
    stages: tuple[StageGain, ...]
    loop: LoopGain | None
    poles: Poles
    turned: tuple[TurnedPole, ...]  # what grows with one knob at an end, or all of them
    hiss: Hiss
    hiss_source: str  # what stood at the input meanwhile
