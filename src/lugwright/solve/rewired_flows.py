"""The currents at every joint of every column, from the columns' own ends and values: what certifies an answer."""

from __future__ import annotations

from dataclasses import dataclass, fields, replace

import numpy as np
from numpy.typing import NDArray

from lugwright.circuit.tubes.drive import softplus
from lugwright.solve.dc import ABSOLUTE_A, RELATIVE
from lugwright.solve.device_laws import TubeState, tube_currents_into_joints, tube_state_at
from lugwright.solve.rewired_columns import RewiredColumns
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
    """What is left over at every joint (joint + ground, column), and what may be."""

    left: Array
    allowed: Array


def flows_of(
    columns: RewiredColumns, chosen: Index, values: Array, own_y: Array, v: Array, state: TubeState, diode_a: Array
) -> Flows:
    """Return the flows of some columns.

    ``values`` (value, column) and ``own_y``, the admittances at 0 Hz (pair, column), are those of all columns, ``v``,
    ``state`` and ``diode_a``, what tubes and diodes carry, of the ``chosen`` ones.
    """
    from lugwright.solve.kernel import joints  # brings the compiler along: only where there is something to certify

    system, n = columns.system, len(columns.system.branch_a)
    push_v = np.zeros((n, len(chosen)))
    first = len(system.resistors) + len(system.capacitors)
    push_v[first : first + len(system.sources)] = values[np.ix_(system.source_dc, chosen)]
    amps = values[np.ix_(system.current_amps, chosen)]
    tubes = tube_currents_into_joints(system, state)
    parts = np.concatenate([tubes, diode_a, -diode_a, amps, -amps])
    wirings = joints.Wirings(
        system.couple_i, system.couple_j, own_y, columns.ends, n, columns.bridge_ends, columns.bridge_s,
        columns.to_ground_s,
    )  # fmt: skip
    left, allowed = np.empty(v.shape), np.empty(v.shape)
    currents = joints.Currents(np.ascontiguousarray(v), push_v, parts)
    joints.meet(wirings, chosen, currents, RELATIVE, ABSOLUTE_A, left, allowed)
    return Flows(left, allowed)


def some(state: TubeState, pick: Index) -> TubeState:
    """Return some columns of a tube state."""
    return TubeState(*(tuple(a[:, pick] for a in getattr(state, f.name)) for f in fields(TubeState)))
