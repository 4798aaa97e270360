"""The ohms chart: what a meter reads with the plug out, so that a wrong joint shows before any power does."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from lugwright.bringup.bench_points import all_points, tubes_of
from lugwright.bringup.fitting import socket_elements
from lugwright.bringup.good_builds import Array, copper_draws, part_draws, window
from lugwright.bringup.reading_points import Held
from lugwright.bringup.results import OhmsChart, Reading
from lugwright.buildfile.build import CHASSIS, Build, Inlet, Part, Pot, Thermistor, Transformer
from lugwright.buildfile.build import Capacitor as FittedCapacitor
from lugwright.circuit.edits import OPEN_OHM, Edit
from lugwright.circuit.elements import Capacitor, Element, Resistor, Windings
from lugwright.circuit.network import Circuit
from lugwright.errors import NoSuchPoint
from lugwright.solve.ohms import METER_V, RANGES_OHM, ohm_readings

AS_IN_FILE = "power switch as in the build file"
METER_SHARE, METER_OHM = 0.01, 0.2
OTHER_METERS = 3.0  # assumed: how far readings through a silicon junction differ between meters
OVER_RANGE_FROM_OHM = 20e6  # where the simplest hand meters end, from memory
SETTLED = 3.0  # time constants until the display moves by a twentieth no more
VISIBLE_FARAD = 0.4e-6  # below this the climb is over before the display follows
METER_AT_WORK = (
    f"digital meter with {METER_V:g} V open circuit and {RANGES_OHM[-1] / 1e6:g} Mohm as its highest range, read to "
    f"{METER_SHARE:.0%} and {METER_OHM:g} ohm with its leads zeroed. Plug out, every filter capacitor measured below "
    "60 V and then discharged, tubes out, speaker connected, switches and controls as in the build file"
)
METER = f"{METER_AT_WORK}, black lead on circuit ground"


@dataclass(frozen=True)
class _Pair:
    words: str
    red: str
    black: str
    part: str
    electrode: str
    keys: tuple[str, str] = ("", "")  # of the plan's terminals, where the points are such
    at: str = ""  # how a switch stands meanwhile


def ohms_chart(build: Build, circuit: Circuit) -> OhmsChart:
    """Return what an ohmmeter reads at every pin, lug and lead, with the window that good parts fall in."""
    points = {p.key: p for p in reversed(all_points(build))}  # one pin may be two electrodes: heater and cathode
    pairs = [
        _Pair(p.words, p.joint, circuit.ground, p.part, p.electrode, (p.key, "")) for p in reversed(points.values())
    ]
    pairs += _whole_parts(build, circuit)
    return OhmsChart(METER, _charted(build, circuit, pairs))


def ohms_between(build: Build, circuit: Circuit, held: Sequence[Held]) -> OhmsChart:
    """Return what an ohmmeter reads between any two points, with the window that good parts fall in.

    Raises
    ------
    NoSuchPoint
        Nothing of the circuit is joined to one of the points.
    """
    known = {*circuit.joints, circuit.ground}
    for each in held:
        for spot in (each.red, each.black):
            if spot.joint not in known:
                raise NoSuchPoint(
                    what=f"nothing is joined to {spot.words}",
                    found="a pin or lug of its own, on which a meter reads over range",
                    wanted="two points of the circuit",
                    do="choose a point that a wire or a part goes to",
                )
    pairs = [_Pair(e.words, e.red.joint, e.black.joint, "", "", (e.red.key, e.black.key), e.condition) for e in held]
    return OhmsChart(METER_AT_WORK, _charted(build, circuit, pairs))


def _charted(build: Build, circuit: Circuit, pairs: Sequence[_Pair]) -> tuple[Reading, ...]:
    unplugged = bench_circuit(build, circuit)
    known = set(unplugged.joints) | {circuit.ground}
    pairs = [pair for pair in pairs if {pair.red, pair.black} <= known]
    unique = list(dict.fromkeys((pair.red, pair.black) for pair in pairs))
    draws = [part + copper for part, copper in zip(part_draws(build), copper_draws(build, circuit), strict=True)]
    found = ohm_readings(unplugged, unique, [Edit(""), *draws])
    column = {pair: k for k, pair in enumerate(unique)}
    climbs = _climbing(unplugged)
    readings = []
    for pair in pairs:
        k = column[pair.red, pair.black]
        junction = bool(found.through_junction[k])
        climb = _climb_words(unplugged, pair, climbs, float(found.ohm[0, k]))
        notes = _notes(build, pair, circuit.ground, climb, junction=junction)
        readings.append(_reading(pair, found.ohm[:, k], notes, junction=junction))
    return tuple(readings)


def bench_circuit(build: Build, circuit: Circuit) -> Circuit:
    """Return the circuit on the bench: no house wiring behind the plug, no heater in any socket, thermistors cold."""
    heaters = {name for part in tubes_of(build) for name in socket_elements(circuit, part.name)}
    cold = {p.name: p.values.cold_ohm for p in build.parts if isinstance(p.values, Thermistor)}

    def on_the_bench(element: Element) -> Element:
        if not isinstance(element, Resistor):
            return element
        if element.name in heaters or element.role == "house":
            return replace(element, ohm=OPEN_OHM)
        return replace(element, ohm=cold.get(element.name, element.ohm))

    return Circuit(tuple(on_the_bench(e) for e in circuit.elements), circuit.ground, circuit.mains_hz)


def _whole_parts(build: Build, circuit: Circuit) -> Iterator[_Pair]:
    for part in build.parts:
        if isinstance(part.values, Transformer):
            yield from _windings(part, part.values)
        elif isinstance(part.values, Inlet):
            line, neutral, earth = (part.terminal(name).joint for name in ("line", "neutral", "earth"))
            words = f"{part.name} line to neutral, {AS_IN_FILE}"
            yield _Pair(words, line, neutral, "", "mains", (f"{part.name}.line", f"{part.name}.neutral"), AS_IN_FILE)
            words = f"{part.name} earth to chassis metal"
            yield _Pair(words, earth, CHASSIS, "", "mains", (f"{part.name}.earth", CHASSIS))
    ground = circuit.ground
    nodes = sorted(joint for joint in build.joints if joint.startswith("B+"))
    yield from (_Pair(f"{joint} to ground", joint, ground, "", "supply") for joint in nodes)
    listed = {ground, *nodes, *(point.joint for point in all_points(build))}
    for part in build.parts:
        if isinstance(part.values, FittedCapacitor) and part.values.polar:
            for terminal in part.terminals:
                if terminal.joint not in listed:
                    listed.add(terminal.joint)
                    words = f"{part.name} lead {terminal.name} ({terminal.joint})"
                    yield _Pair(words, terminal.joint, ground, "", "", (f"{part.name}.{terminal.name}", ""))


def _windings(part: Part, values: Transformer) -> Iterator[_Pair]:
    """Yield a mains primary from end to end, and each section of an output transformer's primary."""
    first = values.windings[0] if values.role == "output" else None
    if values.role == "power":
        first = next((w for w in values.windings if w.name == "primary"), None)
    if first is None:
        return
    ends = [first.ends[0], first.ends[-1]] if values.role == "power" else list(first.ends)
    for one, other in pairwise(ends):
        red, black = part.terminal(one).joint, part.terminal(other).joint
        keys = (f"{part.name}.{one}", f"{part.name}.{other}")
        yield _Pair(f"{part.name} {one} to {other}", red, black, part.name, "winding", keys)


def _reading(pair: _Pair, ohm: Array, notes: Sequence[str], *, junction: bool) -> Reading:
    expected = float(ohm[0])
    low, high = window(ohm)
    low, high = min(low, expected), max(high, expected)
    if junction:
        low, high = low / OTHER_METERS, high * OTHER_METERS
    low = max(low * (1.0 - METER_SHARE) - METER_OHM, 0.0) if math.isfinite(low) else OVER_RANGE_FROM_OHM
    high = high * (1.0 + METER_SHARE) + METER_OHM
    quantity = "ohms" if " to " in pair.words else f"ohms to {pair.black}"
    red, black = (key or joint for key, joint in zip(pair.keys, (pair.red, pair.black), strict=True))
    return Reading(pair.words, pair.red, quantity, expected, low, high, "ohm", "; ".join(notes), red, black, pair.at)


def _climb_words(circuit: Circuit, pair: _Pair, climbs: Mapping[str, tuple[str, ...]], ohm: float) -> str:
    """Return which capacitors the meter charges first, and for how long that shows; "" for none."""
    if pair.black != circuit.ground or pair.red == circuit.ground or pair.red not in climbs:
        return ""
    names = climbs[pair.red]
    farad = sum(e.farad for name in names if isinstance(e := circuit.by_name[name], Capacitor))
    through = next((r for r in RANGES_OHM if ohm <= r), RANGES_OHM[-1])
    seconds = SETTLED * farad * (through if math.isinf(ohm) else through * ohm / (through + ohm))
    how_long = "" if seconds < 1.0 else f" for about {_round_s(seconds)}"
    return f"climbs{how_long} while {' and '.join(names)} {'charges' if len(names) == 1 else 'charge'}"


def _round_s(seconds: float) -> str:
    return f"{seconds:.0f} s" if seconds < 10.0 else f"{round(seconds, -1):.0f} s" if seconds < 120.0 else "minutes"


def _notes(build: Build, pair: _Pair, ground: str, climb: str, *, junction: bool) -> list[str]:
    notes = [climb] if climb else []
    if junction:
        notes.append("through a diode: depends on the meter")
    part = build.part_by_name.get(pair.part)
    if part is not None and isinstance(part.values, Pot) and pair.electrode == "2" and pair.red != ground:
        notes.append(f"at {part.values.setting:.0%} of its turn; must move smoothly as you turn")
    return notes


def _climbing(circuit: Circuit) -> Mapping[str, tuple[str, ...]]:
    """Return the capacitors large enough to see charging at each joint, also through a choke or transformer."""
    near: dict[str, set[str]] = {joint: {joint} for joint in circuit.joints}
    for element in circuit.elements:
        if isinstance(element, Windings):
            for coil in element.coils:
                if circuit.ground not in (coil.a, coil.b):
                    merged = near[coil.a] | near[coil.b]
                    for joint in merged:
                        near[joint] = merged
    hanging: dict[str, list[str]] = {}
    for element in circuit.elements:
        if isinstance(element, Capacitor) and element.farad >= VISIBLE_FARAD:
            for joint in (element.a, element.b):
                if joint != circuit.ground:
                    hanging.setdefault(joint, []).append(element.name)
    found = {
        joint: tuple(dict.fromkeys(name for other in sorted(group) for name in hanging.get(other, ())))
        for joint, group in near.items()
    }
    return {joint: names for joint, names in found.items() if names}
