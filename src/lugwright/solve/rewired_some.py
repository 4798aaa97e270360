"""A few of many wirings, at joints of one's choice: what a voltmeter shows there and what moves it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from lugwright.solve.rewired_causes import Cause
from lugwright.solve.rewired_many import METER_OHM, METERED_ONCE, READ_V, THEVENIN_OHM, ManyRewired
from lugwright.solve.rewired_meter import metered_volts
from lugwright.solve.rewired_newton import Block
from lugwright.solve.rewired_slopes import Linearized, Point, slopes_over_causes
from lugwright.solve.system import Array, Index


@dataclass(frozen=True)
class Metered:
    """Direct volts of some wirings between pairs of joints."""

    shown: Array  # (wiring, pair): with the meter in the circuit
    by_cause: Array  # (wiring, pair, cause): how what is shown follows the logarithm of each cause


def metered(
    many: ManyRewired, columns: Index, pairs: tuple[Index, Index], causes: Sequence[Cause], ohm: float = METER_OHM
) -> Metered:
    """Return what a voltmeter between joints shows in some of many wirings.

    Parameters
    ----------
    many : ManyRewired
        The wirings, solved.
    columns : array
        Which of them.
    pairs : tuple of arrays
        Rows of red and of black (wiring, pair).
    causes : sequence of (str, str)
        Element (or coil) and field.
    ohm : float
        The meter. [ohm]

    Returns
    -------
    Metered
        Volts. [V]

    Valid
    -----
    As `ManyRewired.with_meter` and `ManyRewired.sensitivities`.

    Source
    ------
    Ohm's law; the adjoint of the nodal equations.
    """
    red, black = pairs
    different, place = np.unique(columns, return_inverse=True)
    shown = many.volts[red, columns[:, None]] - many.volts[black, columns[:, None]]
    by_cause = np.zeros((*red.shape, len(causes)))
    for block, mine in _blocks(many, different, place):
        with np.errstate(all="ignore"):
            linear = Linearized.of(many.base.system, block, many.answer.only(block.chosen))
            at = (red[mine], black[mine])
            moves = slopes_over_causes(linear, _point(many, block.chosen), np.concatenate(at, axis=1), causes)
            source = _between(linear, at)
            share = np.where(source > 0.0, ohm / (ohm + source), 1.0)
            count = red.shape[1]
            by_cause[mine] = (moves[:, :count] - moves[:, count:]) * share[:, :, None]
            shown[mine] = _reads(many, block, at, (shown[mine], share, source), ohm)
    return Metered(shown, by_cause)


def between_ohm(many: ManyRewired, columns: Index, pairs: tuple[Index, Index]) -> Array:
    """Return the resistance between joints in some of many wirings, small changes at each point.

    Parameters
    ----------
    many : ManyRewired
        The wirings, solved.
    columns : array
        Which of them.
    pairs : tuple of arrays
        Rows of red and of black (wiring, pair).

    Returns
    -------
    array
        (wiring, pair) [ohm]

    Source
    ------
    The inverse of the nodal matrix.
    """
    red, black = pairs
    different, place = np.unique(columns, return_inverse=True)
    found = np.zeros(red.shape)
    for block, mine in _blocks(many, different, place):
        with np.errstate(all="ignore"):
            linear = Linearized.of(many.base.system, block, many.answer.only(block.chosen))
            found[mine] = _between(linear, (red[mine], black[mine]))
    return found


def _reads(
    many: ManyRewired, block: Block, at: tuple[Index, Index], told: tuple[Array, Array, Array], ohm: float
) -> Array:
    """Return what the meter shows: by Thevenin, and above a megohm solved again with the meter in."""
    plain, share, source = told
    reads = plain * share
    pick, joint = np.nonzero((source > THEVENIN_OHM) & (np.abs(plain) > READ_V))
    for first in range(0, len(pick), METERED_ONCE):
        where = pick[first : first + METERED_ONCE], joint[first : first + METERED_ONCE]
        found = _again(many, block, where[0], (at[0][where], at[1][where]), ohm)
        reads[where] = np.where(np.isfinite(found), found, reads[where])
    return np.asarray(reads)


def _between(linear: Linearized, at: tuple[Index, Index]) -> Array:
    """Return the resistance between the joints of each pair, small changes at each point (wiring, pair)."""
    red, black = at
    from_red, from_black = linear.rows(red), linear.rows(black)

    def entry(rows: Array, joints: Index) -> Array:
        return np.take_along_axis(rows, joints[:, :, None], axis=2)[:, :, 0]

    own = entry(from_red, red) + entry(from_black, black)
    return np.asarray(own - entry(from_red, black) - entry(from_black, red))


def _blocks(many: ManyRewired, different: Index, place: Index) -> Iterator[tuple[Block, Index]]:
    """Yield blocks with one column for each wiring asked for, and the places of these among what was asked."""
    for block in many.blocks:
        here = {int(column): k for k, column in enumerate(block.chosen)}
        mine = np.array([k for k, p in enumerate(place) if int(different[p]) in here], dtype=np.intp)
        if len(mine):
            yield block.narrowed(np.array([here[int(different[place[k]])] for k in mine], dtype=np.intp)), mine


def _point(many: ManyRewired, chosen: Index) -> Point:
    return Point(
        many.columns, chosen, many.volts[:, chosen], many.own_y[:, chosen], many.values[:, chosen], many.law.excited,
        many.answer.only(chosen),
    )  # fmt: skip


def _again(many: ManyRewired, block: Block, pick: Index, pair: tuple[Index, Index], ohm: float) -> Array:
    chosen = block.chosen
    return metered_volts(
        many.base.system, many, block, many.drive[:, chosen], many.volts[:, chosen], (pick, *pair), ohm,
    )  # fmt: skip
