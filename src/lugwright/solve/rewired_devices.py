"""What tubes and diodes do in some of many wirings: as arrays of columns, and as tables for the machine code."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, NamedTuple, Protocol

import numpy as np

from lugwright.solve.device_laws import diode_laws, law_table
from lugwright.solve.rewired_newton import Answer
from lugwright.solve.rewired_supply import SupplyLaw
from lugwright.solve.system import Array, Index, System

if TYPE_CHECKING:
    from lugwright.solve.kernel import settle


class Plane(NamedTuple):
    """Currents of some diodes that follow their volts from one point on, as mean currents do near a closed cycle."""

    diodes: Index
    amps: Array  # (column, diode)
    at_v: Array  # (column, diode)
    slopes: Array  # (column, diode, diode)


class PortDevices(Protocol):
    """The tubes and diodes of many wirings."""

    def tables(self, chosen: Index) -> settle.Laws:
        """Return their laws in some columns, for the machine code."""
        ...


class DeviceLaws:
    """The laws of the tubes and diodes of many columns, as tables for the machine code."""

    def __init__(self, law: SupplyLaw, values: Array) -> None:
        self._law, self._tubes = law, _tubes(law.system, values)
        self._own = law_table(diode_laws(law.system, values))

    def of(self, chosen: Index, mains: Array, plane: Plane | None = None, on_plane: Index | None = None) -> settle.Laws:
        """Return those of some columns.

        ``mains`` is what each of them has of the base's mains. The diodes of a ``plane`` follow it in the columns
        ``on_plane`` (in all, where none are named), and there no curve of a supply.
        """
        from lugwright.solve.kernel import settle

        columns, count = len(chosen), self._own.shape[1]
        kind = np.full((columns, count), settle.OWN)
        kind[np.ix_(mains > 0.0, self._law.excited)] = settle.CURVE
        amps, at_v, slopes = np.zeros((columns, count)), np.zeros((columns, count)), np.zeros((columns, count, count))
        if plane is not None:
            here = np.arange(columns) if on_plane is None else on_plane
            kind[here] = settle.OWN
            kind[np.ix_(here, plane.diodes)] = settle.PLANE
            amps[np.ix_(here, plane.diodes)], at_v[np.ix_(here, plane.diodes)] = plane.amps, plane.at_v
            slopes[np.ix_(here, plane.diodes, plane.diodes)] = plane.slopes
        tubes = self._tubes._replace(
            triodes_on=self._tubes.triodes_on[chosen], pentodes_on=self._tubes.pentodes_on[chosen]
        )
        diodes = settle.Diodes(kind, self._own[chosen], amps, at_v, slopes, np.asarray(mains, dtype=float))
        return settle.Laws(tubes, diodes, self._law.curves_as_tables)


def drawn(laws: settle.Laws, u: Array) -> Answer:
    """Return what devices with these laws do at port volts (port, column)."""
    from lugwright.solve.kernel import settle  # brings the compiler along: only where there is something to solve

    at = np.ascontiguousarray(u.T)
    columns, count = laws.diodes.kind.shape
    slopes = 3 * len(laws.tubes.triodes) + 7 * len(laws.tubes.pentodes)
    found = Answer(np.empty(at.shape), np.empty((columns, slopes)), np.empty((columns, count, count)))
    settle.draw(laws, at, found.amps, found.siemens, found.diode_s)
    return found


def _tubes(system: System, values: Array) -> settle.Tubes:
    from lugwright.solve.kernel import settle

    return settle.Tubes(
        _figures(system.triode_law, settle.TRIODE_FIGURES), _figures(system.triode_law, ("grid_gain",))[:, 0].copy(),
        np.ascontiguousarray(values[system.triode_on].T),
        _figures(system.pentode_law, settle.PENTODE_FIGURES), _figures(system.pentode_law, ("grid_gain",))[:, 0].copy(),
        np.ascontiguousarray(values[system.pentode_on].T),
    )  # fmt: skip


def _figures(law: dict[str, Array], names: Sequence[str]) -> Array:
    """Return figures of tubes (tube, figure)."""
    if not law:
        return np.zeros((0, len(names)))
    return np.ascontiguousarray(np.concatenate([law[name] for name in names], axis=1))
