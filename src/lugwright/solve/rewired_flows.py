"""The currents at every joint of every column, from the columns' own ends and values: what certifies an answer."""

from __future__ import annotations

from dataclasses import dataclass, fields, replace

import numpy as np
from numpy.typing import NDArray

from lugwright.circuit.tubes.drive import softplus
from lugwright.solve.dc import ABSOLUTE_A, EPS, RELATIVE
from lugwright.solve.device_laws import TubeState, tube_currents_into_joints, tube_state_at
from lugwright.solve.rewired_columns import RewiredColumns
from lugwright.solve.rewired_ports import summed
from lugwright.solve.system import Array, Index, System


def tubes_at(system: System, values: Array, u: Array) -> TubeState:
    """Return every tube's currents and slopes at port volts (port, column), in the order of `Ports`.

    The laws let a trace of current through at plates below their cathode, which would drive a plate that floats to
    kilovolts; here it ends some three volts below, and above that nothing changes.
    """
    t, p = len(system.triodes), len(system.pentodes)
    screen, grid, last = 2 * t + p, 2 * t + 2 * p, 2 * t + 3 * p
    triode_v, pentode_v = (u[:t], u[t : 2 * t]), (u[2 * t : screen], u[screen:grid], u[grid:last])
    if not fitted_ports(system, values).any():
        small, big = np.zeros_like(u[:t]), np.zeros_like(u[2 * t : screen])
        return TubeState(triode_v, (small,) * 2, (small,) * 3, pentode_v, (big,) * 3, (big,) * 7)
    state = tube_state_at(system, values, triode_v, pentode_v)
    (plate, grid_a), (gp, gm, gg) = state.triode_a, state.triode_slopes
    gate, turn = _gate(u[:t])
    big, screen_a, big_grid_a = state.pentode_a
    pp, ps, pg, *others = state.pentode_slopes
    big_gate, big_turn = _gate(u[2 * t : screen])
    return replace(
        state,
        triode_a=(gate * plate, grid_a),
        triode_slopes=(gate * gp + turn * plate, gate * gm, gg),
        pentode_a=(big_gate * big, screen_a, big_grid_a),
        pentode_slopes=(big_gate * pp + big_turn * big, big_gate * ps, big_gate * pg, *others),
    )


def fitted_ports(system: System, values: Array) -> NDArray[np.bool_]:
    """Return which ports of tubes, in the order of `Ports`, are those of a tube that is in, in any column (port)."""
    triode, pentode = ((values[rows] > 0.0).any(axis=1) for rows in (system.triode_on, system.pentode_on))
    return np.concatenate([triode, triode, pentode, pentode, pentode])


def _gate(plate_v: Array) -> tuple[Array, Array]:
    """Return the share of the plate current that is left at these plate volts, and its slope."""
    _, gate = softplus((plate_v + GATE_V) / GATE_WIDTH_V)
    return gate, gate * (1.0 - gate) / GATE_WIDTH_V


def port_currents(state: TubeState, diode_a: Array) -> Array:
    """Return the current into each port (port, column). [A]"""
    return np.concatenate([*state.triode_a, *state.pentode_a, diode_a])


GATE_V, GATE_WIDTH_V = 2.5, 0.1


@dataclass(frozen=True)
class Flows:
    """What is left over at every joint (joint + ground, column) and what may be; every end's current."""

    left: Array
    allowed: Array
    parts: Array  # (end, column): out of the joint the end stands on


def flows_of(
    columns: RewiredColumns, chosen: Index, values: Array, own_y: Array, v: Array, state: TubeState, diode_a: Array
) -> Flows:
    """Return the flows of some columns.

    ``own_y`` are their admittances at 0 Hz (pair, column), ``state`` and ``diode_a`` what tubes and diodes carry.
    """
    system, at = columns.system, np.arange(len(chosen))
    ends, n = columns.ends[:, chosen], len(system.branch_a)
    across = v[ends[:n], at] - v[ends[n : 2 * n], at]
    first = len(system.resistors) + len(system.capacitors)
    across[first : first + len(system.sources)] -= values[system.source_dc]
    branch = system.branch_currents(own_y, across)
    tubes = tube_currents_into_joints(system, state)
    amps = values[system.current_amps]
    bridges = columns.bridge_ends[:, :, chosen]
    over = columns.bridge_s[:, chosen] * (v[bridges[0], at] - v[bridges[1], at])
    parts = np.concatenate([branch, -branch, tubes, diode_a, -diode_a, amps, -amps])
    where = np.concatenate([ends, bridges[0], bridges[1]])
    every = np.concatenate([parts, over, -over])
    left = summed(where, every, v.shape)
    left += columns.to_ground_s[:, chosen] * v
    level = np.abs(v)
    rounded = np.abs(own_y) * np.maximum(level[ends[:n], at], level[ends[n : 2 * n], at])[system.couple_j]
    floor = system.coupled_branches(rounded)
    bridged = columns.bridge_s[:, chosen] * np.maximum(level[bridges[0], at], level[bridges[1], at])
    doubt = np.concatenate([floor, floor, bridged, bridged])
    doubt_at = np.concatenate([ends[: 2 * n], bridges[0], bridges[1]])
    size = summed(where, np.abs(every), v.shape)
    allowed = RELATIVE * size + ABSOLUTE_A + 4 * EPS * summed(doubt_at, doubt, v.shape)
    left[-1] = 0.0
    return Flows(left, allowed, parts)


def some(state: TubeState, pick: Index) -> TubeState:
    """Return some columns of a tube state."""
    return TubeState(*(tuple(a[:, pick] for a in getattr(state, f.name)) for f in fields(TubeState)))
