"""A verdict in builder's words."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from lugwright.bringup.faults.cards import cards_of
from lugwright.bringup.faults.fault import Fault
from lugwright.bringup.faults.wrong_readings import WrongReading
from lugwright.bringup.lamp_reading import BEND, LAMP, looks_words
from lugwright.bringup.reading_text import said_yes
from lugwright.bringup.reading_words import SIGN
from lugwright.bringup.signs import Sign
from lugwright.bringup.trace.bench import OHMS
from lugwright.bringup.trace.records import NextReading, Probe, Suspect, Taken, Verdict
from lugwright.bringup.trace_results import (
    FaultWords,
    NextWords,
    OutcomeWords,
    SlipWords,
    SuspectWords,
    TracedReading,
    Tracing,
)
from lugwright.quantities import with_unit
from lugwright.workorder.results import WorkOrder

LISTED = 5  # suspects that are told
LEAST_CHANCE = 0.005
MEANINGS = 3  # faults named for an outcome
MOST_CARDS = 3
FEW = 3  # suspects that somebody looks at sooner than take another reading
WORTH_BITS = 0.3  # a reading that tells less is not worth the clip
LOOK_FROM = 0.6  # chance of a group that no reading takes apart, from which on somebody should look
NONE_FROM = 0.5
SLIP_FROM = 0.1  # chance from which a way to take a reading wrongly is named
_NEVER_NEGATIVE = ("ohm", "V ac", "ripple V ac", "signal V ac")
UNITS = {"ohm": "Ω", "V dc": "V", "V ac": "V", "ripple V ac": "V", "signal V ac": "V", "lamp": "", "sign": ""}
NUMBERS = {2: "two", 3: "three", 4: "four", 5: "five", 6: "six", 7: "seven", 8: "eight", 9: "nine"}
OFF_CAUTION = (
    "plug out, wait, every filter capacitor measured below 60 V and then discharged, tubes out; only then the ohmmeter"
)
LOOK_CAUTION = "eyes and ears only: both hands off the chassis while the plug is in"
LAMP_LOOK = "look how bright the limiter lamp settles: dark, dull, dim, lit or full; or its volts"
LAMP_TITLE = ", through the limiter lamp"
ON_CAUTION = "these volts kill: one hand, clip on with the plug out, then switch on and read"


@dataclass(frozen=True)
class Words:
    """What a verdict is put into words with."""

    faults: Mapping[str, Fault]
    order: WorkOrder
    titles: Mapping[str, str]  # step -> what has to be done for it
    ways: Callable[[Probe], Sequence[WrongReading]] = lambda _: ()  # to take a reading wrongly
    signs: Mapping[str, Sign] = field(default_factory=dict)
    _told: dict[str, FaultWords] = field(default_factory=dict, repr=False, compare=False)

    def tracing(self, verdict: Verdict, taken: Sequence[Taken], seconds: Mapping[Probe, float]) -> Tracing:
        """Return a verdict in words."""
        state = state_of(verdict, taken)
        return Tracing(
            state=state,
            words=_summary(state, verdict),
            switch_off=verdict.switch_off,
            healthy=verdict.healthy,
            none_of_these=verdict.none_of_these,
            suspects=self._suspects(verdict.suspects) if taken else (),
            pairs=self._pairs(verdict.pairs),
            next=tuple(self._next(reading, seconds[reading.probe]) for reading in verdict.next),
            readings=tuple(self._reading(k, t, verdict) for k, t in enumerate(taken)),
            as_good_so_far=len(verdict.not_yet_seen.faults),
            never_seen=tuple(self.fault(key) for key in verdict.never_seen.faults),
            faults=len(self.faults),
        )

    def fault(self, key: str) -> FaultWords:
        """Return one fault in words, with the card that it is about."""
        if key not in self._told:
            self._told[key] = self._fault(key)
        return self._told[key]

    def _fault(self, key: str) -> FaultWords:
        fault = self.faults[key]
        cards = cards_of(fault, self.order)[:MOST_CARDS]
        words = f"{'card' if len(cards) == 1 else 'cards'} {', '.join(map(str, cards))}" if cards else ""
        return FaultWords(key, fault.code, fault.what, fault.do, words, fault.danger)

    def _suspects(self, suspects: Sequence[Suspect]) -> tuple[SuspectWords, ...]:
        return tuple(
            SuspectWords(s.chance, together_words(len(s.faults), for_good=s.for_good), tuple(map(self.fault, s.faults)))
            for s in suspects[:LISTED]
            if s.chance >= LEAST_CHANCE
        )

    def _pairs(self, pairs: Sequence[Suspect]) -> tuple[SuspectWords, ...]:
        return tuple(
            SuspectWords(p.chance, "both at once", tuple(map(self.fault, p.together[0])))
            for p in pairs[:LISTED]
            if p.chance >= LEAST_CHANCE and p.together
        )

    def _reading(self, place: int, taken: Taken, verdict: Verdict) -> TracedReading:
        probe = taken.probe
        return TracedReading(
            probe.step, probe.words, probe.quantity, taken.value if math.isfinite(taken.value) else None,
            value_words(probe.quantity, taken.value), verdict.wrong_reading.get(place, 0.0),
            self._slips(place, probe, verdict.slips),
        )  # fmt: skip

    def _slips(self, place: int, probe: Probe, slips: Mapping[tuple[int, str], float]) -> tuple[SlipWords, ...]:
        chances = {key: chance for (at, key), chance in slips.items() if at == place and chance >= SLIP_FROM}
        if not chances or probe.quantity == SIGN:
            return ()
        named = [SlipWords(w.key, chances[w.key], w.what, w.do) for w in self.ways(probe) if w.key in chances]
        return tuple(sorted(named, key=lambda slip: -slip.chance))

    def _next(self, reading: NextReading, seconds: float) -> NextWords:
        probe = reading.probe
        by_eye = probe.quantity in (SIGN, LAMP)
        title = self.titles.get(probe.step, probe.step) + (LAMP_TITLE if probe.quantity == LAMP else "")
        return NextWords(
            probe.step, title, self._words(probe), probe.red, probe.black, probe.quantity, reading.bits, seconds,
            OFF_CAUTION if probe.step == OHMS else LOOK_CAUTION if by_eye else ON_CAUTION,
            tuple(self._outcome(probe.quantity, *outcome) for outcome in _shown(probe.quantity, reading.outcomes)),
        )  # fmt: skip

    def _words(self, probe: Probe) -> str:
        if probe.quantity == SIGN:
            return self.signs[probe.red].look
        return LAMP_LOOK if probe.quantity == LAMP else probe.words

    def _outcome(self, quantity: str, low: float, high: float, left: tuple[str, ...]) -> OutcomeWords:
        means = [self.faults[key].what if key else "nothing is wrong" for key in left]
        more = len(means) - MEANINGS if len(means) > MEANINGS + 1 else 0
        shown = means[:MEANINGS] if more else means
        bounds = (low if math.isfinite(low) else None, high if math.isfinite(high) else None)
        return OutcomeWords(*bounds, range_words(quantity, low, high), tuple(shown), more)


def _shown(
    quantity: str, outcomes: Sequence[tuple[float, float, tuple[str, ...]]]
) -> Iterator[tuple[float, float, tuple[str, ...]]]:
    """Yield the outcomes that a meter can show: of ohms and alternating volts none below zero."""
    for low, high, left in outcomes:
        if quantity not in _NEVER_NEGATIVE:
            yield low, high, left
        elif high > 0.0:
            yield (low if low > 0.0 else -math.inf), high, left


def state_of(verdict: Verdict, taken: Sequence[Taken]) -> str:
    """Return in one word where tracing stands."""
    if not taken:
        return "nothing read"
    if verdict.found:
        first = verdict.suspects[0]
        more = verdict.next[0].bits if verdict.next else 0.0
        return "found" if first.for_good or len(first.faults) <= FEW or more < WORTH_BITS else "nearly"
    if verdict.good:
        return "good"
    if verdict.none_of_these >= NONE_FROM:
        return "none of these"
    likely = verdict.suspects[:1]
    apart = likely and likely[0].for_good and likely[0].chance >= LOOK_FROM
    return "look" if apart and (not verdict.next or verdict.next[0].bits < WORTH_BITS) else "open"


def _summary(state: str, verdict: Verdict) -> str:
    first = verdict.suspects[0].chance if verdict.suspects else 0.0
    return {
        "nothing read": "No reading yet. Begin with what looked wrong, or with the reading below.",
        "found": f"Found, as far as readings can tell ({percent(first)}). Look there before anything else is touched.",
        "nearly": f"One of the first group ({percent(first)}); the reading below tells which.",
        "look": f"One of the first group ({percent(first)}), and no reading that may be taken now tells which: look.",
        "good": "These readings are those of a good build: nothing that they could show is wrong.",
        "none of these": f"None of the faults on the list explains these readings ({percent(verdict.none_of_these)}). "
        "Read two of the points again, then compare the wiring with the plan by eye.",
        "open": "Not clear yet: take the reading below.",
    }[state]


def together_words(count: int, *, for_good: bool) -> str:
    """Return what keeps some faults in one group."""
    if count < 2:
        return ""
    number = NUMBERS.get(count, str(count))
    if for_good:
        return f"no reading on the list tells these {number} apart: look at each"
    return f"these {number} cannot be told apart by the readings so far"


def percent(chance: float) -> str:
    """Return a chance as it is printed; never certain, never none."""
    if chance > 0.99:
        return "over 99 %"
    return "under 1 %" if chance < 0.01 else f"{100.0 * chance:.0f} %"


def value_words(quantity: str, value: float) -> str:
    """Return a reading as it is printed."""
    if math.isinf(value):
        return "over range"
    if quantity == SIGN:
        return said_yes(value)
    if quantity == LAMP:
        return f"{looks_words(value**BEND)} ({100.0 * value:.0f} % of the mains on it)"
    return with_unit(value, UNITS[quantity]) + (" ac" if quantity.endswith("V ac") else "")


def range_words(quantity: str, low: float, high: float) -> str:
    """Return a stretch of readings in words."""
    if quantity == SIGN:
        return "yes" if low > -math.inf else "no"
    if low == math.inf:
        return "over range"
    if low == -math.inf and high == math.inf:
        return "whatever it reads"
    if low == -math.inf:
        return f"under {value_words(quantity, high)}"
    if high == math.inf:
        return f"over {value_words(quantity, low)}"
    return f"{value_words(quantity, low)} to {value_words(quantity, high)}"
