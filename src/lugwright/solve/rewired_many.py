"""Many wirings solved, and what is asked of them: volts, how these follow every cause, meters, signals, ripple."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, fields
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from lugwright.solve.rewired_alternating import ripple_volts, signal_heard
from lugwright.solve.rewired_causes import Cause
from lugwright.solve.rewired_columns import RewiredColumns
from lugwright.solve.rewired_devices import DeviceLaws, Plane
from lugwright.solve.rewired_meter import metered_volts
from lugwright.solve.rewired_newton import Answer, Block
from lugwright.solve.rewired_slopes import Linearized, Point, slopes_over_causes
from lugwright.solve.rewired_supply import SupplyLaw
from lugwright.solve.solved import Solved
from lugwright.solve.sparse_lu import Numbers
from lugwright.solve.system import Array, Index

if TYPE_CHECKING:
    from lugwright.solve.kernel.settle import Laws

METER_OHM = 10e6
THEVENIN_OHM = 1e6  # a joint that shows more than this is solved again with the meter in
READ_V = 1e-2  # one that shows less than this is not
GENERATOR_OHM = 600.0
METERED_ONCE = 1024

Joints = Sequence[str] | Sequence[Sequence[str]]  # one list for all columns, or one for each


@dataclass(frozen=True)
class Found:
    """What takes solving of a `ManyRewired`: all that has to travel from another process."""

    volts: Array
    left_over_a: Array
    allowed_a: Array
    solved: NDArray[np.bool_]
    exact: NDArray[np.bool_]
    mains: Array
    rough: NDArray[np.bool_]
    answer: Answer
    tones: Numbers
    blocks: tuple[Block, ...]
    law: SupplyLaw


@dataclass(frozen=True)
class ManyRewired:
    """The DC point of every wiring, columns last; rows are those of `RewiredColumns`.

    A column counts as solved when the currents at each of its joints cancel as `lugwright.solve.dc` asks for;
    ``exact`` marks those whose mains cycle was closed for themselves. ``mains`` is what each has of the base's mains.
    ``rough`` marks those with more than a volt of mains on a grid or screen: their tubes do not follow their slopes.
    """

    base: Solved
    columns: RewiredColumns
    values: Array
    volts: Array
    left_over_a: Array
    allowed_a: Array
    solved: NDArray[np.bool_]
    exact: NDArray[np.bool_]
    mains: Array
    rough: NDArray[np.bool_]
    answer: Answer
    tones: Numbers  # of the diodes' currents (tone, diode, column)
    blocks: tuple[Block, ...]
    law: SupplyLaw
    laws: DeviceLaws
    own_y: Array
    drive: Array

    @property
    def found(self) -> Found:
        """Return what took solving; `lugwright.solve.rewired.as_found` makes the whole of it again."""
        return Found(**{field.name: getattr(self, field.name) for field in fields(Found)})

    def volts_at(self, joints: Joints) -> Array:
        """Return the DC volts at joints (column, joint). [V]"""
        rows = self.columns.rows(joints)
        return np.asarray(self.volts[rows, np.arange(len(rows))[:, None]])

    def sensitivities(self, joints: Joints, causes: Sequence[Cause]) -> Array:
        """Return how the volts at joints follow the logarithm of each cause (column, joint, cause). [V]

        Parameters
        ----------
        joints : sequence of str, or one for each column
            Where.
        causes : sequence of (str, str)
            Element (or coil) and field, see `slopes_over_causes`.

        Returns
        -------
        array
            First order, at each column's own point. [V]

        Source
        ------
        The adjoint of the nodal equations.
        """
        rows = self.columns.rows(joints)
        result = np.zeros((*rows.shape, len(causes)))
        for block in self.blocks:
            chosen = block.chosen
            found = self.answer.only(chosen)
            point = Point(
                self.columns, chosen, self.volts[:, chosen], self.own_y[:, chosen], self.values[:, chosen],
                self.law.excited, found,
            )  # fmt: skip
            with np.errstate(all="ignore"):
                linear = Linearized.of(self.base.system, block, found)
                result[chosen] = slopes_over_causes(linear, point, rows[chosen], causes)
        return result

    def source_ohm(self, joints: Joints) -> Array:
        """Return the resistance that joints show to ground.

        Parameters
        ----------
        joints : sequence of str, or one for each column
            Where.

        Returns
        -------
        array
            For small changes at each column's point (column, joint). [ohm]

        Source
        ------
        The inverse of the nodal matrix.
        """
        return self._source_ohm(self.columns.rows(joints))

    def with_meter(self, joints: Joints, ohm: float = METER_OHM) -> Array:
        """Return what a voltmeter on joints shows (column, joint). [V]

        Parameters
        ----------
        joints : sequence of str, or one for each column
            Where, against ground.
        ohm : float
            The meter. [ohm]

        Returns
        -------
        array
            Volts with the meter in the circuit. [V]

        Valid
        -----
        By Thevenin up to a megohm of source, solved again above; where that finds nothing, by Thevenin.

        Source
        ------
        Ohm's law.
        """
        rows = self.columns.rows(joints)
        plain = self.volts[rows, np.arange(len(rows))[:, None]]
        with np.errstate(all="ignore"):
            source = self._source_ohm(rows)
            shown = np.where(source > 0.0, plain * ohm / (ohm + source), plain)
            for block in self.blocks:
                chosen = block.chosen
                again = (source[chosen] > THEVENIN_OHM) & (np.abs(plain[chosen]) > READ_V)
                pick, joint = np.nonzero(again)
                for first in range(0, len(pick), METERED_ONCE):
                    at = slice(first, first + METERED_ONCE)
                    found = self._metered(block, pick[at], rows[chosen[pick[at]], joint[at]], ohm)
                    place = (chosen[pick[at]], joint[at])
                    shown[place] = np.where(np.isfinite(found), found, shown[place])
        return shown

    def signal(self, source_joint: str, joints: Joints, hertz: float, *, source_ohm: float = GENERATOR_OHM) -> Numbers:
        """Return the signal at joints for 1 V behind a generator's resistance at another (column, joint). [V], complex

        Parameters
        ----------
        source_joint : str
            Where the generator stands, against ground; the same in all columns.
        joints : sequence of str, or one for each column
            Where it is listened to.
        hertz : float
            Frequency. [Hz]
        source_ohm : float
            The generator's resistance. [ohm]

        Returns
        -------
        array
            Complex volts: size and phase.

        Valid
        -----
        Small signals at each column's own point.

        Source
        ------
        Kirchhoff's laws, tubes and diodes by their slopes.
        """
        rows = self.columns.rows(joints)
        at = rows, self.columns.ground, self.columns.rows([source_joint])
        return signal_heard(self.base, self.columns, self.values, self.answer, at, hertz, source_ohm).volts

    def ripple(self, joints: Joints) -> Array:
        """Return the ripple of the rectifiers at joints, RMS (column, joint). [V]

        Parameters
        ----------
        joints : sequence of str, or one for each column
            Where, against ground.

        Returns
        -------
        array
            RMS volts of the mains frequency, its double and its fourfold.

        Valid
        -----
        As `lugwright.solve.rewired_tones`, tubes by their slopes.

        Source
        ------
        Kirchhoff's laws.
        """
        rows = self.columns.rows(joints)
        return ripple_volts(self.base, self.columns, self.values, self.answer, self.tones, rows)

    def tables(self, chosen: Index) -> Laws:
        """Return the laws of tubes and diodes of some columns, for the machine code."""
        own = np.flatnonzero(self.exact[chosen])
        columns, diodes = chosen[own], np.arange(len(self.base.system.diodes))
        first = len(self.columns.ports.a) - len(diodes)
        volts = self.columns.ports.chosen(columns).across(self.volts[:, columns])[first:]
        plane = Plane(diodes, self.answer.diode_a[columns], volts.T, self.answer.diode_s[columns])
        return self.laws.of(chosen, self.mains[chosen], plane, own)

    def _source_ohm(self, rows: Index) -> Array:
        result = np.zeros(rows.shape)
        for block, linear in self._linear():
            own = rows[block.chosen]
            result[block.chosen] = linear.driving_ohm(own, np.full_like(own, self.columns.ground))
        return result

    def _linear(self) -> Iterator[tuple[Block, Linearized]]:
        with np.errstate(all="ignore"):
            for block in self.blocks:
                yield block, Linearized.of(self.base.system, block, self.answer.only(block.chosen))

    def _metered(self, block: Block, pick: Index, row: Index, ohm: float) -> Array:
        chosen = block.chosen
        return metered_volts(
            self.base.system, self, block, self.drive[:, chosen], self.volts[:, chosen],
            (pick, row, np.full_like(row, self.columns.ground)), ohm,
        )  # fmt: skip
