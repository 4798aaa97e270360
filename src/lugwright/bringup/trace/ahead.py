"""What each likely hypothesis expects of readings not yet taken, now that some have been."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lugwright.bringup.trace.evidence import Readings, Slice, likely_scale, misfit, slice_of
from lugwright.bringup.trace.records import Array, Predictions

DOUBTED = 0.5  # a reading that is likelier wrong than right under a hypothesis tells that hypothesis nothing


@dataclass(frozen=True)
class Ahead:
    """Mean and standard deviation of what would be read."""

    mean: Array  # (hypothesis, probe)
    sd: Array  # (hypothesis, probe)
    known: NDArray[np.bool_]  # (hypothesis, probe)


def ahead(
    predictions: Predictions,
    readings: Readings,
    some: NDArray[np.int_],
    at: NDArray[np.int_],
    *,
    scales: Sequence[tuple[float, float]],
    doubted: Array | None = None,
) -> Ahead:
    """Return what some hypotheses expect at some probes after the readings.

    A mains voltage read high makes all that follow be expected high, and everything is expected closer.

    Parameters
    ----------
    predictions : Predictions
        What every hypothesis says.
    readings : Readings
        What was read.
    some : NDArray[np.int_]
        The hypotheses.
    at : NDArray[np.int_]
        The probes.
    scales : Sequence[tuple[float, float]]
        By what factor spreads may be off, and the chance of each. [-]
    doubted : Array | None
        Chance under each hypothesis that a reading was taken wrongly. (hypothesis, reading) [-]

    Returns
    -------
    Ahead
        On the scale of the predictions.

    Source
    ------
    Conditioning of a normal law on some of its variables, with the mean square of the factor that the readings leave.
    """
    scale = likely_scale(predictions, readings, some, scales)
    part = slice_of(predictions, readings, some)
    if doubted is not None:
        part = _without(part, doubted[some] <= DOUBTED)
    here = np.ix_(some, at)
    loading, noise = scale[:, None, None] * predictions.loading[here], scale[:, None] * predictions.noise[here]
    mean, variance = predictions.expected[here].copy(), np.einsum("hpc,hpc->hp", loading, loading)
    if len(readings.at):
        causes, variance = _conditioned(part, scale, loading)
        mean += np.matmul(loading, causes[:, :, None])[:, :, 0]
    return Ahead(mean, np.sqrt(np.maximum(variance, 0.0) + noise**2), predictions.known[here])


def _without(part: Slice, trusted: NDArray[np.bool_]) -> Slice:
    """Return the slice with only the trusted readings weighing anything."""
    known = part.known & trusted
    loading = np.where(known[:, :, None], part.loading, 0.0)
    return Slice(np.where(known, part.off, 0.0), loading, part.noise, part.meter, known, part.past)


def _conditioned(part: Slice, scale: Array, loading: Array) -> tuple[Array, Array]:
    """Return how far each cause is pulled, and what variance the causes still give ahead."""
    seen = scale[:, None, None] * part.loading
    causes = np.einsum("hkc,hk->hc", seen, misfit(part, scale).pulled)
    if seen.shape[1] <= seen.shape[2]:
        held = np.linalg.solve(np.linalg.cholesky(part.covariance(scale)), seen)
        taken = loading @ held.swapaxes(1, 2)
        return causes, np.einsum("hpc,hpc->hp", loading, loading) - np.einsum("hpk,hpk->hp", taken, taken)
    information = seen.swapaxes(1, 2) @ (seen / part.own(scale)[:, :, None]) + np.eye(seen.shape[2])
    left = loading @ np.linalg.cholesky(np.linalg.inv(information))
    return causes, np.einsum("hpc,hpc->hp", left, left)
