"""The circuit of a build: each part becomes its elements, joints keep their names."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from typing import Any

from lugwright.buildfile import build as fitted
from lugwright.buildfile.build import CHASSIS, EARTH, GROUND, Build, Part
from lugwright.catalogue.records import PentodeLaw, RectifierLaw, Specimen, TriodeLaw, TubeLaw, TubeType
from lugwright.circuit.elements import (
    Capacitor,
    Coil,
    Element,
    Junction,
    PentodeTube,
    Resistor,
    TriodeTube,
    VacuumDiode,
    VoltageSource,
    Windings,
)
from lugwright.circuit.network import Circuit
from lugwright.circuit.pot_taper import pot_halves_ohm
from lugwright.circuit.tubes.specimen import specimen_law
from lugwright.errors import CircuitError

# Assumed where a build file does not say; from memory of ordinary parts.
FILM_LEAK_S = 1e-12
ELECTROLYTIC_LEAK_S = 1e-8
CONTACT_OHM = 0.02
BOND_OHM = 0.01
OPEN_CONTACT_OHM = 1e12
WALL_OHM = 0.4  # house wiring, line and neutral together
HOUSE_BOND_OHM = 0.1  # neutral to earth at the panel board
SPEAKER_DC_SHARE = 0.8  # of the nominal impedance
TANK_DC_SHARE = 0.1
ZENER_BULK_OHM = 5.0


def circuit_from_build(build: Build) -> Circuit:
    """Return the circuit of a build.

    Raises
    ------
    CircuitError
        The build has no ground, or a tube whose equations are not known.
    """
    if GROUND not in build.joints:
        raise CircuitError(
            what="the circuit has no ground",
            found=f"no part ends on the joint {GROUND!r}",
            wanted=f"a joint named {GROUND!r}, against which all voltages are measured",
            do=f"name the 0 V joint {GROUND!r} in the build file",
        )
    elements = [element for part in build.parts for element in part_elements(build, part)]
    return Circuit(tuple(elements), GROUND, build.mains_hz)


def part_elements(build: Build, part: Part) -> Iterator[Element]:
    """Yield what one part becomes."""
    return _MAKERS[type(part.values)](build, part, part.values)


def _two(part: Part) -> tuple[str, str]:
    first, second = part.terminals[:2]
    return first.joint, second.joint


def _joint(part: Part, name: str, section: str = "") -> str:
    return part.terminal(name, section).joint


def _resistor(build: Build, part: Part, values: fitted.Resistor) -> Iterator[Element]:
    yield Resistor(part.name, *_two(part), values.ohm)


def _capacitor(build: Build, part: Part, values: fitted.Capacitor) -> Iterator[Element]:
    yield Capacitor(part.name, *_two(part), values.farad, ELECTROLYTIC_LEAK_S if values.polar else FILM_LEAK_S)


def _can(build: Build, part: Part, values: fitted.Can) -> Iterator[Element]:
    minus = _joint(part, "minus")
    positive = [t for t in part.terminals if t.name != "minus"]
    for terminal, farad in zip(positive, values.farads, strict=True):
        yield Capacitor(f"{part.name}.{terminal.name}", terminal.joint, minus, farad, ELECTROLYTIC_LEAK_S)


def _pot(build: Build, part: Part, values: fitted.Pot) -> Iterator[Element]:
    low, high = pot_halves_ohm(ohm=values.ohm, taper=values.taper, rotation=values.setting)
    yield Resistor(f"{part.name}.1-2", _joint(part, "1"), _joint(part, "2"), low)
    yield Resistor(f"{part.name}.2-3", _joint(part, "2"), _joint(part, "3"), high)
    if values.switch_closed is not None:
        ohm = CONTACT_OHM if values.switch_closed else OPEN_CONTACT_OHM
        yield Resistor(f"{part.name}.s1-s2", _joint(part, "s1"), _joint(part, "s2"), ohm, "contact")


def _choke(build: Build, part: Part, values: fitted.Choke) -> Iterator[Element]:
    coil = Coil(part.name, *_two(part), 1.0, values.ohm, allowed_a=values.amps)
    yield Windings(part.name, (coil,), values.henry, values.light_h, values.amps)


def _transformer(build: Build, part: Part, values: fitted.Transformer) -> Iterator[Element]:
    first = values.windings[0]
    whole = sum(first.turns)
    coils = []
    for winding in values.windings:
        joints = [_joint(part, end) for end in winding.ends]
        labels = [end.rsplit(".", 1)[-1] for end in winding.ends]
        for k, (turns, ohm) in enumerate(zip(winding.turns, winding.ohms, strict=True)):
            name = f"{part.name}.{winding.name}.{labels[k]}-{labels[k + 1]}"
            leakage = values.leakage_h * turns / whole if winding is first else 0.0
            coils.append(Coil(name, joints[k], joints[k + 1], turns, ohm, leakage, winding.amps))
    yield Windings(part.name, tuple(coils), values.magnetizing_h * (first.turns[0] / whole) ** 2)


def _diode(build: Build, part: Part, values: fitted.Diode) -> Iterator[Element]:
    if values.zener_v is None:
        yield Junction(part.name, *_two(part))
    else:
        yield Junction(part.name, *_two(part), bulk_ohm=ZENER_BULK_OHM, zener_v=values.zener_v)


def _bridge(build: Build, part: Part, values: fitted.Bridge) -> Iterator[Element]:
    for anode, cathode in (("ac1", "plus"), ("ac2", "plus"), ("minus", "ac1"), ("minus", "ac2")):
        yield Junction(f"{part.name}.{anode}-{cathode}", _joint(part, anode), _joint(part, cathode))


def _tube(build: Build, part: Part, values: fitted.Tube) -> Iterator[Element]:
    for section in values.type.sections:
        joints = {name: _joint(part, name, section.letter) for name in section.pins}
        if all(len(build.joints[joint]) == 1 for joint in joints.values()):
            yield from (_open(f"{part.name}{section.letter}.{name}", joint) for name, joint in joints.items())
            continue
        specimen = values.measured.get(section.letter, Specimen())
        law = None if values.type.law is None else specimen_law(values.type.law, specimen)
        yield from _section(f"{part.name}{section.letter}", joints, law, values.type)
    yield from _heater(part, values)


def _open(name: str, joint: str) -> Resistor:
    """An electrode of a spare section: nothing is joined to it, and it stands at 0 V."""
    return Resistor(f"{name}-{GROUND}", joint, GROUND, OPEN_CONTACT_OHM, "contact")


def _section(name: str, joints: Mapping[str, str], law: TubeLaw | None, tube: TubeType) -> Iterator[Element]:
    if isinstance(law, TriodeLaw):
        yield TriodeTube(name, joints["plate"], joints["grid"], joints["cathode"], law)
    elif isinstance(law, PentodeLaw):
        yield PentodeTube(name, joints["plate"], joints["screen"], joints["grid"], joints["cathode"], law)
    elif isinstance(law, RectifierLaw):
        for plate in sorted(n for n in joints if n.startswith("plate")):
            yield VacuumDiode(f"{name}.{plate}", joints[plate], joints["cathode"], law.perveance)
    else:
        raise CircuitError(
            what=f"{name}: no equations for this tube",
            found=f"type {tube.name}, known for pins, heater and limits only",
            wanted="a type whose plate current is known",
            do="use another type, or add published rows to its data file and fit it",
        )


def _heater(part: Part, values: fitted.Tube) -> Iterator[Element]:
    heater = values.type.heater
    one, two = _joint(part, "heater1"), _joint(part, "heater2")
    if "heater_tap" in heater.pins:
        half = heater.volts / (heater.amps / 2.0)
        tap = _joint(part, "heater_tap")
        yield Resistor(f"{part.name}.heater1-tap", one, tap, half, "heater")
        yield Resistor(f"{part.name}.heater2-tap", two, tap, half, "heater")
    else:
        yield Resistor(f"{part.name}.heater", one, two, heater.volts / heater.amps, "heater")
    if heater.is_cathode and (cathode := _joint(part, "cathode")) not in (one, two):
        yield Resistor(f"{part.name}.cathode-heater2", cathode, two, BOND_OHM, "contact")


def _jack(build: Build, part: Part, values: fitted.Jack) -> Iterator[Element]:
    if not values.isolated and _joint(part, "sleeve") != CHASSIS:
        yield Resistor(f"{part.name}.sleeve-chassis", _joint(part, "sleeve"), CHASSIS, CONTACT_OHM, "contact")
    if values.switched:
        ohm = OPEN_CONTACT_OHM if values.plug_in else CONTACT_OHM
        yield Resistor(f"{part.name}.tip-tip_switch", _joint(part, "tip"), _joint(part, "tip_switch"), ohm, "contact")


def _switch(build: Build, part: Part, values: fitted.Switch) -> Iterator[Element]:
    for pole in range(1, values.poles + 1):
        common = _joint(part, f"{pole}.common")
        for k, position in enumerate(values.positions, start=1):
            throw = _throw(part, f"{pole}.{k}")
            if throw is not None:
                ohm = CONTACT_OHM if position == values.position else OPEN_CONTACT_OHM
                yield Resistor(f"{part.name}.{pole}.common-{k}", common, throw, ohm, "contact")


def _throw(part: Part, name: str) -> str | None:
    return next((t.joint for t in part.terminals if t.name == name), None)


def _fuse(build: Build, part: Part, values: fitted.Fuse) -> Iterator[Element]:
    yield Resistor(part.name, *_two(part), values.ohm, "fuse")


def _lamp(build: Build, part: Part, values: fitted.Lamp) -> Iterator[Element]:
    yield Resistor(part.name, *_two(part), values.volts / values.amps, "lamp")


def _thermistor(build: Build, part: Part, values: fitted.Thermistor) -> Iterator[Element]:
    yield Resistor(part.name, *_two(part), values.hot_ohm, "thermistor")


def _inlet(build: Build, part: Part, values: fitted.Inlet) -> Iterator[Element]:
    line, neutral, earth = (_joint(part, name) for name in ("line", "neutral", "earth"))
    yield VoltageSource("mains", "mains.outlet", neutral, 0.0, build.mains_v, WALL_OHM)
    yield Resistor("limiter", "mains.outlet", line, CONTACT_OHM, "limiter")
    yield Resistor("mains.neutral-earth", neutral, EARTH, HOUSE_BOND_OHM, "house")
    if earth != EARTH:
        yield Resistor(f"{part.name}.earth", earth, EARTH, BOND_OHM, "contact")


def _speaker(build: Build, part: Part, values: fitted.Speaker) -> Iterator[Element]:
    yield Resistor(part.name, *_two(part), SPEAKER_DC_SHARE * values.ohm, "speaker")


def _tank(build: Build, part: Part, values: fitted.Tank) -> Iterator[Element]:
    yield Resistor(
        f"{part.name}.in", _joint(part, "in"), _joint(part, "in_ground"), TANK_DC_SHARE * values.input_ohm, "tank"
    )
    yield Resistor(
        f"{part.name}.out",
        _joint(part, "out"),
        _joint(part, "out_ground"),
        TANK_DC_SHARE * values.output_ohm,
        "tank",
    )


def _bond(build: Build, part: Part, values: fitted.Bond) -> Iterator[Element]:
    yield Resistor(part.name, *_two(part), BOND_OHM, "bond")


_MAKERS: Mapping[type[Any], Callable[[Build, Part, Any], Iterator[Element]]] = {
    fitted.Resistor: _resistor,
    fitted.Capacitor: _capacitor,
    fitted.Can: _can,
    fitted.Pot: _pot,
    fitted.Choke: _choke,
    fitted.Transformer: _transformer,
    fitted.Diode: _diode,
    fitted.Bridge: _bridge,
    fitted.Tube: _tube,
    fitted.Jack: _jack,
    fitted.Switch: _switch,
    fitted.Fuse: _fuse,
    fitted.Lamp: _lamp,
    fitted.Thermistor: _thermistor,
    fitted.Inlet: _inlet,
    fitted.Speaker: _speaker,
    fitted.Tank: _tank,
    fitted.Bond: _bond,
}
