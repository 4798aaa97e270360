"""What a tube section works into: the resistance between its plate and its cathode, for direct and alternating current.

The section itself is taken out; everything else stays as it is at idle, other tubes with their slopes, rectifiers
with the slope of their mean current. Sections that work together are driven together: those in parallel alike, those
at the other end of a push-pull transformer the other way round.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from lugwright.circuit.edits import Edit, SetValue
from lugwright.circuit.elements import PentodeTube, TriodeTube, Windings
from lugwright.circuit.network import Circuit
from lugwright.solve.device_laws import tube_matrix_entries, tube_state
from lugwright.solve.solved import Solved
from lugwright.solve.sparse_lu import factor, solve_factored
from lugwright.solve.system import Array

AC_HZ = 1000.0
Section = TriodeTube | PentodeTube


@dataclass(frozen=True)
class Loads:
    """Loads of one section. ``alone``: with the other side of a push-pull stage cut off; None without one. [ohm]"""

    dc_ohm: float
    ac_ohm: float
    alone_ohm: float | None


@dataclass(frozen=True)
class _Crew:
    """A section and those that work with it: ``signs`` is 1 for itself and the parallel ones, -1 for the others."""

    section: Section
    members: tuple[Section, ...]
    signs: tuple[float, ...]

    @cached_property
    def has_other_side(self) -> bool:
        return min(self.signs) < 0


def section_loads(solved: Solved, *, signal: Edit) -> dict[str, Loads]:
    """Return the loads of every amplifying section of a solved circuit.

    Parameters
    ----------
    solved : Solved
        The idle. [V, A]
    signal : Edit
        What differs at 1 kHz from direct current, such as the impedance of a speaker.

    Returns
    -------
    dict of str to Loads
        By section. Alternating loads are the real part of the impedance at 1 kHz. [ohm]

    Valid
    -----
    Small swings about the idle. The cathode's own feedback belongs to the tube and is not in it. In direct current a
    screen draws more and less in the proportion of the idle; for signals it stands still.

    Source
    ------
    Ohm and Kirchhoff; the mirrored current of a push-pull pair is the usual definition of its plate-to-plate load.
    """
    sections: list[Section] = [*solved.system.triodes, *solved.system.pentodes]
    crews = [_crew(solved.system.circuit, section) for section in sections]
    if not crews:
        return {}
    shares = _screen_shares(solved)
    dc = _ohms(solved, crews, 0.0, Edit(""), [_only(crew) for crew in crews], shares)
    ac = _ohms(solved, crews, AC_HZ, signal, [crew.signs for crew in crews], {})
    alone = _ohms(solved, crews, AC_HZ, signal, [_one_side(crew) for crew in crews], {})
    return {
        crew.section.name: Loads(float(d), float(a), float(o) if crew.has_other_side else None)
        for crew, d, a, o in zip(crews, dc, ac, alone, strict=True)
    }


def _crew(circuit: Circuit, section: Section) -> _Crew:
    sections = [e for e in circuit.elements if isinstance(e, TriodeTube | PentodeTube)]
    cores = [e for e in circuit.elements if isinstance(e, Windings)]
    ends = {j for core in cores for c in core.coils if section.plate in _ends(core) for j in (c.a, c.b)}
    members, signs = [], []
    for other in sections:
        if other.plate == section.plate and other.grid == section.grid:
            members.append(other)
            signs.append(1.0)
        elif other.plate in ends and other.plate != section.plate and type(other) is type(section):
            members.append(other)
            signs.append(-1.0)
    return _Crew(section, tuple(members), tuple(signs))


def _ends(core: Windings) -> set[str]:
    return {j for coil in core.coils for j in (coil.a, coil.b)}


def _only(crew: _Crew) -> tuple[float, ...]:
    return tuple(1.0 if member is crew.section else 0.0 for member in crew.members)


def _one_side(crew: _Crew) -> tuple[float, ...]:
    return tuple(max(sign, 0.0) for sign in crew.signs)


def _screen_shares(solved: Solved) -> dict[str, float]:
    """Return each screen's current as a share of its plate's at idle. [-]"""
    plate, screen, _ = tube_state(solved.system, solved.values, solved.dc.volts).pentode_a
    return {
        tube.name: float(s / p)
        for tube, p, s in zip(solved.system.pentodes, plate[:, 0], screen[:, 0], strict=True)
        if p > 0.0
    }


def _ohms(
    solved: Solved,
    crews: Sequence[_Crew],
    hertz: float,
    edit: Edit,
    drives: Sequence[tuple[float, ...]],
    screen_shares: Mapping[str, float],
) -> Array:
    """Return the real part of volts at each crew's own section over its own current, one crew a column. [ohm]"""
    system = solved.system
    edits = [
        edit
        + Edit("", tuple(SetValue(m.name, "on", 0.0) for m, d in zip(crew.members, drive, strict=True) if d or hertz))
        for crew, drive in zip(crews, drives, strict=True)
    ]
    values = system.values(edits)
    lamps = [system.value_row[r.name, "ohm"] for r in system.resistors if r.lamp_w > 0]
    values[lamps] = solved.values[lamps]
    volts = np.repeat(solved.dc.volts, len(crews), axis=1)
    s = np.full(len(crews), 2j * np.pi * hertz) if hertz else 0.0
    matrix = system.matrix(system.admittances(values, s))
    matrix = matrix + system.tube_matrix_scatter(tube_matrix_entries(tube_state(system, values, volts)))
    if solved.cycle is not None and system.diodes:
        flat = solved.cycle.slope_s.reshape(-1, 1)
        matrix = matrix + system.port_matrix_scatter(np.concatenate([flat, -flat, -flat, flat]))
    drive = np.zeros((system.size + 1, 1, len(crews)), dtype=matrix.dtype)
    for column, (crew, signs) in enumerate(zip(crews, drives, strict=True)):
        for member, sign in zip(crew.members, signs, strict=True):
            share = screen_shares.get(member.name, 0.0)
            drive[system.row[member.plate], 0, column] += sign
            drive[system.row[member.cathode], 0, column] -= sign * (1.0 + share)
            if isinstance(member, PentodeTube):
                drive[system.row[member.screen], 0, column] += sign * share
    x = np.zeros_like(drive)
    x[:-1] = solve_factored(system.pattern, factor(system.pattern, matrix), drive[:-1])
    rows = [(system.row[c.section.plate], system.row[c.section.cathode]) for c in crews]
    return np.array([np.real(x[p, 0, k] - x[n, 0, k]) for k, (p, n) in enumerate(rows)])
