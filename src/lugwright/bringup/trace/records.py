"""What tracing hands from one step to the next."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Probe:
    """One thing that can be read: where, what and in which step of the first power-up."""

    step: str  # key of the step: "ohms", "heaters", "no tubes", "bias", "small tubes", "all tubes", "signal"
    red: str  # key of a terminal of the plan, or a joint
    black: str  # "ground" most often
    quantity: str  # "ohm", "V dc", "V ac", "ripple V ac", "signal V ac", "lamp", "sign"
    words: str  # "V1 pin 6 (plate b) to ground"
    effort: float  # seconds it takes, turning the chassis over and clipping on included
    risk: float  # what a slip costs, in the same seconds: nothing with the plug out, much at 400 V


@dataclass(frozen=True)
class Taken:
    """One reading: a probe and what the meter showed; infinite for over range."""

    probe: Probe
    value: float
    error: float  # one standard deviation of the meter at this reading, in its unit


@dataclass(frozen=True)
class Predictions:
    """What every hypothesis says of some probes, on a scale on which meters and spreads are even.

    Hypothesis 0 is the good build. ``loading`` says how far each independent cause of spread (part values,
    tubes, mains; one standard deviation each) moves a prediction, so that what moves together is known to.
    """

    probes: tuple[Probe, ...]
    expected: Array  # (hypothesis, probe)
    loading: Array  # (hypothesis, probe, cause)
    noise: Array  # (hypothesis, probe): one standard deviation of everything that is each reading's own
    known: NDArray[np.bool_]  # (hypothesis, probe): False where the hypothesis says nothing of the probe


@dataclass(frozen=True)
class Suspect:
    """Faults that the readings so far cannot tell apart, and how likely one of them is."""

    faults: tuple[str, ...]  # keys; in the order of their odds, never of the readings
    chance: float  # that one of them is there, alone or with another fault
    for_good: bool = False  # True where no one reading still on the list could tell them apart either
    together: tuple[tuple[str, str], ...] = ()  # for two faults at once: the pairs that cannot be told apart


@dataclass(frozen=True)
class NextReading:
    """What to measure next, and what each outcome would mean."""

    probe: Probe
    bits: float  # expected information
    outcomes: tuple[tuple[float, float, tuple[str, ...]], ...]  # from, to (in the probe's unit), faults left


@dataclass(frozen=True)
class Verdict:
    """What the readings say. ``none_of_these`` is the chance that something is wrong that is not on the list."""

    healthy: float  # nothing is wrong at all
    none_of_these: float
    wrong_reading: Mapping[int, float]  # place in the readings -> chance that this one was taken wrongly
    suspects: tuple[Suspect, ...]  # likeliest first
    pairs: tuple[Suspect, ...]  # two faults at once
    next: tuple[NextReading, ...]  # best first
    switch_off: str = ""  # why, where a likely fault gets worse with every second
    not_yet_seen: Suspect = Suspect((), 0.0)  # as a good build so far; readings on the list could still show them
    never_seen: Suspect = Suspect((), 0.0)  # as a good build in every reading on the list: only eyes find them
    slips: Mapping[tuple[int, str], float] = field(default_factory=dict)  # place in the readings, key -> chance
    found: bool = False  # likely enough to go and look, and no reading on the list tells much more
    good: bool = False  # nothing is wrong that readings on the list could show, likely enough to go on
