"""What a time-lag fuse stands and when it blows: time against current, and the melting integral."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from lugwright.circuit.tubes.drive import Array, ArrayLike

HOUR_S = 3600.0
# Times of its rated current, least and most seconds until it blows. The first row holds: it never blows in the hour.
SLOW_GATES: tuple[tuple[float, float, float], ...] = (
    (1.5, HOUR_S, np.inf),
    (2.1, 0.0, 120.0),
    (2.75, 0.6, 10.0),
    (4.0, 0.15, 3.0),
    (10.0, 0.02, 0.3),
)
GATES_SOURCE = "IEC 60127-2, sheet 3 (time-lag, 5 x 20 mm), as printed on a maker's sheet for 0.2 to 6.3 A"
GATED_A = (0.2, 6.3)
MELTING_A2S: dict[float, float] = {
    0.5: 2.905, 0.63: 4.80, 0.8: 9.42, 1.0: 19.2, 1.25: 27.15, 1.6: 44.2, 2.0: 92.7, 2.5: 138.0, 3.15: 202.0,
}  # fmt: skip
MELTING_SOURCE = "typical melting integral of one maker's time-lag 5 x 20 mm series, columns read from running text"
_RUNNING = 1.5  # times the working current
PREFERRED_A = (0.2, 0.25, 0.315, 0.4, 0.5, 0.63, 0.8, 1.0, 1.25, 1.6, 2.0, 2.5, 3.15, 4.0, 5.0, 6.3)


def stands_s(times_rated: ArrayLike) -> Array:
    """Return how long a time-lag fuse stands a current at the least.

    Parameters
    ----------
    times_rated : float or array
        RMS current over the rated current. [-]

    Returns
    -------
    array
        Infinite up to 1.5 times. [s]

    Valid
    -----
    Time-lag fuses of 0.2 to 6.3 A; straight lines on logarithmic axes between the gates of the standard; beyond ten
    times, constant I^2 t.

    Source
    ------
    IEC 60127-2 sheet 3: see `SLOW_GATES`.
    """
    gates = [(x, low) for x, low, _ in SLOW_GATES if low > 0.0]
    return _between(times_rated, gates)


def blows_within_s(times_rated: ArrayLike) -> Array:
    """Return when a time-lag fuse has blown at the latest.

    Parameters
    ----------
    times_rated : float or array
        RMS current over the rated current. [-]

    Returns
    -------
    array
        Infinite below 2.1 times: the standard does not say that it ever blows. [s]

    Valid
    -----
    As `stands_s`.

    Source
    ------
    IEC 60127-2 sheet 3: see `SLOW_GATES`.
    """
    gates = [(x, high) for x, _, high in SLOW_GATES if np.isfinite(high)]
    return _between(times_rated, gates)


def _between(times_rated: ArrayLike, gates: list[tuple[float, float]]) -> Array:
    x = np.maximum(np.asarray(times_rated, dtype=float), 1e-9)
    at, seconds = np.array(gates).T
    inside = np.exp(np.interp(np.log(x), np.log(at), np.log(seconds)))
    beyond = seconds[-1] * (at[-1] / x) ** 2
    return np.where(x < at[0] * (1.0 - 1e-12), np.inf, np.where(x > at[-1], beyond, inside))


def melting_a2s(rated_a: float) -> float | None:
    """Return the melting integral of a time-lag fuse.

    Parameters
    ----------
    rated_a : float
        Rated current. [A]

    Returns
    -------
    float or None
        None for a rating that is not on the maker's sheet. [A^2 s]

    Source
    ------
    See `MELTING_SOURCE`.
    """
    return next((value for amps, value in MELTING_A2S.items() if abs(amps - rated_a) < 1e-6), None)


def least_standing_ratio(stretches: Sequence[tuple[float, float]], *, rated_a: float) -> float:
    """Return the current of the worst stretch of a start against what a time-lag fuse stands for that long.

    Parameters
    ----------
    stretches : sequence of pairs
        Length of each stretch, counted from switch-on, and the RMS current over it. [s], [A]
    rated_a : float
        Rated current of the fuse. [A]

    Returns
    -------
    float
        Above 1 the standard no longer promises that it holds. [-]

    Source
    ------
    `stands_s` solved for the current: a stretch heats the wire at most as much as its RMS current all along.
    """
    seconds, amps = np.array(stretches, dtype=float).reshape(-1, 2).T
    times = np.geomspace(1.5, 300.0, 2000)
    allowed = np.interp(-np.log(seconds), -np.log(stands_s(times)), times, left=1.5)
    return float(np.max(amps / (allowed * rated_a), initial=0.0))


def suggested_fuse_a(
    stretches: Sequence[tuple[float, float]], *, half_cycle_a2s: float, working_a: float
) -> float | None:
    """Return the smallest preferred time-lag fuse that stands idle and start.

    Parameters
    ----------
    stretches : sequence of pairs
        As in `least_standing_ratio`. [s], [A]
    half_cycle_a2s : float
        Integral of the current squared over the worst half cycle. [A^2 s]
    working_a : float
        What it carries for good, RMS. [A]

    Returns
    -------
    float or None
        Rated current; None when none of the series does. [A]

    Valid
    -----
    A core that does not saturate; a saturated one takes more for some half cycles.

    Source
    ------
    Own choice: 1.5 times the working current (builders' pages), the standing times of IEC 60127-2 sheet 3, and half
    the typical melting integral where a maker's figure is known.
    """
    for amps in PREFERRED_A:
        melting = melting_a2s(amps)
        melts = melting is not None and half_cycle_a2s > 0.5 * melting
        if amps >= _RUNNING * working_a and least_standing_ratio(stretches, rated_a=amps) <= 1.0 and not melts:
            return amps
    return None
