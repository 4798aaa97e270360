"""What tubes and diodes do in some of many wirings: as arrays of columns, and as tables for the machine code."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, NamedTuple, Protocol

import numpy as np

from lugwright.solve.device_laws import law_table
from lugwright.solve.rewired_flows import GATE_V, GATE_WIDTH_V
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

    def devices(self, chosen: Index, u: Array) -> Answer:
        """Return what they do in some columns at port volts (port, column)."""
        ...

    def tables(self, chosen: Index) -> settle.Laws:
        """Return their laws in some columns, for the machine code."""
        ...


def laws_of(
    law: SupplyLaw, values: Array, mains: Array, plane: Plane | None = None, on_plane: Index | None = None
) -> settle.Laws:
    """Return the laws of columns with these values (value, column), for the machine code.

    ``mains`` is what each has of the base's mains. The diodes of a ``plane`` follow it in the columns ``on_plane`` (in
    all, where none are named), and there no curve of a supply.
    """
    from lugwright.solve.kernel import settle

    system, columns, count = law.system, values.shape[1], len(law.system.diodes)
    kind = np.full((columns, count), settle.OWN)
    kind[np.ix_(mains > 0.0, law.excited)] = settle.CURVE
    amps, at_v, slopes = np.zeros((columns, count)), np.zeros((columns, count)), np.zeros((columns, count, count))
    if plane is not None:
        here = np.arange(columns) if on_plane is None else on_plane
        kind[here] = settle.OWN
        kind[np.ix_(here, plane.diodes)] = settle.PLANE
        amps[np.ix_(here, plane.diodes)], at_v[np.ix_(here, plane.diodes)] = plane.amps, plane.at_v
        slopes[np.ix_(here, plane.diodes, plane.diodes)] = plane.slopes
    own = law_table(law.laws(values))
    return settle.Laws(
        _tubes(system, values), settle.Diodes(kind, own, amps, at_v, slopes, np.asarray(mains, dtype=float)),
        law.curves_as_tables,
    )  # fmt: skip


def _tubes(system: System, values: Array) -> settle.Tubes:
    from lugwright.solve.kernel import settle

    return settle.Tubes(
        _figures(system.triode_law, settle.TRIODE_FIGURES), _figures(system.triode_law, ("grid_gain",))[:, 0].copy(),
        np.ascontiguousarray(values[system.triode_on].T),
        _figures(system.pentode_law, settle.PENTODE_FIGURES), _figures(system.pentode_law, ("grid_gain",))[:, 0].copy(),
        np.ascontiguousarray(values[system.pentode_on].T), GATE_V, GATE_WIDTH_V,
    )  # fmt: skip


def _figures(law: dict[str, Array], names: Sequence[str]) -> Array:
    """Return figures of tubes (tube, figure)."""
    if not law:
        return np.zeros((0, len(names)))
    return np.ascontiguousarray(np.concatenate([law[name] for name in names], axis=1))
