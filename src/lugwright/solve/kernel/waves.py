"""The diodes of one mains cycle: their waves, and the matrix of those instants at which one conducts.

`lugwright.solve.mains_cycle` takes the steps and says what they are; tables have the diode first, then the instant.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from lugwright.solve.kernel.compiled import entry
from lugwright.solve.kernel.diodes import current_a

Table = NDArray[np.float64]
Rows = NDArray[np.int64]

REFLECT_STEPS = 60


@entry
def reflect(
    laws: Table, at_once: Table, wave: Table, near_v: Table, close_v: float, v: Table, amps: Table, slope: Table
) -> None:
    """Write volts, current and slope of each diode for its incident wave: v + r i = wave."""
    for p in range(len(wave)):
        r = at_once[p, 0]
        for i in range(wave.shape[1]):
            here, step = near_v[p, i], 1.0
            a, s = current_a(laws[p], here)
            for _ in range(REFLECT_STEPS):
                step = (here + r * a - wave[p, i]) / (1.0 + r * s)
                here -= step
                a, s = current_a(laws[p], here)
                if abs(step) <= close_v:
                    break
            v[p, i], amps[p, i], slope[p, i] = here, a, s


@entry
def step(laws: Table, at_once: Table, onward: Table, slope: Table, moved: Table, wave: Table) -> None:
    """Move waves along themselves or along the volts, whichever is the shorter way."""
    for p in range(len(wave)):
        r = at_once[p, 0]
        for i in range(wave.shape[1]):
            along_wave = -(1.0 + r * slope[p, i]) * moved[p, i]
            along_v = onward[p, i] + r * current_a(laws[p], onward[p, i])[0] - wave[p, i]
            wave[p, i] += along_wave if abs(along_wave) <= abs(along_v) else along_v


@entry
def conducting(response: Table, slope: Table, places: Rows, matrix: Table) -> None:
    """Write 1 + Z D for the instants that count (place); Z is periodic (diode, diode, instant).

    Places are those in the table of slopes, diode after diode. Z is laid out backward and twice in a row, so that its
    numbers follow one another as those of the matrix do.
    """
    ports, n = slope.shape
    count, laid = len(places), np.empty(ports * ports * 2 * n)
    for p in range(ports):
        for q in range(ports):
            first = (p * ports + q) * 2 * n
            for t in range(2 * n):
                laid[first + t] = response[p, q, (2 * n - t) % n]
    at, share = np.empty(count, dtype=np.int64), np.empty(count)
    for m in range(count):
        q, j = places[m] // n, places[m] % n
        at[m], share[m] = q * 2 * n + n + j, slope[q, j]
    for k in range(count):
        p, i = places[k] // n, places[k] % n
        row = p * ports * 2 * n - i
        for m in range(count):
            matrix[k, m] = laid[row + at[m]] * share[m]
        matrix[k, k] += 1.0
