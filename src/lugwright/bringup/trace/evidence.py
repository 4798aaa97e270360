"""How well each hypothesis explains the readings: all of them, and all but one."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from lugwright.bringup.trace.normal_law import log_above, normal
from lugwright.bringup.trace.records import Array, Predictions
from lugwright.bringup.trace.telling import telling_first
from lugwright.errors import TraceError

AT_ONCE = 4_000_000  # numbers of one batch: 32 MB
FEW = 24  # readings that are weighed against every hypothesis, before hopeless ones are left out
HOPELESS = 80.0  # nats behind the best: what has one chance in 10 to the 34th does not come back
FINEST = 1e-6  # no reading is weighed finer, against what the causes may move it: arithmetic would not bear it


@dataclass(frozen=True)
class Slip:
    """A way to take one reading wrongly, and what it would then show: ten times too much, the pin beside it."""

    reading: int  # place in the readings
    odds: float  # against the other slips of this reading
    expected: Array  # (hypothesis)
    spread: Array  # (hypothesis): one standard deviation
    key: str = ""


@dataclass(frozen=True)
class Readings:
    """What was read, on the even scale of the predictions.

    A value above ``top`` is over range: all that is known of it is that it lies there.
    """

    at: NDArray[np.int_]  # (reading): which probe
    value: Array  # (reading)
    noise: Array  # (reading): one standard deviation of the meter on that scale, beyond what is predicted
    slips: tuple[Slip, ...] = field(default=())
    top: float = math.inf

    def __post_init__(self) -> None:
        """Refuse what is no number."""
        bad = ~(np.isfinite(self.value) & np.isfinite(self.noise) & (self.noise >= 0.0))
        if np.any(bad):
            k = int(np.argmax(bad))
            raise TraceError(
                what=f"reading {k + 1} cannot be weighed",
                found=f"value {self.value[k]}, error {self.noise[k]}",
                wanted="a number and an error of zero or more",
                do="take the reading again; over range has a number of its own on the scale of its quantity",
            )

    def some(self, places: NDArray[np.int_]) -> Readings:
        """Return some of them, without slips."""
        return Readings(self.at[places], self.value[places], self.noise[places], top=self.top)

    @property
    def over(self) -> NDArray[np.bool_]:
        """Return which of them are over range. (reading)"""
        return self.value > self.top

    def by_itself(self, reading: int, mean: Array, sd: Array) -> Array:
        """Return the density of one reading by normal laws; of one over range, its chance.

        Parameters
        ----------
        reading : int
            Its place.
        mean : Array
            What is expected.
        sd : Array
            Standard deviation of that, the meter aside. [-]

        Returns
        -------
        Array
            Density, or chance. [-]

        Source
        ------
        Gauss's law.
        """
        if self.over[reading]:
            return np.exp(log_above(self.top, mean, sd))
        return normal(self.value[reading], mean, np.hypot(sd, self.noise[reading]))


def no_readings() -> Readings:
    """Return what is known before the first reading."""
    return Readings(np.zeros(0, dtype=int), np.zeros(0), np.zeros(0))


@dataclass(frozen=True)
class Evidence:
    """Logarithms of densities."""

    all_readings: Array  # (hypothesis)
    all_but: Array  # (hypothesis, reading): without that one


@dataclass(frozen=True)
class Slice:
    """Some hypotheses at the probes that were read.

    What a hypothesis says nothing of, and what was over range, is made to weigh nothing in the normal law.
    """

    off: Array  # (hypothesis, reading): reading less prediction
    loading: Array  # (hypothesis, reading, cause)
    noise: Array  # (hypothesis, reading): variance of each reading's own, as predicted
    meter: Array  # (reading): variance of the meter
    known: NDArray[np.bool_]  # (hypothesis, reading): weighed by the normal law
    past: Array  # (hypothesis, reading): of what was over range, how far beyond the top it is expected, in spreads

    @cached_property
    def together(self) -> Array:
        """Return the covariance that the causes make: (hypothesis, reading, reading)."""
        return self.loading @ self.loading.swapaxes(1, 2)

    def own(self, scale: float | Array = 1.0) -> Array:
        """Return the variance of each reading's own, predicted spread taken larger by a factor."""
        scales = _column(scale)
        finest = (FINEST * scales) ** 2 * np.einsum("hkc,hkc->hk", self.loading, self.loading)
        return np.where(self.known, np.maximum(scales**2 * self.noise + self.meter, finest), 1.0)

    def apart(self, log_broad: Array | float, scale: float) -> Array:
        """Return the logarithm of what the normal law leaves out: the chance of over range, or the broad density."""
        found, over = np.where(self.known, 0.0, log_broad), ~np.isnan(self.past)
        found[over] = log_above(0.0, self.past[over], np.array(scale))
        return found

    def covariance(self, scale: float | Array = 1.0) -> Array:
        """Return the covariance of the readings."""
        found = _column(scale)[:, :, None] ** 2 * self.together
        each = np.arange(self.off.shape[1])
        found[:, each, each] += self.own(scale)
        return found


def _column(scale: float | Array) -> Array:
    return np.asarray(scale, dtype=float).reshape(-1, 1)


def slice_of(predictions: Predictions, readings: Readings, some: NDArray[np.int_] | slice) -> Slice:
    """Return what some hypotheses say of the readings.

    Parameters
    ----------
    predictions : Predictions
        What every hypothesis says.
    readings : Readings
        What was read.
    some : NDArray[np.int_] | slice
        The hypotheses.

    Returns
    -------
    Slice
        Distances and spreads.

    Source
    ------
    Variances of independent causes add up. Over range has no density, only a chance, and says next to nothing of the
    causes: it is taken out of what is weighed together.

    Raises
    ------
    TraceError
        A prediction has no error at all, or is no number.
    """
    at = (np.arange(len(predictions.expected))[some][:, None], readings.at)  # both at once: a row may be of many causes
    known, noise = np.asarray(predictions.known)[at], np.asarray(predictions.noise)[at] ** 2
    off = readings.value - np.asarray(predictions.expected)[at]
    if not np.all(np.isfinite(off[known])) or not np.all((noise + readings.noise**2)[known] > 0.0):
        raise TraceError(
            what="a prediction cannot be compared with a reading",
            found="no number, or no error at all",
            wanted="a number with a standard deviation above zero, or one marked as not known",
            do="please report this build file",
        )
    loading, past = np.asarray(predictions.loading)[at], np.full(off.shape, np.nan)
    if np.any(over := readings.over):
        spread = np.sqrt(np.einsum("hkc,hkc->hk", loading[:, over], loading[:, over]) + noise[:, over])
        beyond = (readings.value - readings.top - off)[:, over]
        past[:, over] = np.where(known[:, over], beyond / spread, np.nan)
        known = known & ~over
    if not np.all(known):
        off, loading = np.where(known, off, 0.0), np.where(known[:, :, None], loading, 0.0)
    return Slice(off, loading, noise, readings.noise**2, known, past)


@dataclass(frozen=True)
class Misfit:
    """The inverse of the covariance of the readings, as far as it is needed."""

    square: Array  # (hypothesis): squared distance from the prediction, in spreads
    log_det: Array  # (hypothesis)
    pulled: Array  # (hypothesis, reading): inverse times distance
    diagonal: Array  # (hypothesis, reading): of the inverse


def misfit_by_readings(part: Slice, scale: float | Array = 1.0) -> Misfit:
    """Return the misfit from the covariance of the readings: for a few readings and many causes."""
    covariance = part.covariance(scale)
    each = np.arange(part.off.shape[1])
    inverse = np.linalg.inv(covariance)
    pulled = np.einsum("hkl,hl->hk", inverse, part.off)
    log_det = np.asarray(np.linalg.slogdet(covariance)[1], dtype=float)
    diagonal = np.asarray(inverse[:, each, each], dtype=float)
    return Misfit(np.einsum("hk,hk->h", pulled, part.off), log_det, pulled, diagonal)


def misfit_by_causes(part: Slice, scale: float | Array = 1.0) -> Misfit:
    """Return the misfit from the information on the causes: for many readings and a few causes."""
    own, loading = part.own(scale), _column(scale)[:, :, None] * part.loading
    scaled = loading / own[:, :, None]
    information = scaled.swapaxes(1, 2) @ loading + np.eye(loading.shape[2])
    left = np.linalg.inv(information)
    causes = np.einsum("hcd,hkd,hk->hc", left, scaled, part.off, optimize=True)
    pulled = (part.off - np.einsum("hkc,hc->hk", loading, causes)) / own
    diagonal = 1.0 / own - np.einsum("hkc,hkc->hk", scaled @ left, scaled)
    log_det = np.asarray(np.sum(np.log(own), axis=1) + np.linalg.slogdet(information)[1], dtype=float)
    return Misfit(np.einsum("hk,hk->h", pulled, part.off), log_det, pulled, np.asarray(diagonal, dtype=float))


def misfit(part: Slice, scale: float | Array = 1.0) -> Misfit:
    """Return the misfit by the shorter of two ways that give the same."""
    short = part.loading.shape[1] <= part.loading.shape[2]
    return misfit_by_readings(part, scale) if short else misfit_by_causes(part, scale)


def log_normal(square: Array, count: NDArray[np.int_], log_det: Array) -> Array:
    """Return the logarithm of the density of some readings by the normal law.

    Parameters
    ----------
    square : Array
        Squared distance from what is expected, in spreads. [-]
    count : NDArray[np.int_]
        How many readings.
    log_det : Array
        Logarithm of the determinant of the covariance.

    Returns
    -------
    Array
        Logarithm of the density. [-]

    Source
    ------
    Gauss's law in several variables.
    """
    return np.asarray(-0.5 * (square + log_det + count * np.log(2.0 * np.pi)))


def _by_scale(part: Slice, log_broad: Array, scale: float) -> Evidence:
    """Return how well hypotheses explain the readings, if their spreads are off by one factor.

    With A the inverse of the covariance, leaving out reading k takes (A d)_k^2 / A_kk from the squared distance and
    multiplies the determinant by A_kk.
    """
    fit = misfit(part, scale)
    count, apart = np.sum(part.known, axis=1), part.apart(log_broad, scale)
    whole = log_normal(fit.square, count, fit.log_det) + np.sum(apart, axis=1)
    square = fit.square[:, None] - fit.pulled**2 / fit.diagonal
    left = log_normal(square, np.maximum(count[:, None] - 1, 0), fit.log_det[:, None] + np.log(fit.diagonal))
    told = left + np.sum(apart, axis=1)[:, None]
    return Evidence(whole, np.where(part.known, told, whole[:, None] - apart))


def evidence(
    predictions: Predictions, readings: Readings, log_broad: Array, scales: Sequence[tuple[float, float]]
) -> Evidence:
    """Return how well every hypothesis explains the readings, if its spreads may be off by some factor.

    Many readings are weighed in rounds, those that tell most first; a hypothesis that is hopeless in one round, even
    with any one reading left out, is not looked at in the next, and has no chance left.

    Parameters
    ----------
    predictions : Predictions
        What every hypothesis says of the probes.
    readings : Readings
        What was read.
    log_broad : Array
        Logarithm of the density of each reading where a hypothesis says nothing of it. [-]
    scales : Sequence[tuple[float, float]]
        Factors, and the chance of each. [-]

    Returns
    -------
    Evidence
        Of all readings, and with each of them left out.

    Source
    ------
    A mixture of normal laws: one factor for all readings, so that a model that is off in one is doubted in all.
    """
    hypotheses, count = predictions.expected.shape[0], len(readings.at)
    alive, order, size = np.arange(hypotheses), np.arange(count), count
    if count > FEW:
        order, size = _order(predictions, readings), FEW
    while True:
        some = order[:size]
        told = _weighed(predictions, readings.some(some), alive, log_broad[some], scales)
        if size == count:
            break
        bound = np.maximum(told.all_readings, np.max(told.all_but + log_broad[some], axis=1))
        alive, size = alive[bound >= np.max(bound) - HOPELESS], min(2 * size, count)
    whole, without = np.full(hypotheses, -np.inf), np.full((hypotheses, count), -np.inf)
    whole[alive] = told.all_readings
    without[np.ix_(alive, order)] = told.all_but
    return Evidence(whole, without)


def _order(predictions: Predictions, readings: Readings) -> NDArray[np.int_]:
    """Return places of the readings, the ones that tell most first, however they were taken."""
    by_probe = np.argsort(readings.at, kind="stable")
    sorted_readings = readings.some(by_probe)
    at, loading = sorted_readings.at, predictions.loading[0, sorted_readings.at]
    spread = np.sqrt(np.einsum("kc,kc->k", loading, loading) + predictions.noise[0, at] ** 2 + sorted_readings.noise**2)
    good = predictions.expected[0, at]
    known = predictions.known[:, at] & predictions.known[0, at]
    moved = np.where(known, predictions.expected[:, at] - good, 0.0) / spread
    off = np.where(predictions.known[0, at], sorted_readings.value - good, 0.0) / spread
    return np.asarray(by_probe[telling_first(moved, off, FEW)])


def _weighed(
    predictions: Predictions,
    readings: Readings,
    hypotheses: NDArray[np.int_],
    log_broad: Array,
    scales: Sequence[tuple[float, float]],
) -> Evidence:
    """Return how well some hypotheses explain the readings, a batch of them at a time."""
    count = len(readings.at)
    whole, without = np.zeros(len(hypotheses)), np.zeros((len(hypotheses), count))
    size = max(1, AT_ONCE // max(1, count * max(count, predictions.loading.shape[2])))
    for start in range(0, len(hypotheses) if count else 0, size):
        rows = slice(start, start + size)
        part = slice_of(predictions, readings, hypotheses[rows])
        each = [(np.log(share), _by_scale(part, log_broad, scale)) for scale, share in scales]
        whole[rows] = np.logaddexp.reduce([share + one.all_readings for share, one in each])
        without[rows] = np.logaddexp.reduce([share + one.all_but for share, one in each])
    return Evidence(whole, without)


def likely_scale(
    predictions: Predictions, readings: Readings, some: NDArray[np.int_], scales: Sequence[tuple[float, float]]
) -> Array:
    """Return by which factor the spreads of some hypotheses are off, as the readings have it.

    Parameters
    ----------
    predictions : Predictions
        What every hypothesis says.
    readings : Readings
        What was read.
    some : NDArray[np.int_]
        The hypotheses.
    scales : Sequence[tuple[float, float]]
        Factors, and the chance of each beforehand. [-]

    Returns
    -------
    Array
        Root of the mean square of the factor after the readings. (hypothesis) [-]

    Source
    ------
    Bayes' theorem.
    """
    logs = np.zeros((len(scales), len(some)))
    part = slice_of(predictions, readings, some)
    for k, (scale, share) in enumerate(scales):
        fit = misfit(part, scale)
        together = log_normal(fit.square, np.sum(part.known, axis=1), fit.log_det)
        logs[k] = np.log(share) + together + np.sum(part.apart(0.0, scale), axis=1)
    weights = np.exp(logs - np.logaddexp.reduce(logs))
    return np.asarray(np.sqrt(np.array([scale**2 for scale, _ in scales]) @ weights))
