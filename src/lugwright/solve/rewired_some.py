"""A few of many wirings, at joints of one's choice: what a voltmeter shows there and what moves it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from lugwright.solve.rewired_causes import Cause
from lugwright.solve.rewired_many import METER_OHM, METERED_ONCE, READ_V, THEVENIN_OHM, ManyRewired
from lugwright.solve.rewired_meter import metered_volts
from lugwright.solve.rewired_newton import Block
from lugwright.solve.rewired_slopes import ONCE, CauseMoves, Linearized, Point
from lugwright.solve.system import Array, Index


@dataclass(frozen=True)
class Metered:
    """Direct volts of some wirings between pairs of joints."""

    shown: Array  # (wiring, pair): with the meter in the circuit
    by_cause: Array  # (wiring, pair, cause): how what is shown follows the logarithm of each cause
    plain: Array  # (wiring, pair): without the meter
    ohm: Array  # (wiring, pair): what the meter sees between its tips, small changes at each point


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
    Ohm's law; the adjoint of the nodal equations. Where the meter moves a tube far from where it stood, what is shown
    follows causes as much as it is of what stood there without the meter.
    """
    red, black = pairs
    different, place = np.unique(columns, return_inverse=True)
    plain = many.volts[red, columns[:, None]] - many.volts[black, columns[:, None]]
    by_cause, ohms = np.zeros((*red.shape, len(causes))), np.zeros(red.shape)
    shown = plain.copy()
    for block, mine in _blocks(many, different, place):
        with np.errstate(all="ignore"):
            linear = Linearized.of(many.base.system, block, many.answer.only(block.chosen))
            at = (red[mine], black[mine])
            moves, source = _moves(linear, _point(many, block.chosen), at, causes)
            share = np.where(source > 0.0, ohm / (ohm + source), 1.0)
            shown[mine] = _reads(many, block, at, (plain[mine], share, source), ohm)
            big = np.abs(plain[mine]) > READ_V
            own = np.where(big, shown[mine] / np.where(big, plain[mine], 1.0), share)
            by_cause[mine], ohms[mine] = moves * own[:, :, None], source
    return Metered(shown, by_cause, plain, ohms)


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
            joints, pairs = _joints_of((red[mine], black[mine]))
            found[mine] = _between(linear.rows(joints), joints, pairs)
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


def _moves(linear: Linearized, point: Point, at: tuple[Index, Index], causes: Sequence[Cause]) -> tuple[Array, Array]:
    """Return how volts between pairs follow the causes (wiring, pair, cause), and the resistance between them."""
    joints, (red, black) = _joints_of(at)
    moves = CauseMoves.of(point, causes)
    by_cause, ohm = np.empty((*red.shape, len(causes))), np.empty(red.shape)
    for first in range(0, len(joints), ONCE):
        part = np.arange(len(joints))[first : first + ONCE]
        some = linear.narrowed(part)
        rows = some.rows(joints[part])
        ohm[part] = _between(rows, joints[part], (red[part], black[part]))
        found, each = moves.over(some, part, rows), np.arange(len(part))[:, None]
        by_cause[part] = found[each, red[part]] - found[each, black[part]]
    return by_cause, ohm


def _joints_of(at: tuple[Index, Index]) -> tuple[Index, tuple[Index, Index]]:
    """Return the different joints that each wiring is read at, and where among these red and black stand.

    Black mostly stands on ground, and many terminals are on one joint.
    """
    both = np.concatenate(at, axis=1)
    order = np.argsort(both, axis=1, kind="stable")
    ranked = np.take_along_axis(both, order, axis=1)
    rank = np.zeros_like(both)
    rank[:, 1:] = np.cumsum(ranked[:, 1:] != ranked[:, :-1], axis=1)
    joints = np.repeat(both[:, :1], int(rank.max(initial=0)) + 1, axis=1)
    np.put_along_axis(joints, rank, ranked, axis=1)
    place = np.empty_like(both)
    np.put_along_axis(place, order, rank, axis=1)
    red, black = np.split(place, 2, axis=1)
    return joints, (red, black)


def _between(rows: Array, joints: Index, pairs: tuple[Index, Index]) -> Array:
    """Return the resistance between the joints of each pair, small changes at each point (wiring, pair).

    ``rows`` are those of the whole inverse for some joints (wiring, joint, joint), pairs places among these.
    """
    (red, black), each = pairs, np.arange(len(joints))[:, None]
    onto_red, onto_black = joints[each, red], joints[each, black]
    own = rows[each, red, onto_red] + rows[each, black, onto_black]
    return np.asarray(own - rows[each, red, onto_black] - rows[each, black, onto_red])


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
