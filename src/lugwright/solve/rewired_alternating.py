"""Alternating volts in many wirings: the mains in windings and heaters, a signal, the rectifiers' ripple."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from lugwright.circuit.rewiring import Rewiring
from lugwright.solve.current_tones import TONES, tones_of
from lugwright.solve.device_laws import tube_matrix_entries, tube_state
from lugwright.solve.rewired_columns import RewiredColumns, compiled
from lugwright.solve.rewired_mains import mains_drive
from lugwright.solve.rewired_matrix import UpdatedInverse, base_inverse
from lugwright.solve.rewired_newton import Answer, Block
from lugwright.solve.rewired_slopes import Linearized
from lugwright.solve.solved import Solved
from lugwright.solve.sparse_lu import Numbers
from lugwright.solve.system import Array, Index

Pair = tuple[str, str]


def blocks_at(base: Solved, columns: RewiredColumns, values: Array, hertz: float, *, tubes: bool) -> Iterator[Block]:
    """Yield the columns at a frequency, coils coupled; with ``tubes`` as the base has them, or none."""
    system, s = base.system, np.array([2j * np.pi * hertz])
    base_y = system.admittances(base.values, s)
    slots = system.matrix(base_y)
    if tubes:
        slots = slots + system.tube_matrix_scatter(tube_matrix_entries(tube_state(system, base.values, base.dc.volts)))
    inverse = base_inverse(columns, slots[:, 0])
    own_y = system.admittances(values, s)
    for layout in columns.layouts(coupled=True, held=inverse.held):
        part = layout.differences(base_y[:, 0], own_y)
        yield Block(part.columns, UpdatedInverse(inverse, part), columns.ports.chosen(part.columns))


@dataclass(frozen=True)
class Heard:
    """A signal between joints (column, joint): its complex volts with nothing there, and the impedance behind them."""

    volts: Numbers
    ohm: Numbers

    def shown(self, meter_s: complex) -> Numbers:
        """Return the volts that a meter of some admittance shows there. [V]"""
        return np.asarray(self.volts / (1.0 + self.ohm * meter_s))


def signal_heard(
    base: Solved, columns: RewiredColumns, values: Array, answer: Answer, at: tuple[Index, int, Index], hertz: float,
    source_ohm: float,
) -> Heard:  # fmt: skip
    """Return what rows (column, joint) show against one black row for 1 V behind a resistance at a row (column, 1)."""
    rows, black, source = at
    found = Heard(np.zeros(rows.shape, dtype=complex), np.zeros(rows.shape, dtype=complex))
    with np.errstate(all="ignore"):
        for block in blocks_at(base, columns, values, hertz, tubes=False):
            chosen = block.chosen
            linear = Linearized.of(base.system, block, answer.only(chosen))
            tips = (rows[chosen], np.full_like(rows[chosen], black))
            port = (source[chosen], np.full_like(source[chosen], columns.ground))
            heard, back = linear.entries(tips, port)[:, :, 0], linear.entries(port, tips)[:, 0]
            loop = source_ohm + linear.driving_ohm(*port)
            found.volts[chosen] = heard / loop
            found.ohm[chosen] = linear.driving_ohm(*tips) - heard * back / loop
    return found


def ripple_volts(
    base: Solved, columns: RewiredColumns, values: Array, answer: Answer, tones: Numbers, rows: Index
) -> Array:
    """Return the RMS ripple at rows (column, joint) that the diodes' currents make."""
    each = [harmonic_volts(base, columns, values, answer, tones[k], rows, harmonic) for k, harmonic in enumerate(TONES)]
    return np.asarray(np.sqrt(sum(np.abs(volts) ** 2 for volts in each)))


def harmonic_volts(
    base: Solved, columns: RewiredColumns, values: Array, answer: Answer, amps: Numbers, rows: Index, harmonic: int
) -> Numbers:
    """Return complex RMS volts at rows (column, joint) that diode currents (diode, column) make at a harmonic."""
    found = np.zeros(rows.shape, dtype=complex)
    system, d = base.system, len(base.system.diodes)
    if not d:
        return found
    steady = _steady(answer)
    with np.errstate(all="ignore"):
        for block in blocks_at(base, columns, values, harmonic * system.circuit.mains_hz, tubes=False):
            linear = Linearized.of(system, block, steady.only(block.chosen))
            own = rows[block.chosen]
            into = (block.ports.a[-d:].T, block.ports.b[-d:].T)
            moved = linear.entries((own, np.full_like(own, columns.ground)), into)
            found[block.chosen] = np.einsum("cjd,dc->cj", moved, amps[:, block.chosen])
    return found


def ac_rewired(
    base: Solved,
    pairs: Sequence[Pair],
    rewirings: Sequence[Rewiring],
    *,
    stands: Sequence[Sequence[Pair]] | None = None,
    tones: Numbers | None = None,
) -> Array:
    """Return the alternating volts at mains frequency between pairs of joints in many wirings.

    Parameters
    ----------
    base : Solved
        One step of one build.
    pairs : sequence of (str, str)
        Red lead, black lead.
    rewirings : sequence of Rewiring
        What is otherwise in each column.
    stands : sequence of sequences of (str, str)
        For each wiring the joints its leads stand on, where these are not the same for all.
    tones : array
        What the rectifiers' currents hold of the mains in these wirings, from `ManyRewired.tones`; without it they draw
        the fundamental that they draw in the base.

    Returns
    -------
    array
        RMS volts (column, pair). [V]

    Raises
    ------
    CircuitError
        A wiring moves an end, or sets a value, that the circuit does not have.

    Valid
    -----
    Tubes are their slopes in the base.

    Source
    ------
    Kirchhoff's laws at one frequency; Woodbury's identity.
    """
    system = base.system
    columns = compiled(system, tuple(rewirings))
    values = columns.values(base.values)
    if stands is None:
        red, black = (columns.rows([pair[k] for pair in pairs]) for k in (0, 1))
    else:
        red, black = (columns.rows([[pair[k] for pair in own] for own in stands]) for k in (0, 1))
    volts = mains_volts(base, columns, values, tones=tones)
    each = np.arange(columns.count)[:, None]
    return np.asarray(np.abs(volts[red, each] - volts[black, each]))


def mains_volts(
    base: Solved, columns: RewiredColumns, values: Array, answer: Answer | None = None, tones: Numbers | None = None
) -> Numbers:
    """Return the complex RMS volts of every joint at mains frequency (joint, column), as `ac_rewired`.

    With an ``answer`` tubes are their slopes in that, not in the base.
    """
    drive = _mains_drive(base, columns, values, tones)
    result, steady = np.zeros(drive.shape, dtype=complex), None if answer is None else _steady(answer)
    with np.errstate(all="ignore"):
        for block in blocks_at(base, columns, values, base.system.circuit.mains_hz, tubes=steady is None):
            chosen = block.chosen
            made = block.updated if steady is None else Linearized.of(base.system, block, steady.only(chosen))
            result[:, chosen] = made.apply(drive[:, chosen])
    result[-1] = 0.0
    return result


def _steady(answer: Answer) -> Answer:
    """Return the devices with the diodes' currents as they are: what alternates around them does not change these."""
    return Answer(answer.amps, answer.siemens, np.zeros_like(answer.diode_s))


def _mains_drive(base: Solved, columns: RewiredColumns, values: Array, tones: Numbers | None) -> Numbers:
    """Return what the mains and the rectifiers' fundamentals put into the joints (joint, column), RMS."""
    system, each = base.system, np.arange(columns.count)
    drive = mains_drive(columns, columns.ends, values)
    if base.cycle is not None and len(system.diodes):
        drawn = tones_of(base.cycle.port_a)[0][:, None] * _turned(columns) if tones is None else tones[0]
        own = 1j * drawn  # the mains is a sine that begins at zero
        for k in range(len(system.diodes)):
            np.add.at(drive, (columns.ports.a[k - len(system.diodes)], each), -own[k])
            np.add.at(drive, (columns.ports.b[k - len(system.diodes)], each), own[k])
    drive[-1] = 0.0
    return drive


def _turned(columns: RewiredColumns) -> Array:
    """Return -1 for diodes that stand the other way round (diode, column): they conduct in the other half cycle."""
    system, count = columns.system, len(columns.system.diodes)
    a, b = (np.where(r == system.size, columns.ground, r)[:, None] for r in (system.port_a, system.port_b))
    back = (columns.ports.a[-count:] == b) & (columns.ports.b[-count:] == a)
    return np.where(back, -1.0, 1.0)
