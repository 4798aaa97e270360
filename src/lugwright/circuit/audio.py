"""The circuit as signals see it: the build's circuit with the strays that DC does not know.

Joints and parts keep their names, so that volts found for the build's own circuit fit this one.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator

from lugwright.buildfile import build as fitted
from lugwright.buildfile.build import Build, Part
from lugwright.catalogue.records import Capacitances, Figure
from lugwright.circuit.edits import Edit
from lugwright.circuit.elements import Capacitor, Coil, Element, Resistor, Windings
from lugwright.circuit.from_build import SPEAKER_DC_SHARE, TANK_DC_SHARE, circuit_from_build
from lugwright.circuit.loudspeaker import loudspeaker
from lugwright.circuit.network import Circuit
from lugwright.circuit.part_edit import value_changes

# From memory; a socket's neighboring contacts show half a picofarad to one, wires a few more to the metal.
SOCKET_F = 0.7e-12  # between any two electrodes of a section
WIRING_F = 5e-12  # plate and grid to ground
PRIMARY_F = 200e-12  # across each section of an output transformer's primary
_TANK_HZ = 1000.0  # where a tank's impedance is stated


def audio_circuit(build: Build, *, resistive_speaker: bool = False) -> Circuit:
    """Return the circuit of a build with the stray capacitances and the loads that matter to a signal.

    Parameters
    ----------
    build : Build
        The amplifier.
    resistive_speaker : bool
        Every speaker a resistor of its nominal impedance, as on a dummy load, in place of the loudspeaker model.

    Returns
    -------
    Circuit
        Added: capacitances between the electrodes of each tube section, of its socket, of its wiring and across
        the primaries of output transformers. Replaced: speakers, and the coils of reverb tanks.
    """
    plain = circuit_from_build(build)
    gone: set[str] = set()
    extra: list[Element] = []
    for part in build.parts:
        if isinstance(part.values, fitted.Speaker):
            gone.add(part.name)
            extra += _speaker(part, part.values, resistive=resistive_speaker)
        elif isinstance(part.values, fitted.Tank):
            gone |= {f"{part.name}.in", f"{part.name}.out"}
            extra += _tank(part, part.values)
        elif isinstance(part.values, fitted.Tube):
            extra += _electrodes(part, part.values, plain.ground)
        elif isinstance(part.values, fitted.Transformer) and part.values.role == "output":
            extra += _primary(part, part.values)
    kept = (e for e in plain.elements if e.name not in gone)
    return Circuit((*kept, *extra), plain.ground, plain.mains_hz)


def _speaker(part: Part, values: fitted.Speaker, *, resistive: bool) -> Iterator[Element]:
    plus, minus = part.terminals[0].joint, part.terminals[1].joint
    if resistive:
        yield Resistor(part.name, plus, minus, values.ohm, "speaker")
    else:
        yield from loudspeaker(part.name, plus, minus, nominal_ohm=values.ohm, dc_share=SPEAKER_DC_SHARE)


def loudspeaker_edit(before: Part, after: Part) -> Edit:
    """Return the edit of `audio_circuit` that makes one loudspeaker of another, empty where the part is none."""
    if not (isinstance(before.values, fitted.Speaker) and isinstance(after.values, fitted.Speaker)):
        return Edit(after.name)
    was = _speaker(before, before.values, resistive=False)
    now = _speaker(after, after.values, resistive=False)
    return Edit(after.name, tuple(c for old, new in zip(was, now, strict=True) for c in value_changes(old, new)))


def _tank(part: Part, values: fitted.Tank) -> Iterator[Element]:
    for side, impedance in (("in", values.input_ohm), ("out", values.output_ohm)):
        a, b = part.terminal(side).joint, part.terminal(f"{side}_ground").joint
        copper = TANK_DC_SHARE * impedance
        henry = math.sqrt(impedance**2 - copper**2) / (2.0 * math.pi * _TANK_HZ)
        yield Windings(f"{part.name}.{side}", (Coil(f"{part.name}.{side}", a, b, 1.0, copper),), henry)


def _electrodes(part: Part, values: fitted.Tube, ground: str) -> Iterator[Element]:
    for section in values.type.sections:
        if not {"plate", "grid", "cathode"} <= set(section.pins):
            continue
        name = f"{part.name}{section.letter}"
        plate, grid, cathode = (part.terminal(e, section.letter).joint for e in ("plate", "grid", "cathode"))
        glass = values.type.capacitances.get(section.letter, Capacitances())
        for label, a, b, figure in (
            ("grid-plate", grid, plate, glass.grid_plate_f),
            ("grid-cathode", grid, cathode, glass.grid_cathode_f),
            ("plate-cathode", plate, cathode, glass.plate_cathode_f),
        ):
            yield Capacitor(f"{name}.{label}", a, b, _farad(figure) + SOCKET_F)
        for label, joint in (("grid", grid), ("plate", plate)):
            yield Capacitor(f"{name}.{label}-wiring", joint, ground, WIRING_F)


def _farad(figure: Figure | None) -> float:
    return 0.0 if figure is None else figure.value


def _primary(part: Part, values: fitted.Transformer) -> Iterator[Element]:
    ends = values.windings[0].ends
    for first, second in itertools.pairwise(ends):
        a, b = part.terminal(first).joint, part.terminal(second).joint
        yield Capacitor(f"{part.name}.{first}-{second.rsplit('.', 1)[-1]}.turns", a, b, PRIMARY_F)
