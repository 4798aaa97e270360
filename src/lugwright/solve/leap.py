"""Rounds that leave the same share of the last move again and again, taken to where they lead.

Where the rectifiers' cycle depends on the slopes of a tube, direct current and cycle may approach each other by no more
than half a round. Two moves tell that share; the secant through them is the way to the end of the row.
"""

from __future__ import annotations

import numpy as np

from lugwright.solve.system import Array

_TELLING = 0.3  # share of a move that the secant may leave unexplained
_LONGEST = 3.0  # moves more, at the most


class Leaps:
    """Where a row of rounds leads, each started where the last one ended or leaped to."""

    def __init__(self) -> None:
        self._before: tuple[Array, Array] | None = None  # where the last round ended, and how far it went

    def forget(self) -> None:
        """Begin a new row: what the rounds do is another thing from now on."""
        self._before = None

    def onward(self, start: Array, end: Array) -> Array:
        """Return where the next round starts, this one having gone from ``start`` to ``end``.

        Parameters
        ----------
        start, end : array
            Volts of every joint, of one shape. [V]

        Returns
        -------
        array
            ``end``, or what the secant through this move and the last one says, where these lie on one line. [V]

        Source
        ------
        The secant method of one direction (D. G. Anderson, 1965, with a depth of one).
        """
        move = end - start
        before, self._before = self._before, (end, move)
        if before is None:
            return end
        turn = move - before[1]
        size = float(np.vdot(turn, turn))
        share = float(np.vdot(turn, move)) / size if size > 0.0 else 0.0
        explained = np.linalg.norm(move - share * turn) <= _TELLING * np.linalg.norm(move)
        if not explained or not -_LONGEST <= share < 1.0:
            return end
        return np.asarray(end - share * (end - before[0]))
