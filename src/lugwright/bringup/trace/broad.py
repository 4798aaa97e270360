"""What a reading may be where nobody says what it should be: the densities of surprise."""

from __future__ import annotations

import numpy as np

from lugwright.bringup.trace.evidence import Readings
from lugwright.bringup.trace.records import Array, Predictions

SEEN = 0.5  # half of the surprises fall where some listed fault would put the reading, half anywhere
LEAST_WIDTH = 0.02  # of the range of all predictions: faults come in more sizes than are listed


def spread_alone(predictions: Predictions, at: int) -> Array:
    """Return one standard deviation of every hypothesis at one probe, all causes together.

    Parameters
    ----------
    predictions : Predictions
        What every hypothesis says.
    at : int
        Which probe.

    Returns
    -------
    Array
        Standard deviations, on the scale of the predictions. [-]

    Source
    ------
    Derived below: variances of independent causes add up.
    """
    loading = predictions.loading[:, at]
    return np.asarray(np.sqrt(np.einsum("hc,hc->h", loading, loading) + predictions.noise[:, at] ** 2))


def log_broad(predictions: Predictions, readings: Readings, weights: Array) -> Array:
    """Return the logarithm of the density of each reading, or chance, where no hypothesis is believed about it.

    Half of it lies where the listed hypotheses would put the reading, by their weights; the other half spreads over
    the range of all of them with long tails (Cauchy's law), so that no reading is impossible.

    Parameters
    ----------
    predictions : Predictions
        What every hypothesis says.
    readings : Readings
        What was read.
    weights : Array
        How much each hypothesis counts. (hypothesis) [-]

    Returns
    -------
    Array
        Logarithms of densities, of what is over range of chances. (reading)

    Source
    ------
    Own choice, tested for calibration.
    """
    found = np.zeros(len(readings.at))
    for k, at in enumerate(readings.at):
        known = predictions.known[:, at]
        if not np.any(known):
            continue  # nobody says anything of this probe: any density tells the same
        mean, sd = predictions.expected[known, at], spread_alone(predictions, int(at))[known]
        low, high = float(np.min(mean - 2.0 * sd)), float(np.max(mean + 2.0 * sd))
        middle, half = 0.5 * (low + high), 0.5 * (high - low)
        wide = np.hypot(sd, LEAST_WIDTH * half)
        weight = weights[known] / max(float(np.sum(weights[known])), 1e-300)
        listed = float(weight @ readings.by_itself(k, mean, wide))
        if readings.over[k]:
            anywhere = 0.5 - np.arctan((readings.top - middle) / half) / np.pi
        else:
            anywhere = 1.0 / (np.pi * half * (1.0 + ((readings.value[k] - middle) / half) ** 2))
        found[k] = np.log(SEEN * listed + (1.0 - SEEN) * anywhere)
    return found
