"""Which readings tell the most: how many parts and tubes each of them would show to be wrong."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from lugwright.bringup.good_builds import MAINS, Array, Draws
from lugwright.bringup.results import Reading
from lugwright.bringup.step_bench import Level, StepBench

GROSS = float(np.log(2.0))  # a part that is half or twice what it should be
FIRST_AT_MOST = 8  # readings taken out of the order of the chassis


def most_telling_first(
    bench: StepBench, level: Level, readings: Sequence[Reading], *, watched: Sequence[str] = ()
) -> tuple[Reading, ...]:
    """Return the readings, those that guard the next step first, then the most telling ones, then the rest.

    ``watched`` are terminals that come before all: where the meter is clipped on while the tubes warm up. Each next
    reading is the one that shows most parts which those before it do not show; the rest keep their order.
    """
    shown = _shown(bench.draws, level, readings)
    counted = [replace(r, tells=int(np.count_nonzero(row))) for r, row in zip(readings, shown, strict=True)]
    ahead = [k for k, r in enumerate(counted) if r.red in watched and r.quantity == "V dc"]
    guards = ahead + [k for k, r in enumerate(counted) if r.guards and r.quantity == "V dc" and k not in ahead]
    seen = shown[guards].any(axis=0) if guards else np.zeros(shown.shape[1], dtype=bool)
    order, left = list(guards), [k for k in range(len(counted)) if k not in guards]
    for _ in range(min(FIRST_AT_MOST, len(left))):
        best = max(left, key=lambda k: int(np.count_nonzero(shown[k] & ~seen)))
        if not (shown[best] & ~seen).any():
            break
        seen |= shown[best]
        order.append(best)
        left.remove(best)
    return tuple(counted[k] for k in (*order, *left))


def _shown(draws: Draws, level: Level, readings: Sequence[Reading]) -> NDArray[np.bool_]:
    """Return whether a part off by a factor of two takes a reading out of its window (reading, part).

    The slopes come out of the draws by least squares: near the good build volts follow logarithms of values.
    """
    parts = _part_factors(draws)
    found = np.zeros((len(readings), len(parts)), dtype=bool)
    rows = [k for k, r in enumerate(readings) if r.quantity == "V dc" and r.joint in level.spread and not r.at]
    if not rows or not parts:
        return found
    causes = np.log(np.stack([*parts.values(), draws.get(MAINS, np.ones(len(next(iter(parts.values())))))], axis=1))
    volts = np.stack([level.shown_draws(readings[k].joint) for k in rows], axis=1)
    slopes, *_ = np.linalg.lstsq(causes - causes.mean(axis=0), volts - volts.mean(axis=0), rcond=None)
    moved = GROSS * np.abs(slopes[: len(parts)].T)
    edges = np.array([min(readings[k].high - readings[k].expected, readings[k].expected - readings[k].low)
                      for k in rows])  # fmt: skip
    found[rows] = moved > edges[:, None]
    return found


def _part_factors(draws: Draws) -> dict[str, Array]:
    """Return one factor for each part or tube section that is drawn: both halves of a pot share theirs."""
    found: dict[str, Array] = {}
    for (element, field), factors in draws.items():
        if (element, field) != MAINS:
            found.setdefault(element.removesuffix(".1-2").removesuffix(".2-3"), factors)
    return found
