"""Mean currents of rectifiers as their mean volts say, one column at a time.

`lugwright.solve.rewired_supply` says where the curves come from. The main supply's curve tells where the others go with
it; each of them adds how its own curve bends.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from lugwright.solve.kernel.compiled import compiled, entry

Table = NDArray[np.float64]
Rows = NDArray[np.int64]
Flags = NDArray[np.bool_]


class Curves(NamedTuple):
    """Every supply's curve, that of the main one first; what a curve has too few points for is zero."""

    excited: Rows  # which of the diodes
    members: Table  # (curve, excited): 1 for its own diodes
    points: Rows  # (curve)
    shift_v: Table  # (curve, point)
    off_v: Table  # (curve, point, excited)
    follows: Table  # (curve, point, excited) [-]
    amps: Table  # (curve, point, excited)
    steep: Table  # (curve, point, excited): how the currents go on with the shift [S]
    slopes: Table  # (curve, point, excited, excited)
    base_v: Table  # (excited)
    base_a: Table
    base_s: Table  # (excited, excited)


class _Here(NamedTuple):
    """A curve at some shift: currents, how they and the others' volts go with it, slopes and how these turn."""

    amps: Table
    by_shift: Table
    off_v: Table
    follows: Table
    slopes: Table  # (excited, excited)
    turn: Table


@compiled
def _cubic(y0: float, y1: float, d0: float, d1: float, s: float) -> tuple[float, float]:
    second, third = 3.0 * (y1 - y0) - 2.0 * d0 - d1, 2.0 * (y0 - y1) + d0 + d1
    return y0 + s * (d0 + s * (second + s * third)), d0 + s * (2.0 * second + 3.0 * s * third)


@compiled
def _between(curves: Curves, c: int, shift: float, here: _Here) -> None:
    """Write a curve at some shift, beyond its ends along a straight line."""
    x, k, count = curves.shift_v[c], 0, len(curves.excited)
    while k < curves.points[c] - 2 and shift > x[k + 1]:
        k += 1
    wide = x[k + 1] - x[k]
    t = (shift - x[k]) / wide
    s = min(max(t, 0.0), 1.0)
    beyond = (t - s) * wide
    for e in range(count):
        amps, rise = _cubic(
            curves.amps[c, k, e], curves.amps[c, k + 1, e], curves.steep[c, k, e] * wide,
            curves.steep[c, k + 1, e] * wide, s,
        )  # fmt: skip
        off, goes = _cubic(
            curves.off_v[c, k, e], curves.off_v[c, k + 1, e], curves.follows[c, k, e] * wide,
            curves.follows[c, k + 1, e] * wide, s,
        )  # fmt: skip
        here.by_shift[e], here.follows[e] = rise / wide, goes / wide
        here.amps[e], here.off_v[e] = amps + here.by_shift[e] * beyond, off + here.follows[e] * beyond
        for p in range(count):
            first, second = curves.slopes[c, k, e, p], curves.slopes[c, k + 1, e, p]
            here.slopes[e, p] = first * (1.0 - s) + second * s
            here.turn[e, p] = (second - first) / wide if beyond == 0.0 else 0.0


class Room(NamedTuple):
    """Where the currents of supplies are worked out, for one column after the other, and what comes of it."""

    v: Table  # (excited): at these volts
    amps: Table  # (excited)
    slopes: Table  # (excited, excited)
    off: Table  # (excited)
    aside: Table
    lean: Table
    here: _Here
    there: _Here


@compiled
def _room(count: int) -> _Here:
    return _Here(
        np.empty(count), np.empty(count), np.empty(count), np.empty(count), np.empty((count, count)),
        np.empty((count, count)),
    )  # fmt: skip


@compiled
def room(curves: Curves) -> Room:
    """Return room for the excited diodes."""
    count = len(curves.excited)
    v, amps, slopes = np.empty(count), np.empty(count), np.empty((count, count))
    return Room(v, amps, slopes, np.empty(count), np.empty(count), np.empty(count), _room(count), _room(count))


@compiled
def _mean_of(members: Table, of: Table) -> float:
    total, count = 0.0, 0.0
    for e in range(len(of)):
        total += members[e] * of[e]
        count += members[e]
    return total / count


@compiled
def _count_of(members: Table) -> float:
    count = 0.0
    for each in members:
        count += each
    return count


@compiled
def supply_currents(curves: Curves, space: Room) -> None:
    """Write the mean currents of the excited diodes at their mean volts, and the slopes."""
    v, amps, slopes, off, aside, lean, here, there = space
    count = len(v)
    for e in range(count):
        off[e] = v[e] - curves.base_v[e]
    _between(curves, 0, _mean_of(curves.members[0], off), here)
    for e in range(count):
        aside[e] = off[e] - here.off_v[e]
    for e in range(count):
        amps[e], lean[e] = here.amps[e], here.by_shift[e]
        for p in range(count):
            slopes[e, p] = here.slopes[e, p]
            amps[e] += here.slopes[e, p] * aside[p]
            lean[e] += here.turn[e, p] * aside[p] - here.slopes[e, p] * here.follows[p]
    for c in range(1, len(curves.points)):
        members = curves.members[c]
        own, goes, among = _mean_of(members, aside), _mean_of(members, here.follows), _count_of(members)
        _between(curves, c, own, there)
        for e in range(count):
            steep = 0.0
            for p in range(count):
                steep += members[p] * curves.base_s[e, p]
            bend = there.by_shift[e] - steep
            amps[e] += there.amps[e] - curves.base_a[e] - steep * own
            lean[e] -= bend * goes
            for p in range(count):
                slopes[e, p] += members[p] * bend / among
    among = _count_of(curves.members[0])
    for e in range(count):
        for p in range(count):
            slopes[e, p] += curves.members[0, p] * lean[e] / among


@compiled
def _ends_before(curves: Curves, c: int, shift: float) -> bool:
    """Return whether a curve does not reach so far."""
    x = curves.shift_v[c]
    return not x[0] <= shift <= x[curves.points[c] - 1]


@entry
def within(curves: Curves, v: Table, mains: Table, found: Flags) -> None:
    """Say of which columns every supply is on its curve, by the mean volts of their diodes (column, diode).

    Beyond, between no load and a short, no supply can be: the straight lines there only lead a search back.
    """
    count = len(curves.excited)
    off, aside, here = np.empty(count), np.empty(count), _room(count)
    for k in range(len(v)):
        found[k] = True
        if not mains[k] > 0.0:
            continue
        for e in range(count):
            off[e] = v[k, curves.excited[e]] / mains[k] - curves.base_v[e]
        shift = _mean_of(curves.members[0], off)
        _between(curves, 0, shift, here)
        found[k] = not _ends_before(curves, 0, shift)
        for e in range(count):
            aside[e] = off[e] - here.off_v[e]
        for c in range(1, len(curves.points)):
            found[k] = found[k] and not _ends_before(curves, c, _mean_of(curves.members[c], aside))
