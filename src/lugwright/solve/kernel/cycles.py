"""Newton's method on mains cycles, column by column; `lugwright.solve.rewired_cycles` says on which.

Every table has the column first, then diode and instant. Alternating currents are folded with what a unit of current
within one instant makes at all others, written down twice in a row so that no index has to be wrapped. Few small
functions, each optimized by itself: what calls what is compiled over again with every caller.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from lugwright.solve.kernel.compiled import compiled, entry
from lugwright.solve.kernel.dense import add_row, solve_in_place
from lugwright.solve.kernel.diodes import current_a

Table = NDArray[np.float64]
Rows = NDArray[np.int64]
Flags = NDArray[np.bool_]

REFLECT_STEPS = 60
REFLECTED_V = 1e-8  # as in the single cycle
QUIET_S = 1e-13
STALLED = 0.3  # a step that leaves more than this share of what there was does not get any further


class Around(NamedTuple):
    """What the diodes of each column see, and their laws; columns may share a row of the tables."""

    row: Rows  # (column)
    open_v: Table  # (row, diode, instant)
    response: Table  # (row, diode, diode, twice the instants) [ohm]
    supple: Table  # the same without the stiff ways
    patterns: Table  # (row, diode, way): stiff ways, each of length 1
    ohms: Table  # (row, way), zero for ways that are not stiff
    at_once: Table  # (row, diode): resistance within one instant, by the easiest way [ohm]
    reach: Table  # (row, diode): largest impedance at any harmonic [ohm]
    laws: Table  # (row, diode, figure)


class Load(NamedTuple):
    """What the circuit of each column does with mean currents; stiff ways apart."""

    open_v: Table  # (column, diode)
    supple: Table  # (column, diode, diode), without the stiff ways [ohm]
    patterns: Table  # (column, diode, way)
    ohms: Table  # (column, way)


class Way(NamedTuple):
    """When a cycle of each column counts as closed."""

    steps: int
    exact_v: Table  # so little left over, or
    enough_v: Table  # so little that does not get less
    quiet: float  # share of answers to be left out of the steps


class State(NamedTuple):
    """Where each column stands (column, diode, instant)."""

    v: Table
    amps: Table
    slope: Table
    moved: Table  # what Newton's method takes off the volts
    left: Table  # volts left over


@compiled
def _mean(row: Table) -> float:
    total = 0.0
    for value in row:
        total += value
    return total / len(row)


@compiled
def _drop_v(supple: Table, patterns: Table, ohms: Table, amps: Table, steady: Table, drop: Table) -> None:
    """Take what alternating currents take off the volts, apart from the mean, from a table (diode, instant).

    ``steady`` is a current that each diode carries at many instants; a steady current takes nothing off.
    """
    ports, n = amps.shape
    for q in range(ports):
        for j in range(n):
            off = amps[q, j] - steady[q]
            if off != 0.0:
                for p in range(ports):
                    add_row(drop[p], -off, supple[p, q, n - j :])
    for w in range(len(ohms)):
        if ohms[w] != 0.0:
            level = 0.0
            for q in range(ports):
                level += patterns[q, w] * _mean(amps[q])
            for i in range(n):
                along = -level
                for q in range(ports):
                    along += patterns[q, w] * amps[q, i]
                for p in range(ports):
                    drop[p, i] -= patterns[p, w] * ohms[w] * along


@compiled
def _least(amps: Table, least: Table) -> None:
    """Write the least current of each diode: what it carries while it blocks."""
    for p in range(len(amps)):
        least[p] = amps[p, 0]
        for a in amps[p]:
            least[p] = min(least[p], a)


@compiled
def _wave_after(r: float, here: float, moved: float, amps: float, slope: float) -> float:
    """Return the incident wave of a diode that Newton's method has moved to some volts.

    It carries the current that its tangent has there; where that has none left, none.
    """
    onward = amps - slope * moved
    if amps * moved > 0.0 and amps * onward < 0.0:
        onward = 0.0
    return here + r * onward


@entry
def advance(around: Around, load: Load, state: State, going: Rows, worst: Table) -> None:
    """Move some columns by what Newton's method said: volts to where it wants them, the current along its tangent.

    Then find the volts that belong to the incident wave v + r i of both, and what is left over there.
    """
    ports, n = state.v.shape[1:]
    least = np.empty(ports)
    for c in going:
        row = around.row[c]
        for p in range(ports):
            r, law, steady_v = around.at_once[row, p], around.laws[row, p], load.open_v[c, p]
            for i in range(n):
                moved = state.moved[c, p, i]
                here = state.v[c, p, i] - moved
                a, s = current_a(law, here)
                if moved != 0.0:
                    wave = _wave_after(r, here, moved, state.amps[c, p, i], state.slope[c, p, i])
                    for _ in range(REFLECT_STEPS):
                        step = (here + r * a - wave) / (1.0 + r * s)
                        if abs(step) <= REFLECTED_V:
                            break
                        here -= step
                        a, s = current_a(law, here)
                state.v[c, p, i], state.amps[c, p, i], state.slope[c, p, i] = here, a, s
                state.left[c, p, i] = -here + around.open_v[row, p, i] + steady_v
        _mean_drop_v(load.supple[c], load.patterns[c], load.ohms[c], state.amps[c], state.left[c])
        _least(state.amps[c], least)
        _drop_v(around.supple[row], around.patterns[row], around.ohms[row], state.amps[c], least, state.left[c])
        worst[c] = 0.0
        for p in range(ports):
            for i in range(n):
                state.left[c, p, i] = -state.left[c, p, i]
                if not abs(state.left[c, p, i]) <= worst[c]:
                    worst[c] = abs(state.left[c, p, i])


@compiled
def _mean_drop_v(supple: Table, patterns: Table, ohms: Table, amps: Table, drop: Table) -> None:
    """Take what the mean currents take off the volts from a table (diode, instant)."""
    ports = len(supple)
    for q in range(ports):
        mean = _mean(amps[q])
        for p in range(ports):
            ohm = supple[p, q]
            for w in range(ports):
                ohm += patterns[p, w] * ohms[w] * patterns[q, w]
            for i in range(amps.shape[1]):
                drop[p, i] -= ohm * mean


@compiled
def _taking_part(slope: Table, quiet_s: Table, place: Rows, steep: Table) -> int:
    """Write where diodes (place, 2) answer their volts by more than each may leave out, and by how much."""
    count = 0
    for p in range(len(slope)):
        for i in range(slope.shape[1]):
            if slope[p, i] > quiet_s[p]:
                place[count, 0], place[count, 1], steep[count] = p, i, slope[p, i]
                count += 1
    return count


@compiled
def _held(response: Table, mean_ohm: Table, place: Rows, steep: Table, equations: Table) -> None:
    """Write 1 + Z D of the places that take part; Z is ``mean_ohm`` at zero frequency."""
    count, n = len(equations), response.shape[2] // 2
    for k in range(count):
        row, p, i = equations[k], place[k, 0], place[k, 1]
        for m in range(count):
            q = place[m, 0]
            row[m] = (response[p, q, n + i - place[m, 1]] + mean_ohm[p, q] / n) * steep[m]
        row[k] += 1.0


@entry
def answer(
    around: Around, going: Rows, slope: Table, forcing: Table, mean_ohm: Table, share: float, into: Table
) -> None:  # fmt: skip
    """Write dv with (1 + Z D) dv = forcing (column, diode, instant); Z is ``mean_ohm`` at zero frequency.

    Diodes that answer their volts by less than ``share`` take no part.
    """
    ports, n = forcing.shape[1:]
    place, steep = np.empty((ports * n, 2), dtype=np.int64), np.empty(ports * n)
    amps, quiet_s, nothing = np.empty((ports, n)), np.empty(ports), np.zeros(ports)
    for c in going:
        row = around.row[c]
        for p in range(ports):
            quiet_s[p] = max(QUIET_S, share / max(around.reach[row, p] + abs(mean_ohm[c, p, p]), 1e-9))
        count = _taking_part(slope[c], quiet_s, place, steep)
        equations = np.empty((count, count + 1))
        _held(around.response[row], mean_ohm[c], place, steep, equations)
        for k in range(count):
            equations[k, count] = forcing[c, place[k, 0], place[k, 1]]
        solve_in_place(equations)
        for p in range(ports):
            for i in range(n):
                amps[p, i], into[c, p, i] = 0.0, forcing[c, p, i]
        for k in range(count):
            amps[place[k, 0], place[k, 1]] = steep[k] * equations[k, count]
        _drop_v(around.supple[row], around.patterns[row], around.ohms[row], amps, nothing, into[c])
        for q in range(ports):
            mean = _mean(amps[q])
            for p in range(ports):
                for i in range(n):
                    into[c, p, i] -= mean_ohm[c, p, q] * mean


@entry
def mean_slopes(around: Around, going: Rows, slope: Table, share: float, into: Table) -> None:
    """Write how mean currents follow mean volts around closed cycles (column, diode, over diode).

    Diodes that answer their volts by less than ``share`` follow these alone.
    """
    ports, n = slope.shape[1:]
    place, steep = np.empty((ports * n, 2), dtype=np.int64), np.empty(ports * n)
    quiet_s, nothing = np.empty(ports), np.zeros((ports, ports))
    for c in going:
        row = around.row[c]
        for p in range(ports):
            quiet_s[p] = max(QUIET_S, share / max(around.reach[row, p], 1e-9))
            into[c, p] = 0.0
            for s in slope[c, p]:
                into[c, p, p] += s / n if s <= quiet_s[p] else 0.0
        count = _taking_part(slope[c], quiet_s, place, steep)
        equations = np.zeros((count, count + ports))
        _held(around.response[row], nothing, place, steep, equations)
        for k in range(count):
            equations[k, count + place[k, 0]] = 1.0
        solve_in_place(equations)
        for k in range(count):
            for q in range(ports):
                into[c, place[k, 0], q] += steep[k] * equations[k, count + q] / n


@entry
def close(
    around: Around, load: Load, state: State, going: Rows, mean_ohm: Table, way: Way, worst: Table, closed: Flags
) -> None:  # fmt: skip
    """Step until the cycles of some columns are closed; ``closed`` says of which."""
    for k in range(len(going)):
        c, one, before = going[k], going[k : k + 1], np.inf
        for _ in range(way.steps):
            advance(around, load, state, one, worst)
            closed[c] = worst[c] <= way.exact_v[c] or (worst[c] <= way.enough_v[c] and worst[c] > STALLED * before)
            if closed[c] or not np.isfinite(worst[c]):
                break
            before = worst[c]
            answer(around, one, state.slope, state.left, mean_ohm, way.quiet, state.moved)
