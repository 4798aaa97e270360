"""All tubes and diodes of a system at once: currents and slopes at given joint voltages."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from lugwright.circuit.tubes.drive import grid_current_a, softplus
from lugwright.circuit.tubes.pentode import pentode_currents_a
from lugwright.circuit.tubes.rectifier import rectifier_plate_current_a
from lugwright.circuit.tubes.triode import triode_plate_current_a
from lugwright.solve.system import Array, Index, System


@dataclass(frozen=True)
class TubeState:
    """Electrode currents (tube, batch) and their slopes at one set of joint voltages. [A], [A/V]

    ``triode_slopes``: plate over (plate, grid), grid over grid. ``pentode_slopes``: plate over
    (plate, screen, grid), screen over the same, grid over grid.
    """

    triode_v: tuple[Array, Array]  # plate, grid against cathode
    triode_a: tuple[Array, Array]  # plate, grid
    triode_slopes: tuple[Array, Array, Array]
    pentode_v: tuple[Array, Array, Array]  # plate, screen, grid against cathode
    pentode_a: tuple[Array, Array, Array]  # plate, screen, grid
    pentode_slopes: tuple[Array, ...]


def tube_state(system: System, values: Array, v: Array) -> TubeState:
    """Return every tube's currents and slopes at joint voltages ``v`` (joint + ground, batch)."""
    plate, grid, cathode = (v[rows] for rows in system.triode_rows)
    triode_v = (plate - cathode, grid - cathode)
    plate, screen, grid, cathode = (v[rows] for rows in system.pentode_rows)
    return tube_state_at(system, values, triode_v, (plate - cathode, screen - cathode, grid - cathode))


def tube_state_at(
    system: System, values: Array, triode_v: tuple[Array, Array], pentode_v: tuple[Array, Array, Array]
) -> TubeState:
    """Return currents and slopes at given volts between electrodes, the tubes in the order of the system."""
    return TubeState(triode_v, *_triodes(system, values, triode_v), pentode_v, *_pentodes(system, values, pentode_v))


def _triodes(
    system: System, values: Array, triode_v: tuple[Array, Array]
) -> tuple[tuple[Array, Array], tuple[Array, Array, Array]]:
    if not system.triodes:
        plate = triode_v[0]
        return (plate, plate), (plate, plate, plate)
    on = values[system.triode_on]
    law = dict(system.triode_law)
    gain = law.pop("grid_gain")
    i, gp, gm = triode_plate_current_a(*triode_v, **law)
    ig, gg = grid_current_a(triode_v[1], gain=gain)
    return (on * i, on * ig), (on * gp, on * gm, on * gg)


def _pentodes(
    system: System, values: Array, pentode_v: tuple[Array, Array, Array]
) -> tuple[tuple[Array, Array, Array], tuple[Array, ...]]:
    if not system.pentodes:
        plate = pentode_v[0]
        return (plate, plate, plate), (plate,) * 7
    on = values[system.pentode_on]
    law = dict(system.pentode_law)
    gain = law.pop("grid_gain")
    c = pentode_currents_a(*pentode_v, **law)
    ig, gg = grid_current_a(pentode_v[2], gain=gain)
    slopes = (c.plate_by_plate, c.plate_by_screen, c.plate_by_grid, c.screen_by_plate, c.screen_by_screen,
              c.screen_by_grid, gg)  # fmt: skip
    return (on * c.plate_a, on * c.screen_a, on * ig), tuple(on * s for s in slopes)


def tube_currents_into_joints(system: System, state: TubeState) -> Array:
    """Return the current each tube end draws out of its joint, in the order of the tube scatter. [A]"""
    plate, grid = state.triode_a
    p, s, g = state.pentode_a
    return np.concatenate([plate, grid, -plate - grid, p, s, g, -p - s - g])


def tube_matrix_entries(state: TubeState) -> Array:
    """Return the slopes of all tube ends over all tube ends, in the order of the tube matrix scatter. [A/V]

    Row by row; the cathode's row and column balance the others.
    """
    gp, gm, gg = state.triode_slopes
    both, zero = gp + gm, np.zeros_like(gp)
    triodes = (gp, gm, -both, zero, gg, -gg, -gp, -gm - gg, both + gg)
    pp, ps, pg, sp, ss, sg, grid = state.pentode_slopes
    plate, screen, none = pp + ps + pg, sp + ss + sg, np.zeros_like(pp)
    by_grid = pg + sg + grid
    return np.concatenate([
        *triodes, pp, ps, pg, -plate, sp, ss, sg, -screen, none, none, grid, -grid,
        -pp - sp, -ps - ss, -by_grid, plate + screen + grid,
    ])  # fmt: skip


@dataclass(frozen=True)
class DiodeLaws:
    """The laws of all diodes of a system at one set of values; axes (diode, batch).

    ``junctions``, ``zeners`` (a part of the junctions) and ``vacuum`` are rows among the diodes.
    """

    on: Array
    junctions: Index
    threshold_v: Array
    smooth_v: Array
    bulk_ohm: Array
    at_zero: Array  # what the rounded corner would let through at no voltage
    zeners: Index
    among_junctions: Index
    zener_v: Array
    vacuum: Index
    perveance: Array

    def currents_a(self, v: Array) -> tuple[Array, Array]:
        """Return the current and slope of every diode at its own voltage.

        Parameters
        ----------
        v : array
            Anode against cathode (diode, batch). [V]

        Returns
        -------
        tuple of arrays
            Current from anode to cathode (leak left out) and its slope. [A], [A/V]

        Valid
        -----
        Silicon: threshold and bulk resistance, the corner rounded exponentially over ``smooth_v``; no
        current at no voltage, about a nanoampere backward.

        Source
        ------
        Own piecewise law with a softplus corner; vacuum: `rectifier_plate_current_a`.
        """
        current, slope = np.zeros_like(v), np.zeros_like(v)
        if len(self.junctions):
            soft, bend = softplus((v[self.junctions] - self.threshold_v) / self.smooth_v)
            current[self.junctions] = (soft - self.at_zero) * self.smooth_v / self.bulk_ohm
            slope[self.junctions] = bend / self.bulk_ohm
        if len(self.zeners):
            smooth, bulk = self.smooth_v[self.among_junctions], self.bulk_ohm[self.among_junctions]
            soft, bend = softplus((-v[self.zeners] - self.zener_v) / smooth)
            current[self.zeners] -= soft * smooth / bulk
            slope[self.zeners] += bend / bulk
        if len(self.vacuum):
            current[self.vacuum], slope[self.vacuum] = rectifier_plate_current_a(
                v[self.vacuum], perveance=self.perveance
            )
        return self.on * current, self.on * slope


def diodes_only(laws: DiodeLaws, chosen: Index) -> DiodeLaws:
    """Return the laws of some of the diodes, in rising order."""
    place = np.full(len(laws.on), -1)
    place[chosen] = np.arange(len(chosen))
    junctions, zeners, vacuum = (place[rows] >= 0 for rows in (laws.junctions, laws.zeners, laws.vacuum))
    own_junctions = place[laws.junctions[junctions]]
    own_zeners = place[laws.zeners[zeners]]
    return DiodeLaws(
        on=laws.on[chosen],
        junctions=own_junctions,
        threshold_v=laws.threshold_v[junctions],
        smooth_v=laws.smooth_v[junctions],
        bulk_ohm=laws.bulk_ohm[junctions],
        at_zero=laws.at_zero[junctions],
        zeners=own_zeners,
        among_junctions=np.searchsorted(own_junctions, own_zeners),
        zener_v=laws.zener_v[zeners],
        vacuum=place[laws.vacuum[vacuum]],
        perveance=laws.perveance[vacuum],
    )


def diode_laws(system: System, values: Array) -> DiodeLaws:
    """Return the laws of all diodes at these values (value, batch)."""
    rows = system.diode_rows
    threshold, smooth = values[rows.threshold], values[rows.smooth]
    at_zero, _ = softplus(-threshold / smooth)
    return DiodeLaws(
        on=values[rows.on],
        junctions=rows.junctions,
        threshold_v=threshold,
        smooth_v=smooth,
        bulk_ohm=values[rows.bulk],
        at_zero=at_zero,
        zeners=rows.zeners,
        among_junctions=np.searchsorted(rows.junctions, rows.zeners),
        zener_v=values[rows.zener],
        vacuum=rows.vacuum,
        perveance=values[rows.perveance],
    )


def law_table(laws: DiodeLaws) -> Array:
    """Return the figures of diodes (column, diode, figure), as `lugwright.solve.kernel.diodes` wants them."""
    from lugwright.solve.kernel import diodes

    table = np.zeros((*laws.on.T.shape, diodes.SIZE))
    table[:, :, diodes.ON] = laws.on.T
    table[:, laws.junctions, diodes.JUNCTION] = 1.0
    for figure, name in (
        (diodes.THRESHOLD_V, "threshold_v"), (diodes.SMOOTH_V, "smooth_v"), (diodes.BULK_OHM, "bulk_ohm"),
        (diodes.AT_ZERO, "at_zero"),
    ):  # fmt: skip
        table[:, laws.junctions, figure] = getattr(laws, name).T
    table[:, laws.zeners, diodes.ZENER] = 1.0
    table[:, laws.zeners, diodes.ZENER_V] = laws.zener_v.T
    table[:, laws.vacuum, diodes.PERVEANCE] = laws.perveance.T
    return table
