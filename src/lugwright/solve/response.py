"""Gain, phase and impedances between two points, and the gain of every stage in its place."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from lugwright.circuit.edits import Edit
from lugwright.circuit.network import Circuit
from lugwright.solve.frequencies import at_reference, band_hz, unwound_deg
from lugwright.solve.response_results import ResponseCurve, StageGain
from lugwright.solve.small_signal import Complex, Network
from lugwright.solve.system import Array, System

Port = tuple[int, int]
LEAST_GAIN = 0.05  # what a stage gives less of is no output of it
FOLLOWS = 0.8  # a cathode that follows its grid this closely is an output
_REACHED = 1e-3  # of the input: less is crosstalk
_SMALLEST = 1e-30
AS_IT_IS = Edit("as it is")


def port_of(system: System, joint: str, against: str | None = None) -> Port:
    """Return the rows of a pair of joints; the second is ground when not given."""
    return system.row[joint], system.size if against is None else system.row[against]


def across(volts: Complex, port: Port) -> Complex:
    """Return the volts of a port out of the volts of all joints."""
    return np.asarray(volts[port[0]] - volts[port[1]])


def response_curves(network: Network, source: Port, output: Port, load: Complex | None = None) -> list[ResponseCurve]:
    """Return gain, phase, input and output impedance from one port to another, one curve for each setting.

    Parameters
    ----------
    network : Network
        The circuit at frequencies, under settings.
    source, output : pair of int
        Rows of the joints between which the signal goes in and comes out.
    load : array, optional
        Admittance (frequency) at the output that is no part of the amplifier, such as the loudspeaker's. [S]

    Returns
    -------
    list of ResponseCurve
        In the order of the settings.

    Source
    ------
    With Z the impedances of the two ports: gain = Zos / Zss, input impedance = Zss, output impedance with the
    source a short = Zoo - Zos Zso / Zss.
    """
    (z_in, z_back), (z_over, z_own) = network.between([source, output])
    gain = z_over / z_in
    z_out = z_own - gain * z_back
    if load is not None:
        z_out = 1.0 / (1.0 / z_out - load)
    names = [edit.name for edit in network.signal.settings]
    return [_curve(name, network.hertz, *rows) for name, *rows in zip(names, gain, z_in, z_out, strict=True)]


def _curve(name: str, hertz: Array, gain: Complex, z_in: Complex, z_out: Complex) -> ResponseCurve:
    gain_db = decibels(gain)
    low, high = band_hz(hertz, gain_db)
    return ResponseCurve(
        setting=name,
        hertz=tuple(map(float, hertz)),
        gain_db=tuple(map(float, gain_db)),
        phase_deg=tuple(map(float, unwound_deg(hertz, gain))),
        input_ohm=tuple(map(float, np.abs(z_in))),
        output_ohm=tuple(map(float, np.abs(z_out))),
        gain_1khz_db=at_reference(hertz, gain_db),
        input_1khz_ohm=at_reference(hertz, np.abs(z_in)),
        output_1khz_ohm=at_reference(hertz, np.abs(z_out)),
        low_hz=low,
        high_hz=high,
    )


def decibels(ratio: Complex) -> Array:
    """Return a ratio of volts in decibels, nothing being -600 dB."""
    return np.asarray(20.0 * np.log10(np.maximum(np.abs(ratio), _SMALLEST)))


def stage_gains(network: Network, source: Port | None = None) -> list[StageGain]:
    """Return what each tube section makes of the signal it gets, in the order of the circuit.

    Parameters
    ----------
    network : Network
        The circuit at frequencies; its first setting counts.
    source : pair of int, optional
        Where the guitar goes in.

    Returns
    -------
    list of StageGain
        A section that gives at plate and cathode has two lines; sections wired side by side share one.

    Source
    ------
    Volts over volts with the input driven, every other stage at work; a section the input does not reach is
    driven at its own grid.
    """
    system = network.signal.system
    sections = _sections(system)
    rows = dict.fromkeys(row for trio in sections.values() for row in trio if row != system.size)
    place = {row: k for k, row in enumerate(rows)}
    ports = [(row, system.size) for row in rows]
    volts = network.driven([*ports, *([source] if source is not None else [])])[:, :, 0]
    reached = np.zeros_like(volts[:, 0]) if source is None else volts[:, -1] / across(volts[:, -1], source)
    found = []
    for name, (grid, plate, cathode) in sections.items():
        level = _size(network.hertz, reached[[grid, cathode]])
        highest = float(np.max(level))
        at_work = highest >= _REACHED
        drive = cathode if at_work and level[1] > level[0] else grid
        seen = reached if at_work else volts[:, place[grid]]
        for taken_at, row in (("plate", plate), ("cathode", cathode)):
            gain = seen[row] / seen[drive]
            least = LEAST_GAIN if taken_at == "plate" else FOLLOWS
            if row in (drive, system.size) or _size(network.hertz, gain[None])[0] < least:
                continue
            own = volts[:, place[row]]
            z_out = own[row] if source is None else own[row] - reached[row] * across(own, source)
            at = "cathode" if drive == cathode else "grid"
            level_db = float(20.0 * np.log10(highest)) if at_work else None
            found.append(_stage((name, at, taken_at), network.hertz, gain, z_out, level_db))
    return found


def _size(hertz: Array, volts: Complex) -> Array:
    """Return magnitudes at 1 kHz (row)."""
    return np.array([at_reference(hertz, np.abs(row)) for row in volts])


def _stage(
    names: tuple[str, str, str], hertz: Array, gain: Complex, z_out: Complex, level_db: float | None
) -> StageGain:
    low, high = band_hz(hertz, decibels(gain))
    sign = 1.0 if at_reference(hertz, np.real(gain)) >= 0.0 else -1.0
    return StageGain(
        tube=names[0],
        driven_at=names[1],
        taken_at=names[2],
        gain=sign * at_reference(hertz, np.abs(gain)),
        low_hz=low,
        high_hz=high,
        output_ohm=at_reference(hertz, np.abs(z_out)),
        level_db=level_db,
    )


def _sections(system: System) -> Mapping[str, tuple[int, int, int]]:
    """Return grid, plate and cathode row of each section, those wired side by side under one name."""
    rows: dict[tuple[int, int, int], list[str]] = {}
    for names, electrodes in (
        ([tube.name for tube in system.triodes], system.triode_rows),
        ([tube.name for tube in system.pentodes], system.pentode_rows),
    ):
        plates, cathodes, grids = electrodes[0], electrodes[-1], electrodes[-2]
        for name, grid, plate, cathode in zip(names, grids, plates, cathodes, strict=True):
            rows.setdefault((int(grid), int(plate), int(cathode)), []).append(name)
    order = {element.name: k for k, element in enumerate(system.circuit.elements)}
    named = sorted(rows.items(), key=lambda item: order[item[1][0]])
    return {" + ".join(names): key for key, names in named if key[0] != system.size}


def load_admittance_s(
    circuit: Circuit, part: str, plus: str, minus: str, hertz: Array, edit: Edit = AS_IT_IS
) -> Complex:
    """Return the admittance of one part of the circuit by itself, such as the loudspeaker.

    Parameters
    ----------
    circuit : Circuit
        The circuit that has the part.
    part : str
        Its designator; the elements it was made into are found by it.
    plus, minus : str
        The joints it stands between.
    hertz : array
        Frequencies. [Hz]
    edit : Edit
        Changes to the circuit; what is not of the part is left out. [-]

    Returns
    -------
    array
        Complex admittance. [S]

    Source
    ------
    Ohm and Kirchhoff.
    """
    own = tuple(e for e in circuit.elements if e.name == part or e.name.startswith(f"{part}."))
    alone = System(Circuit(own, minus, circuit.mains_hz))
    dense = np.zeros((len(hertz), alone.size, alone.size), dtype=complex)
    slots = alone.matrix(alone.admittances(alone.values([alone.known(edit)]), 2j * np.pi * hertz))
    dense[:, alone.dense_index[0], alone.dense_index[1]] = slots[:-1].T
    return np.asarray(1.0 / np.linalg.inv(dense)[:, alone.row[plus], alone.row[plus]])
