"""The circuit made linear at its idle: what small signals see, at any frequency and any setting of the knobs.

Tubes stand as their slopes at idle. Rectifiers stand as the slope of their mean current over their mean volts
with the mains cycle closed; the reservoir behind them shorts them for everything above a few hertz. Sources are
shorts behind their own resistance. Each setting gets its own idle, found from the nominal one with the rectifiers'
law kept; most settings move no idle, and then that costs nothing.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from lugwright.circuit.edits import Edit
from lugwright.circuit.network import Circuit
from lugwright.errors import NoIdlePoint
from lugwright.solve.by_machine import branches_of, tables_of
from lugwright.solve.dc import DcProblem, solve_dc
from lugwright.solve.descriptor import Descriptor, descriptor, diode_conductance, diode_slopes, tube_matrix
from lugwright.solve.device_laws import TubeState, tube_matrix_entries, tube_state
from lugwright.solve.idle import static_law, tangent_law
from lugwright.solve.solved import Solved
from lugwright.solve.sparse_lu import factor, solve_factored, solve_transposed
from lugwright.solve.system import Array, System

Complex = NDArray[np.complex128]


@dataclass(frozen=True)
class SmallSignal:
    """A linearized circuit under one or several settings."""

    system: System
    settings: tuple[Edit, ...]
    values: Array  # (value, setting)
    volts: Array  # at idle (joint + ground, setting)
    tubes: TubeState  # currents and slopes at idle (tube, setting)
    diode_slopes: Array  # (diode, diode), all settings alike

    def at(self, hertz: Array) -> Network:
        """Return the circuit factored at frequencies."""
        return Network(self, np.asarray(hertz, dtype=float))

    def chosen(self, settings: Sequence[int]) -> SmallSignal:
        """Return some of the settings, in the order asked for."""
        pick = list(settings)
        tubes = TubeState(*(tuple(a[:, pick] for a in getattr(self.tubes, f.name)) for f in fields(TubeState)))
        edits = tuple(self.settings[k] for k in pick)
        return SmallSignal(self.system, edits, self.values[:, pick], self.volts[:, pick], tubes, self.diode_slopes)

    def matrices(self, setting: int = 0) -> Descriptor:
        """Return the plain matrices of one setting, the slopes of tubes and diodes included."""
        form = descriptor(self.system, self.values[:, [setting]])
        joints = slice(0, self.system.size)
        entries = tube_matrix_entries(self.tubes)
        form.conductance[joints, joints] += tube_matrix(self.system, entries[:, [setting]])
        form.conductance[joints, joints] += diode_conductance(self.system, self.diode_slopes)
        return form


class Network:
    """A linearized circuit factored at frequencies: every (setting, frequency) is a column of one batch."""

    def __init__(self, signal: SmallSignal, hertz: Array) -> None:
        self.signal, self.hertz = signal, hertz
        self.shape = (len(signal.settings), len(hertz))
        system = signal.system
        self._s = np.tile(2j * np.pi * hertz, self.shape[0])
        many = len(hertz) if self.shape[0] > 1 else 1  # one setting is the same at all frequencies
        flat = signal.diode_slopes.reshape(-1, 1)
        self._devices = system.tube_matrix_scatter(tube_matrix_entries(signal.tubes))
        self._devices = self._devices + system.port_matrix_scatter(np.concatenate([flat, -flat, -flat, flat]))
        self._many = many

    @cached_property
    def admittances(self) -> Complex:
        """Return the admittance of each pair of branches (pair, column). [S]"""
        values = np.repeat(self.signal.values, self._many, axis=1)
        return np.asarray(self.signal.system.admittances(values, self._s))

    @cached_property
    def _factors(self) -> Complex:
        system = self.signal.system
        return factor(system.pattern, system.matrix(self.admittances) + np.repeat(self._devices, self._many, axis=1))

    def driven(self, ports: Sequence[tuple[int, int]]) -> Complex:
        """Return every joint's volts with 1 A driven into each port: (joint + ground, port, setting, frequency)."""
        size, columns = self.signal.system.size, self.shape[0] * self.shape[1]
        drive = np.zeros((size + 1, len(ports), columns), dtype=complex)
        for column, (plus, minus) in enumerate(ports):
            drive[plus, column] += 1.0
            drive[minus, column] -= 1.0
        volts = np.zeros((size + 1, len(ports), columns), dtype=complex)
        volts[:-1] = solve_factored(self.signal.system.pattern, self._factors, drive[:-1])
        return volts.reshape(size + 1, len(ports), *self.shape)

    def between(self, ports: Sequence[tuple[int, int]]) -> Complex:
        """Return the volts across each port with 1 A driven into each: (across, driven, setting, frequency)."""
        reach = self.signal.system.reaching(frozenset(row for port in ports for row in port))
        tables = tables_of(self.signal.system) if self.shape[0] == 1 else None
        if tables is not None:
            branches = branches_of(self.signal.system, self.signal.values)
            found, _ = tables.between(reach, np.array(ports, dtype=np.intp), branches, self._s, self._devices[:, 0])
            return found[:, :, None]
        ends = reach.where[np.array(ports, dtype=np.intp)]
        size, columns = reach.pattern.size, self.shape[0] * self.shape[1]
        volts = np.zeros((size + 1, len(ports), columns), dtype=complex)
        for driven, (plus, minus) in enumerate(ends):
            volts[plus, driven] += 1.0
            volts[minus, driven] -= 1.0
        volts[:-1] = solve_factored(reach.pattern, self._factors, volts[:-1])
        volts[-1] = 0.0
        across = volts[ends[:, 0]] - volts[ends[:, 1]]
        return np.asarray(across.reshape(len(ports), len(ports), *self.shape))

    def heard(self, port: tuple[int, int]) -> Complex:
        """Return the volts at a port with 1 A driven into each joint in turn: (joint + ground, setting, frequency)."""
        size, columns = self.signal.system.size, self.shape[0] * self.shape[1]
        wanted = np.zeros((size + 1, columns), dtype=complex)
        wanted[port[0]] += 1.0
        wanted[port[1]] -= 1.0
        found = np.zeros((size + 1, columns), dtype=complex)
        found[:-1] = solve_transposed(self.signal.system.pattern, self._factors, wanted[:-1])
        return found.reshape(size + 1, *self.shape)


def linearized(circuit: Circuit, solved: Solved, settings: Sequence[Edit] = (Edit("as built"),)) -> SmallSignal:
    """Return the circuit made linear at the idle of each setting.

    Parameters
    ----------
    circuit : Circuit
        The circuit as signals see it; joints and parts that the solved one has keep their names.
    solved : Solved
        The idle of the build as described.
    settings : sequence of Edit
        Knobs turned, contacts opened.

    Returns
    -------
    SmallSignal
        One column for each setting.

    Raises
    ------
    NoIdlePoint
        A setting has no idle.
    """
    return linearized_system(System(circuit), solved, settings)


def linearized_system(system: System, solved: Solved, settings: Sequence[Edit]) -> SmallSignal:
    """Return a compiled circuit made linear at the idle of each setting; see `linearized`.

    Raises
    ------
    NoIdlePoint
        A setting has no idle.
    """
    edits = tuple(settings)
    levels = _idle_volts(solved, edits)
    volts = np.zeros((system.size + 1, len(edits)))
    for joint, row in system.row.items():
        if joint in solved.system.row:
            volts[row] = levels[solved.system.row[joint]]
    if solved.cycle is not None:
        by_name = {diode.name: row for row, diode in enumerate(solved.system.diodes)}
        order = [by_name[diode.name] for diode in system.diodes]
        slopes = solved.cycle.slope_s[np.ix_(order, order)]
    else:
        slopes = diode_slopes(system, system.base_values, volts[:, :1])
    values = system.values([_own(system, solved.system, edit) for edit in edits])
    return SmallSignal(system, edits, values, volts, tube_state(system, values, volts), slopes)


def _own(system: System, solved: System, edit: Edit) -> Edit:
    """Return an edit without what only the solved circuit has: the resistor that stands there for a loudspeaker."""
    changes = ((c, (c.element, c.field)) for c in edit.changes)
    return Edit(edit.name, tuple(c for c, row in changes if row in system.value_row or row not in solved.value_row))


def _idle_volts(solved: Solved, edits: Sequence[Edit]) -> Array:
    """Return the volts of the solved system's joints (joint + ground, setting)."""
    system = solved.system
    values = system.values([system.known(edit) for edit in edits])
    for resistor in system.resistors:  # a lamp keeps the resistance it was found to have
        if solved.values[system.value_row[resistor.name, "lamp_w"], 0] > 0:
            values[system.value_row[resistor.name, "ohm"]] = solved.values[system.value_row[resistor.name, "ohm"], 0]
    law = static_law(system, values) if solved.cycle is None else tangent_law(solved.cycle)
    point = solve_dc(DcProblem(system, values, law), np.repeat(solved.dc.volts, len(edits), axis=1))
    if not point.solved.all():
        column = int(np.flatnonzero(~point.solved)[0])
        worst = int(np.argmax(np.abs(point.left_over_a[:, column]) / point.allowed_a[:, column]))
        raise NoIdlePoint(
            what=f"no idle point with {edits[column].name}",
            found=f"{system.joints[worst]}: {abs(point.left_over_a[worst, column]):.2g} A left over",
            wanted=f"less than {point.allowed_a[worst, column]:.2g} A left over at every joint",
            do="turn the knob less far, or look at what meets at that joint",
        )
    return point.volts
