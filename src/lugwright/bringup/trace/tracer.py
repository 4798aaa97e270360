"""From readings to a verdict over the fault list of one build."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from lugwright.bringup.reading_text import YES_FROM
from lugwright.bringup.reading_words import SIGN
from lugwright.bringup.trace.ahead import Ahead
from lugwright.bringup.trace.bench import OHMS
from lugwright.bringup.trace.even_scale import TOP_PLACE, blur, even, plain
from lugwright.bringup.trace.evidence import Readings, Slip
from lugwright.bringup.trace.groups import GOOD, TELLING, as_good, never_seen
from lugwright.bringup.trace.hypotheses import Hypothesis
from lugwright.bringup.trace.looks import Looks
from lugwright.bringup.trace.next_reading import EVERY_READING_S, information_bits, likely
from lugwright.bringup.trace.posterior import Posterior
from lugwright.bringup.trace.priors import PRIORS, Priors
from lugwright.bringup.trace.records import Array, Predictions, Probe, Suspect, Taken, Verdict
from lugwright.bringup.trace.sign_predictions import SignPredictor
from lugwright.bringup.trace.told_signs import ToldSigns
from lugwright.bringup.trace.verdict import ToUnit, Weighed, verdict_of, weigh
from lugwright.bringup.trace.work_ahead import WorkAhead, Working

Question = tuple[tuple[Taken, ...], tuple[Taken, ...]]  # what was read with a meter, and what was looked for

LOOKED_AT = 60  # probes whose information is worked out with everything that moves together
PAIRS_FROM = 0.1  # chance that no single fault explains the readings, from which on pairs are solved
NOTHING_AHEAD = Ahead(np.zeros((0, 0)), np.ones((0, 0)), np.zeros((0, 0), dtype=bool))
SWITCH_OFF_FROM = 0.1  # a fault that gets worse with every second need not be certain to be acted upon


class Predicting(Working, Protocol):
    """What is asked of `Predictor`."""

    @property
    def probes(self) -> tuple[Probe, ...]:
        """Return everything that can be read."""
        ...

    @property
    def hypotheses(self) -> tuple[Hypothesis, ...]:
        """Return the good build and every fault."""
        ...

    @property
    def signs(self) -> SignPredictor:
        """Return what eyes and ears would tell under every hypothesis."""
        ...

    def paired(self, pairs: Sequence[tuple[int, int]], probes: Sequence[Probe]) -> Predictions:
        """Return what two hypotheses at once say of probes."""
        ...


@dataclass(frozen=True, eq=False)
class Tracer:
    """The fault list of one build, ready to be held against readings."""

    predictor: Predicting
    priors: Priors = PRIORS
    latest: list[tuple[Question, Weighed]] = field(default_factory=list)  # what was weighed last

    @cached_property
    def keys(self) -> tuple[str, ...]:
        """Return the key of each hypothesis but the good build: that of its likeliest fault."""
        return tuple(h.faults[0].key for h in self.predictor.hypotheses[1:])

    @cached_property
    def ahead(self) -> WorkAhead:
        """Return what can be done before the next reading is there."""
        return WorkAhead(self.predictor)

    @cached_property
    def odds(self) -> Array:
        """Return how often each hypothesis comes true, against the others."""
        return np.array([h.odds for h in self.predictor.hypotheses[1:]])

    @cached_property
    def by_key(self) -> Mapping[str, Hypothesis]:
        """Return the hypotheses by their keys."""
        return dict(zip(self.keys, self.predictor.hypotheses[1:], strict=True))

    def verdict(self, taken: Sequence[Taken], candidates: Mapping[Probe, float], *, count: int = 3) -> Verdict:
        """Return what the readings say.

        Parameters
        ----------
        taken : sequence of Taken
            The readings, and the signs that were looked for.
        candidates : mapping of Probe to float
            What may be read or looked for next, with the time and risk of each. [s]
        count : int
            How many next readings to propose.

        Returns
        -------
        Verdict
            Faults named by their keys.

        Raises
        ------
        TraceError
            A reading cannot be weighed.

        Source
        ------
        Bayes' theorem over the fault list; Shannon's information for what to measure next.
        """
        read, looked = _apart(taken)
        weighed = self._latest([taken[k] for k in read], [taken[k] for k in looked])
        some, chance = self._told_apart(weighed)
        asked = {t.probe for t in taken}
        fresh = [p for p in candidates if p not in asked and p.quantity != SIGN]
        looks = self._looks([p for p in candidates if p not in asked and p.quantity == SIGN], candidates, weighed)
        singles = some[some <= len(self.keys)]
        told = self.predictor.lumped(fresh, singles) if fresh else NOTHING_AHEAD
        offered = self._best(fresh, candidates, told, chance[: len(singles)], weighed)
        few = self._narrowed(weighed, some, chance, offered)
        at = np.arange(len(read), len(read) + len(offered))
        seconds = np.array([candidates[p] for p in offered])
        never = self._never(weighed, singles, told, looks)
        found = verdict_of(
            weighed, at, self._to_unit(few.predictions.probes), closer=few, never=never, seconds=seconds,
            looks=looks, count=count,
        )  # fmt: skip
        singles_chance = weighed.found.chance[: len(self.keys) + 1]
        self.ahead.note(singles_chance, [t.probe for t in taken], fresh, offered, [n.probe for n in found.next])
        silent = found.healthy + float(np.sum(chance[: len(singles)][never[singles]]))
        good = silent >= self.priors.fine and not found.found
        off = self._harm([taken[k] for k in looked]) or self._switch_off(weighed)
        return self._spelled_out(_in_order(replace(found, good=good, switch_off=off), weighed, read, looked))

    def _looks(self, probes: Sequence[Probe], seconds: Mapping[Probe, float], weighed: Weighed) -> Looks | None:
        """Return what may be looked at next; none where nothing may."""
        if not probes:
            return None
        return Looks(tuple(probes), self.predictor.signs.of([p.red for p in probes]).with_pairs(weighed.pairs), seconds)

    def _harm(self, looked: Sequence[Taken]) -> str:
        """Return what goes on burning while a sign is there that was seen."""
        seen = (self.predictor.signs.by_name[t.probe.red] for t in looked if t.value >= YES_FROM)
        return next((sign.harm for sign in seen if sign.harm), "")

    def _never(
        self, weighed: Weighed, singles: NDArray[np.int_], told: Ahead, looks: Looks | None
    ) -> NDArray[np.bool_]:
        """Return which faults neither what was read nor what may be read or looked at shows: of those weighed here.

        Where hypotheses are too many to be looked at, some stand for all; their chances then do, too.
        """
        never = np.zeros(len(self.keys) + 1, dtype=bool)
        if not told.mean.size:
            return never
        never[singles] = as_good(told, int(np.flatnonzero(singles == GOOD)[0]))
        never &= never_seen(weighed.predictions)[: len(never)]
        never &= weighed.signs.chances.nats_apart(GOOD, np.arange(len(never))) < TELLING
        if looks is not None:
            never &= ~looks.show()[: len(never)]
        never[GOOD] = False
        return never

    def _latest(self, taken: Sequence[Taken], looked: Sequence[Taken]) -> Weighed:
        """Return the readings weighed; of one question that is asked again the answer is kept."""
        asked = tuple(taken), tuple(looked)
        if not self.latest or self.latest[0][0] != asked:
            self.latest[:] = [(asked, self._weighed(taken, looked))]
        return self.latest[0][1]

    def _weighed(self, taken: Sequence[Taken], looked: Sequence[Taken] = ()) -> Weighed:
        """Return the readings weighed; two faults at once are looked at where none alone explains them well."""
        probes = [t.probe for t in taken]
        predictions, readings = self.predictor.predictions(probes), readings_of(taken)
        told = self._told(looked)

        def predict_slips(place: int) -> list[Slip]:
            return self.predictor.slips.of(place, probes[place])

        def predict_pairs(pairs: Sequence[tuple[int, int]]) -> Predictions:
            return self.predictor.paired(pairs, probes)

        return weigh(
            predictions, readings, self.keys, self.odds, predict_pairs=predict_pairs, predict_slips=predict_slips,
            signs=told, priors=self.priors, pairs_from=PAIRS_FROM,
        )  # fmt: skip

    def _told(self, looked: Sequence[Taken]) -> ToldSigns | None:
        """Return what eyes and ears told, ready to be weighed."""
        if not looked:
            return None
        seen = np.array([t.value >= YES_FROM for t in looked])
        return ToldSigns(self.predictor.signs.of([t.probe.red for t in looked]), seen)

    def _told_apart(self, weighed: Weighed) -> tuple[NDArray[np.int_], Array]:
        """Return the hypotheses worth telling apart, the good build first, then in their order; and their chances."""
        some, weight = likely(weighed.found)
        chance = dict(zip(some.tolist(), (weight * float(np.sum(weighed.found.chance))).tolist(), strict=True))
        chance.setdefault(GOOD, float(weighed.found.chance[GOOD]))
        order = sorted(chance)
        return np.array(order, dtype=int), np.array([chance[h] for h in order])

    def _best(
        self, fresh: Sequence[Probe], seconds: Mapping[Probe, float], told: Ahead, chance: Array, weighed: Weighed
    ) -> list[Probe]:
        """Return the probes that are worth a close look."""
        if not fresh or len(chance) < 2:
            return list(fresh[:LOOKED_AT])
        none, top = weighed.found.none_of_these, weighed.readings.top
        bits = information_bits(told, chance / np.sum(chance), none, top=top)
        rate = bits / (EVERY_READING_S + np.array([seconds[p] for p in fresh]))
        return [fresh[k] for k in np.argsort(-rate, kind="stable")[:LOOKED_AT]]

    def _narrowed(
        self, weighed: Weighed, some: NDArray[np.int_], chance: Array, offered: Sequence[Probe]
    ) -> Weighed:  # fmt: skip
        """Return the same for some hypotheses only, with predictions of what may be read next."""
        singles, pairs = some[some <= len(self.keys)], some[some > len(self.keys)] - len(self.keys) - 1
        place = {int(h): k for k, h in enumerate(singles)}
        both = tuple(weighed.pairs[p] for p in pairs)
        known = [k for k, pair in enumerate(both) if set(pair) <= set(place)]
        kept = np.concatenate([singles, pairs[known] + len(self.keys) + 1]).astype(int)
        probes = [*weighed.predictions.probes, *offered]
        predictions = self.predictor.predictions(probes, singles)
        if known:
            predictions = _stacked(predictions, self.predictor.paired([both[k] for k in known], probes))
        where = {int(h): k for k, h in enumerate(some)}
        rows = [where[int(h)] for h in kept]
        found = weighed.found
        return Weighed(
            predictions, weighed.readings, tuple(self.keys[h - 1] for h in singles[1:]),
            tuple((place[both[k][0]], place[both[k][1]]) for k in known), weighed.log_prior[kept],
            replace(found, chance=chance[rows], doubted=found.doubted[kept]), self.priors,
            replace(weighed.signs, chances=weighed.signs.chances.some(kept)),
        )  # fmt: skip

    def _to_unit(self, probes: Sequence[Probe]) -> ToUnit:
        def to_unit(at: int, place: float) -> float:
            return place if math.isinf(place) else float(plain(probes[at].quantity, place))

        return to_unit

    def _switch_off(self, weighed: Weighed) -> str:
        """Return why to switch off now: the danger of the likeliest fault that is not to be waited for.

        With mains on, what would be likely if every reading were right counts as well: nobody keeps the power on to
        find out that a reading was wrong.
        """
        chance = weighed.found.chance
        if len(weighed.signs.seen) or any(probe.step != OHMS for probe in weighed.predictions.probes):
            chance = np.maximum(chance, _if_read_rightly(weighed.found))
        for h in np.argsort(-chance, kind="stable"):
            if chance[h] < SWITCH_OFF_FROM:
                break
            for key in weighed.faults_of(int(h)):
                for fault in self.by_key[key].faults:
                    if fault.danger:
                        return fault.danger
        return ""

    def _spelled_out(self, found: Verdict) -> Verdict:
        """Return the verdict with every fault of a hypothesis named, not only the first."""

        def all_of(keys: Sequence[str]) -> tuple[str, ...]:
            return tuple(f.key for key in keys for f in (self.by_key[key].faults if key else ()))

        def whole(suspect: Suspect) -> Suspect:
            return replace(suspect, faults=all_of(suspect.faults))

        return replace(
            found,
            suspects=tuple(map(whole, found.suspects)),
            not_yet_seen=whole(found.not_yet_seen),
            never_seen=whole(found.never_seen),
        )


def _apart(taken: Sequence[Taken]) -> tuple[list[int], list[int]]:
    """Return the places of what was read with a meter, and of what was looked for."""
    looked = [k for k, t in enumerate(taken) if t.probe.quantity == SIGN]
    return [k for k in range(len(taken)) if k not in set(looked)], looked


def _in_order(found: Verdict, weighed: Weighed, read: Sequence[int], looked: Sequence[int]) -> Verdict:
    """Return the verdict with its doubts at the places at which everything was told."""
    mistaken = weighed.signs.wrong(weighed.found.chance)
    wrong = {read[k]: chance for k, chance in found.wrong_reading.items()}
    wrong |= {place: float(chance) for place, chance in zip(looked, mistaken, strict=True)}
    slips = {(read[k], key): chance for (k, key), chance in found.slips.items()}
    return replace(found, wrong_reading=dict(sorted(wrong.items())), slips=slips)


def _if_read_rightly(found: Posterior) -> Array:
    """Return the chances of all hypotheses if no reading was taken wrongly."""
    right = found.chance * np.maximum(1.0 - np.sum(found.doubted, axis=1), 0.0)
    return np.asarray(right / max(float(np.sum(right)) + found.none_of_these, 1e-300))


def readings_of(taken: Sequence[Taken]) -> Readings:
    """Return readings on the even scale of their quantities, in the order they were taken."""
    value = np.array([float(even(t.probe.quantity, t.value)) for t in taken])
    noise = np.array([float(blur(t.probe.quantity, t.value, t.error)) for t in taken])
    return Readings(np.arange(len(taken)), value, noise, top=TOP_PLACE)


def _stacked(first: Predictions, second: Predictions) -> Predictions:
    return Predictions(
        first.probes,
        np.concatenate([first.expected, second.expected]),
        np.concatenate([first.loading, second.loading]),
        np.concatenate([first.noise, second.noise]),
        np.concatenate([first.known, second.known]),
    )
