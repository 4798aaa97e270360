"""All tubes and diodes of a system at once: currents and slopes at given joint voltages."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from lugwright.circuit.elements import Junction
from lugwright.circuit.tubes.drive import grid_current_a, softplus
from lugwright.circuit.tubes.pentode import pentode_currents_a
from lugwright.circuit.tubes.rectifier import rectifier_plate_current_a
from lugwright.circuit.tubes.triode import triode_plate_current_a
from lugwright.solve.system import Array, System


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
    on = values[system.triode_on]
    law = dict(system.triode_law)
    gain = law.pop("grid_gain", np.zeros((0, 1)))
    triode_v = (plate - cathode, grid - cathode)
    if len(system.triodes):
        i, gp, gm = triode_plate_current_a(*triode_v, **law)
        ig, gg = grid_current_a(triode_v[1], gain=gain)
        triode_a, triode_slopes = (on * i, on * ig), (on * gp, on * gm, on * gg)
    else:
        triode_a, triode_slopes = (plate, plate), (plate, plate, plate)
    return TubeState(triode_v, triode_a, triode_slopes, *_pentodes(system, values, v))


def _pentodes(
    system: System, values: Array, v: Array
) -> tuple[tuple[Array, Array, Array], tuple[Array, Array, Array], tuple[Array, ...]]:
    plate, screen, grid, cathode = (v[rows] for rows in system.pentode_rows)
    pentode_v = (plate - cathode, screen - cathode, grid - cathode)
    if not system.pentodes:
        return pentode_v, (plate, plate, plate), (plate,) * 7
    on = values[system.pentode_on]
    law = dict(system.pentode_law)
    gain = law.pop("grid_gain")
    c = pentode_currents_a(*pentode_v, **law)
    ig, gg = grid_current_a(pentode_v[2], gain=gain)
    slopes = (c.plate_by_plate, c.plate_by_screen, c.plate_by_grid, c.screen_by_plate, c.screen_by_screen,
              c.screen_by_grid, gg)  # fmt: skip
    return pentode_v, (on * c.plate_a, on * c.screen_a, on * ig), tuple(on * s for s in slopes)


def tube_currents_into_joints(system: System, state: TubeState) -> Array:
    """Return the current each tube end draws out of its joint, in the order of the tube scatter. [A]"""
    plate, grid = state.triode_a
    p, s, g = state.pentode_a
    return np.concatenate([plate, grid, -plate - grid, p, s, g, -p - s - g])


def tube_matrix_entries(state: TubeState) -> Array:
    """Return the slopes of all tube ends over all tube ends, in the order of the tube matrix scatter. [A/V]"""
    zero = np.zeros_like(state.triode_a[0])
    gp, gm, gg = state.triode_slopes
    rows = _with_cathode([[gp, gm], [zero, gg]])
    zero = np.zeros_like(state.pentode_a[0])
    pp, ps, pg, sp, ss, sg, grid = state.pentode_slopes
    rows += _with_cathode([[pp, ps, pg], [sp, ss, sg], [zero, zero, grid]])
    return np.concatenate(rows)


def _with_cathode(slopes: list[list[Array]]) -> list[Array]:
    """Return the slopes row by row with the cathode's row and column, which balance the others."""
    full: list[list[Array]] = [[*row, -sum(row[1:], row[0])] for row in slopes]
    last = [-sum((row[j] for row in full[1:]), full[0][j]) for j in range(len(full[0]))]
    return [entry for row in (*full, last) for entry in row]


def diode_currents_a(system: System, values: Array, v: Array, *, extra_smooth_v: float = 0.0) -> tuple[Array, Array]:
    """Return the current and slope of every diode at its own voltage.

    Parameters
    ----------
    system : System
        The compiled circuit.
    values : array
        Values (value, batch); the batch axis broadcasts against that of ``v``.
    v : array
        Anode against cathode (diode, batch). [V]
    extra_smooth_v : float
        Rounds the corner of silicon further, to make a hard start easier. [V]

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
    for row, diode in enumerate(system.diodes):

        def value(field: str, name: str = diode.name) -> Array:
            return np.asarray(values[system.value_row[name, field]])

        on = value("on")
        if isinstance(diode, Junction):
            smooth = value("smooth_v") + extra_smooth_v
            bulk = value("bulk_ohm")
            soft, bend = softplus((v[row] - value("threshold_v")) / smooth)
            at_zero, _ = softplus(-value("threshold_v") / smooth)
            i, g = (soft - at_zero) * smooth / bulk, bend / bulk
            if diode.zener_v is not None:
                soft, bend = softplus((-v[row] - value("zener_v")) / smooth)
                i, g = i - soft * smooth / bulk, g + bend / bulk
        else:
            i, g = rectifier_plate_current_a(v[row], perveance=value("perveance"))
        current[row], slope[row] = on * i, on * g
    return current, slope
