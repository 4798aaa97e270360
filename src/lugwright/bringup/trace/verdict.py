"""From predictions and readings to the answer: what is likely, what cannot be told apart, what to measure next."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from functools import partial

import numpy as np
from numpy.typing import NDArray

from lugwright.bringup.trace.ahead import ahead
from lugwright.bringup.trace.evidence import Readings, Slip
from lugwright.bringup.trace.groups import GOOD, TELLING, Group, groups_of, never_seen, seen_by
from lugwright.bringup.trace.looks import Looks, no_looks
from lugwright.bringup.trace.next_reading import MASS, next_readings
from lugwright.bringup.trace.pairs import likely_pairs
from lugwright.bringup.trace.posterior import Posterior, posterior
from lugwright.bringup.trace.priors import PRIORS, Priors, log_priors
from lugwright.bringup.trace.records import Array, NextReading, Predictions, Suspect, Verdict
from lugwright.bringup.trace.told_signs import ToldSigns, no_signs
from lugwright.bringup.trace.two_wrong import two_wrong

PredictPairs = Callable[[Sequence[tuple[int, int]]], Predictions]
PredictSlips = Callable[[int], Sequence[Slip]]  # the ways to take a reading wrongly, and what each would show
ToUnit = Callable[[int, float], float]  # a probe, and a value on the even scale: in the unit of the meter

WORTH_NAMING = 0.03  # a reading that is wrong with this chance is asked what slip it may have been
ALONE_OFF = 0.5  # the same chance, if the build is good: this one reading alone speaks against it
MOST_NAMED = 1e-4  # chance of a good build that a slip with a name, which fits far better than any, may still raise
WORTH_SOLVING = 0.02  # pairs are solved while faults beyond single ones have this much of the chance
TWO_WRONG_FROM = 0.1  # chance of none of these, or of one wrong reading, from which two may both be wrong
MOST_GROUPED = 1000  # likely hypotheses put into groups
LOOKED_AHEAD = 5  # suspects of which it is worked out whether a reading could still take them apart
STILL_TELLS = 0.2  # bits: while a reading is expected to tell this much, several suspects are not yet all there is
LEAST_BITS = 0.001  # a reading expected to tell less is not proposed


@dataclass(frozen=True)
class Weighed:
    """Readings weighed against every hypothesis: the good build, single faults, then the pairs that were solved."""

    predictions: Predictions
    readings: Readings
    keys: tuple[str, ...]  # of the faults: hypothesis h is keys[h - 1]
    pairs: tuple[tuple[int, int], ...]  # hypothesis len(keys) + 1 is pairs[0]
    log_prior: Array
    found: Posterior
    priors: Priors
    signs: ToldSigns

    def faults_of(self, hypothesis: int) -> tuple[str, ...]:
        """Return the keys of the faults of a hypothesis: none, one or two."""
        if hypothesis == GOOD:
            return ()
        if hypothesis <= len(self.keys):
            return (self.keys[hypothesis - 1],)
        return tuple(self.keys[h - 1] for h in self.pairs[hypothesis - len(self.keys) - 1])


def weigh(
    predictions: Predictions,
    readings: Readings,
    keys: Sequence[str],
    odds: Array,
    *,
    predict_pairs: PredictPairs | None = None,
    predict_slips: PredictSlips | None = None,
    signs: ToldSigns | None = None,
    priors: Priors = PRIORS,
    pairs_from: float = 0.0,
) -> Weighed:
    """Return the readings weighed against the faults, and against pairs of them where single ones leave doubt.

    Parameters
    ----------
    predictions : Predictions
        What the good build and every fault say.
    readings : Readings
        What was read.
    keys : Sequence[str]
        Of the faults, in the order of the hypotheses.
    odds : Array
        How often each is made, against the others. [-]
    predict_pairs : PredictPairs | None
        Solves pairs of hypotheses: what they say of the same probes, in the order asked for.
    predict_slips : PredictSlips | None
        Says what slips with a name would have shown, for a reading (by its place) that may be wrong.
    signs : ToldSigns | None
        What eyes and ears told besides.
    priors : Priors
        What is believed beforehand.
    pairs_from : float
        Chance that no single fault explains the readings as they are, from which on pairs are looked at. [-]

    Returns
    -------
    Weighed
        Chances. [-]

    Source
    ------
    Bayes' theorem.
    """
    told = no_signs(len(predictions.expected)) if signs is None else signs
    seen = seen_by(predictions, readings) | (told.chances.nats_apart(GOOD, np.arange(1, len(keys) + 1)) >= TELLING)
    prior = log_priors(odds, seen=seen, priors=priors)
    found = posterior(predictions, readings, prior, priors=priors, signs=told)
    if predict_slips is not None and (doubtful := _doubtful(found)):
        readings = _with_slips(readings, doubtful, predict_slips)
        found = posterior(predictions, readings, prior, priors=priors, signs=told)
    twice = two_wrong(predictions, readings, prior + told.log) if _may_be_twice(found) else None
    if twice is not None:
        if predict_slips is not None:
            readings = _with_slips(readings, {k for pair in twice.pairs for k in pair}, predict_slips)
        found = posterior(predictions, readings, prior, priors=priors, signs=told, twice=twice)
    single = Weighed(predictions, readings, tuple(keys), (), prior, found, priors, told)
    if predict_pairs is None or not _may_be_two(single, pairs_from):
        return single
    pairs = likely_pairs(predictions, readings, odds, seen, signs=told)
    if not pairs:
        return single
    both, told = _joined(predictions, predict_pairs(pairs)), told.with_pairs(pairs)
    prior = log_priors(odds, pairs, seen=seen, priors=priors)
    found = posterior(
        both, _for_pairs(readings, predictions, both), prior, priors=priors, signs=told, twice=twice
    )  # fmt: skip
    return replace(single, predictions=both, pairs=pairs, log_prior=prior, found=found, signs=told)


def _may_be_twice(found: Posterior) -> bool:
    """Return whether two readings may both be wrong: nothing listed explains them, or a fault beside one wrong one."""
    beside = float(np.max(found.wrong, initial=0.0)) if found.chance[GOOD] < ALONE_OFF else 0.0
    return found.none_of_these + beside > TWO_WRONG_FROM


def _with_slips(readings: Readings, doubtful: Iterable[int], predict_slips: PredictSlips) -> Readings:
    """Return the readings with the slips that some of them may have been, each worked out once."""
    known = {slip.reading for slip in readings.slips}
    more = tuple(slip for k in sorted(set(doubtful) - known) for slip in predict_slips(k))
    return replace(readings, slips=(*readings.slips, *more))


def _doubtful(found: Posterior) -> list[int]:
    """Return the readings that were perhaps taken wrongly, and one that alone speaks against a good build."""
    alone = (found.doubted[GOOD] > ALONE_OFF) & (found.chance[GOOD] > MOST_NAMED)
    return np.flatnonzero((found.wrong > WORTH_NAMING) | alone).tolist()


def _may_be_two(single: Weighed, pairs_from: float) -> bool:
    """Return whether so much is seen that one fault does not explain that pairs are worth solving."""
    found = single.found
    left = found.none_of_these + float(np.sum(found.wrong) + np.sum(single.signs.wrong(found.chance)))
    return left >= pairs_from and (left > WORTH_SOLVING or float(found.chance[GOOD]) < 0.5)


def _for_pairs(readings: Readings, single: Predictions, both: Predictions) -> Readings:
    """Return the readings with slips that pairs know too: taken to show there what they show on a good build."""
    more = len(both.expected) - len(single.expected)
    slips = (
        replace(s, expected=np.append(s.expected, np.full(more, s.expected[GOOD])),
                spread=np.append(s.spread, np.full(more, s.spread[GOOD])))
        for s in readings.slips
    )  # fmt: skip
    return replace(readings, slips=tuple(slips))


def _joined(single: Predictions, pairs: Predictions) -> Predictions:
    return Predictions(
        single.probes,
        np.concatenate([single.expected, pairs.expected]),
        np.concatenate([single.loading, pairs.loading]),
        np.concatenate([single.noise, pairs.noise]),
        np.concatenate([single.known, pairs.known]),
    )


def verdict_of(
    weighed: Weighed,
    at: NDArray[np.int_],
    to_unit: ToUnit,
    *,
    closer: Weighed | None = None,
    never: NDArray[np.bool_] | None = None,
    seconds: Array | None = None,
    looks: Looks | None = None,
    count: int = 3,
) -> Verdict:
    """Return the answer in keys of faults, and the readings worth taking next.

    What may be read next need not be predicted for the whole fault list: ``closer`` may hold fewer hypotheses, those
    worth telling apart, with more probes.

    Parameters
    ----------
    weighed : Weighed
        Readings weighed against the faults.
    at : NDArray[np.int_]
        The probes that may be read now: of ``closer``, where it is given.
    to_unit : ToUnit
        Turns a value on the even scale into the unit of the probe.
    closer : Weighed | None
        The same readings against some of the hypotheses, with predictions of what may be read next.
    never : NDArray[np.bool_] | None
        Which hypotheses no reading on the whole list shows; without it, none of the probes predicted. (hypothesis)
    seconds : Array | None
        What each of these probes costs, time and risk together; without it, as the probes say. (probe) [s]
    looks : Looks | None
        What may be looked at or listened for instead.
    count : int
        How many readings to propose.

    Returns
    -------
    Verdict
        Chances [-], information in bits.

    Source
    ------
    `posterior`, `groups_of`, `next_readings`.
    """
    found, near, eyes = weighed.found, closer or weighed, looks or no_looks(len(weighed.found.chance))
    groups = groups_of(
        weighed.predictions, weighed.readings, found.chance, weighed.log_prior, _grouped(weighed),
        signs=weighed.signs.chances,
    )  # fmt: skip
    seen = groups[1:]  # the first is what cannot be told from a good build
    suspects = _suspects(weighed, seen, near, at, eyes)
    ahead_now = _next(near, at, to_unit, seconds, count)
    if looks is not None:
        ahead_now = looks.among(ahead_now, found, partial(_named, weighed), count)
    narrow = bool(suspects) and (len(suspects[0].faults) == 1 or suspects[0].for_good)
    done = narrow or not ahead_now or max(reading.bits for reading in ahead_now) < STILL_TELLS
    hidden, silent = _as_good(weighed, groups, never_seen(weighed.predictions) if never is None else never)
    return Verdict(
        healthy=float(found.chance[GOOD]),
        none_of_these=found.none_of_these,
        wrong_reading={k: float(chance) for k, chance in enumerate(found.wrong)},
        suspects=suspects,
        slips={(s.reading, s.key): c for s, c in zip(weighed.readings.slips, found.slipped, strict=True)},
        pairs=_two_at_once(weighed, seen),
        next=ahead_now,
        not_yet_seen=hidden,
        never_seen=silent,
        found=bool(suspects) and suspects[0].chance >= weighed.priors.found and done,
        good=float(found.chance[GOOD]) + silent.chance >= weighed.priors.fine,
    )


def _next(
    near: Weighed, at: NDArray[np.int_], to_unit: ToUnit, seconds: Array | None, count: int
) -> tuple[NextReading, ...]:
    if not len(at):
        return ()
    choices = next_readings(
        near.predictions, near.readings, near.found, at, seconds=seconds, priors=near.priors, count=count
    )
    return tuple(
        NextReading(
            near.predictions.probes[c.at],
            c.bits,
            tuple((to_unit(c.at, o.low), to_unit(c.at, o.high), _named(near, o.left)) for o in c.outcomes),
        )
        for c in choices
        if c.bits >= LEAST_BITS
    )


def _grouped(weighed: Weighed) -> NDArray[np.int_]:
    """Return the likely hypotheses, with the good build and both faults of every likely pair."""
    best = weighed.found.best(MOST_GROUPED, MASS)
    halves = [half for h in best if h > len(weighed.keys) for half in weighed.pairs[h - len(weighed.keys) - 1]]
    return np.unique(np.concatenate([best, halves, [GOOD]])).astype(int)


def _named(weighed: Weighed, hypotheses: Sequence[int]) -> tuple[str, ...]:
    """Return the keys of the faults of some hypotheses, each once; the empty key stands for a good build."""
    return tuple(dict.fromkeys(key for h in hypotheses for key in weighed.faults_of(h) or ("",)))


def _suspects(
    weighed: Weighed, groups: Sequence[Group], near: Weighed, at: NDArray[np.int_], eyes: Looks
) -> tuple[Suspect, ...]:
    """Return groups of single faults; each with the chance that one of them is there, alone or in a pair."""
    singles, chance = len(weighed.keys), weighed.found.chance
    found = []
    for group in groups:
        members = [h for h in group.members if h <= singles]
        if members:
            within = [singles + 1 + k for k, pair in enumerate(weighed.pairs) if not set(pair).isdisjoint(members)]
            found.append((float(np.sum(chance[members + within])), members))
    found.sort(key=lambda suspect: (-suspect[0], suspect[1]))
    return tuple(
        Suspect(
            _named(weighed, members), each,
            k < LOOKED_AHEAD and _for_good(_named(weighed, members), near, at) and not eyes.tell_apart(members),
        )
        for k, (each, members) in enumerate(found)
    )  # fmt: skip


def _for_good(keys: Sequence[str], near: Weighed, at: NDArray[np.int_]) -> bool:
    """Return whether no one reading ahead tells any of the faults from the first."""
    place = {key: h for h, key in enumerate(near.keys, 1)}
    some = np.array([place[key] for key in keys if key in place], dtype=int)
    if len(keys) < 2 or len(some) < 2 or not len(at):
        return len(keys) > 1
    found = near.found
    told = ahead(near.predictions, near.readings, some, at, scales=near.priors.scales, doubted=found.doubted)
    apart = (told.mean[1:] - told.mean[0]) ** 2 / (told.sd[1:] ** 2 + told.sd[0] ** 2)
    both = told.known[1:] & told.known[0]
    return not bool(np.any(np.where(both, apart >= TELLING, told.known[1:] != told.known[0])))


def _two_at_once(weighed: Weighed, groups: Sequence[Group]) -> tuple[Suspect, ...]:
    singles = len(weighed.keys)
    found = []
    for group in groups:
        members = [h for h in group.members if h > singles]
        if members:
            pairs = tuple((weighed.faults_of(h)[0], weighed.faults_of(h)[1]) for h in members)
            chance = float(np.sum(weighed.found.chance[members]))
            found.append(Suspect(_named(weighed, members), chance, together=pairs))
    return tuple(sorted(found, key=lambda suspect: (-suspect.chance, suspect.faults)))


def _as_good(weighed: Weighed, groups: Sequence[Group], unseen: NDArray[np.bool_]) -> tuple[Suspect, Suspect]:
    """Return the faults that look like a good build so far, and those that always will."""
    singles = len(weighed.keys)
    never = unseen[: singles + 1].copy()
    never[[h for group in groups[1:] for h in group.members if h <= singles] + [GOOD]] = False
    chance = weighed.found.chance[: singles + 1]
    silent = np.flatnonzero(never)
    hidden = np.array([h for h in groups[0].members if 0 < h <= singles and not never[h]], dtype=int)
    return (
        Suspect(_named(weighed, hidden.tolist()), float(np.sum(chance[hidden]))),
        Suspect(_named(weighed, silent.tolist()), float(np.sum(chance[silent]))),
    )
