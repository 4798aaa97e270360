"""What tracing answers, in words: suspects, what to measure next, what each outcome would mean. Records only."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class FaultWords:
    """One thing that may be wrong."""

    key: str  # stable within a plan: "missing W17"
    code: str  # its entry in the table of faults
    what: str
    do: str
    card: str  # "card 31", where a job card is about it
    danger: str


@dataclass(frozen=True)
class SuspectWords:
    """Faults that the readings so far cannot tell apart."""

    chance: float  # that one of them is there
    words: str  # what keeps them together; "" for one alone
    faults: tuple[FaultWords, ...]


@dataclass(frozen=True)
class SignWords:
    """Something that may be seen, heard or felt; ``seen`` none: nobody has looked."""

    name: str  # "heater dark V2"
    look: str  # what to do to find out
    step: str  # from which step on it may show itself
    title: str
    seen: bool | None
    harm: str  # what goes on burning while it is there; "" where nothing does


@dataclass(frozen=True)
class OutcomeWords:
    """A stretch of what may be read next, and what is left then."""

    low: float | None  # in the unit of the reading; none: no bound
    high: float | None
    words: str  # "under 1.2 V"
    means: tuple[str, ...]  # what is left, likeliest first
    more: int  # how many besides


@dataclass(frozen=True)
class NextWords:
    """What to measure next."""

    step: str
    title: str
    point: str
    red: str
    black: str
    quantity: str
    bits: float  # expected information
    seconds: float  # time and risk, what has to be done before included
    caution: str
    outcomes: tuple[OutcomeWords, ...]


@dataclass(frozen=True)
class SlipWords:
    """A way in which a reading was perhaps taken."""

    key: str  # "tip on V1.7", "range 10", "set to V ac"
    chance: float
    what: str
    do: str


@dataclass(frozen=True)
class TracedReading:
    """A reading that was weighed."""

    step: str
    point: str
    quantity: str
    value: float | None  # none: over range
    shown: str
    wrong: float  # chance that it was taken wrongly
    slips: tuple[SlipWords, ...] = ()  # how, likeliest first, where one way explains what was read


@dataclass(frozen=True)
class Tracing:
    """What the readings say. ``state``: "found", "nearly", "look", "good", "none of these", "open", "nothing read"."""

    state: str
    words: str
    switch_off: str  # why to pull the plug now; "" where nothing likely gets worse
    healthy: float
    none_of_these: float
    suspects: tuple[SuspectWords, ...]
    pairs: tuple[SuspectWords, ...]  # two faults at once
    next: tuple[NextWords, ...]
    readings: tuple[TracedReading, ...]
    as_good_so_far: int  # faults that readings on the list could show, and those taken do not
    never_seen: tuple[FaultWords, ...]  # faults that no reading on the list shows: only eyes find them
    faults: int  # how many were weighed
    again: str = ""  # what to read again before anything else, because something burns unless it was read right
    plug_in: bool = False  # something burns, or may, by the chart of a step with mains on

    @property
    def live(self) -> bool:
        """Return whether something was read or seen with the plug in."""
        return self.plug_in or any(reading.step != "ohms" for reading in self.readings)
