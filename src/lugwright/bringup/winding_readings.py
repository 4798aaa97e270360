"""AC readings of the mains transformer: at its leads and at the heater pins of every socket."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from lugwright.bringup.bench_points import Point, socket_points, tubes_of
from lugwright.bringup.results import Reading
from lugwright.buildfile.build import GROUND, TURNS_SPREAD, Build, Part, Transformer, Tube, Winding
from lugwright.circuit.elements import Resistor
from lugwright.circuit.network import Circuit
from lugwright.circuit.operating import Idle
from lugwright.quantities import with_unit

NO_VOLTS_V = 0.3  # between two points of one joint, hum in the leads counted
NEAR_GROUND_V = 1.0
HIGH_V = 250.0
TOUCH_V = 60.0  # of direct current, below which a hand may go in
HEATER_GUARD = "heaters on the wrong volts burn out, or never warm"
METER_RATING_NOTE = "meter and leads must be rated for 1000 V"
MAINS_NOTE = "this is the mains: insulated tips, one hand"


def winding_readings(build: Build, idle: Idle, *, extra_share: float = 0.0) -> Iterator[Reading]:
    """Yield the AC volts of every winding; a winding tapped to ground is read from each end to ground."""
    share = build.mains_spread + extra_share
    for part in build.parts:
        if isinstance(part.values, Transformer) and part.values.role == "power":
            for winding in part.values.windings:
                yield from _winding(part, winding, idle, share + winding.turns_spread)


def winding_names(build: Build) -> tuple[str, ...]:
    """Return the windings of the mains transformers but their primaries, as measured values name them: ``T1 hv``."""
    return tuple(
        f"{part.name} {winding.name}"
        for part in build.parts
        if isinstance(part.values, Transformer) and part.values.role == "power"
        for winding in part.values.windings
        if winding.name != "primary"
    )


def highest_v(idle: Idle) -> float:
    """Return the most direct volts between any joint and ground, whatever their sign.

    Parameters
    ----------
    idle : Idle
        The solved step.

    Returns
    -------
    float
        Volts. [V]

    Source
    ------
    The solved step.
    """
    return max((abs(joint.volts) for joint in idle.joints.values()), default=0.0)


def highest_ac_v(idle: Idle) -> float:
    """Return the most RMS volts across any winding of the mains transformers.

    Parameters
    ----------
    idle : Idle
        The solved step.

    Returns
    -------
    float
        Volts, 0 without such a transformer. [V]

    Source
    ------
    The solved step.
    """
    return max((winding.rms_v for winding in idle.windings.values()), default=0.0)


def heater_readings(build: Build, circuit: Circuit, idle: Idle, *, extra_share: float = 0.0) -> Iterator[Reading]:
    """Yield the AC volts between the heater pins of every socket, fitted or empty."""
    share = build.mains_spread + extra_share
    for part in tubes_of(build):
        pins = {p.electrode: p for p in socket_points(part)}
        for name, one, other in (
            ("heater", "heater1", "heater2"),
            ("heater1-tap", "heater1", "heater_tap"),
            ("heater2-tap", "heater2", "heater_tap"),
        ):
            element = circuit.by_name.get(f"{part.name}.{name}")
            if isinstance(element, Resistor) and one in pins and other in pins:
                spread = share + _turns_spread(build, pins[one].joint)
                note = _standing(pins[one].joint, idle)
                yield _heater(pins[one], pins[other], heater_v(idle, element), spread, note)


def _turns_spread(build: Build, joint: str) -> float:
    """Return how well the volts of the winding that ends on a joint are known, the usual where none does. [-]"""
    spreads = [
        winding.turns_spread
        for part in build.parts
        if isinstance(part.values, Transformer)
        for winding in part.values.windings
        if joint in {part.terminal(end).joint for end in winding.ends}
    ]
    return max(spreads, default=TURNS_SPREAD)


def phase_readings(build: Build) -> Iterator[Reading]:
    """Yield same-named heater pins of each socket and the one before it: no volts where neither pair is crossed."""
    before: dict[str, Point] = {}
    for part in tubes_of(build):
        for point in socket_points(part):
            last = before.get(point.joint)
            if point.electrode.startswith("heater") and last is not None and last.part != part.name:
                words = f"{last.words} to {point.words}"
                note = "a crossed pair shows here, nowhere else"
                yield Reading(
                    words, point.joint, "V ac", 0.0, 0.0, NO_VOLTS_V, "V", note, red=last.key, black=point.key,
                )  # fmt: skip
        before |= {p.joint: p for p in socket_points(part) if p.electrode.startswith("heater")}


def heater_share(build: Build, circuit: Circuit, idle: Idle, fitted: Sequence[str]) -> float:
    """Return the lowest share of its rated volts at the heater of a fitted tube, 1 with none in.

    Parameters
    ----------
    build, circuit : Build, Circuit
        The build and its circuit.
    idle : Idle
        The solved step.
    fitted : sequence of str
        The tubes that are in.

    Returns
    -------
    float
        Share. [-]

    Source
    ------
    The type's rated heater volts, from the catalogue.
    """
    shares = [1.0]
    for part in tubes_of(build):
        if part.name in fitted and isinstance(part.values, Tube):
            heater = part.values.type.heater
            shares += [
                heater_v(idle, element) / heater.volts
                for name in ("heater", "heater1-tap", "heater2-tap")
                if isinstance(element := circuit.by_name.get(f"{part.name}.{name}"), Resistor)
            ]
    return min(shares)


def heater_v(idle: Idle, element: Resistor) -> float:
    """Return the RMS volts across a heater, also across the pins of an empty socket.

    Parameters
    ----------
    idle : Idle
        The solved step.
    element : Resistor
        The heater, or the open that stands for it.

    Returns
    -------
    float
        Volts. [V]

    Source
    ------
    Ohm: mean heat over RMS current.
    """
    carried = idle.parts[element.name]
    return float((carried.watts / carried.rms_a) if carried.rms_a > 0.0 else 0.0)


def _standing(joint: str, idle: Idle) -> str:
    """Return what both tips stand at against ground, where that hurts: a rectifier's heater rides on its B+."""
    volts = idle.joints[joint].volts
    return f"both tips stand at {with_unit(volts, 'V')} dc: clip on with the plug out" if abs(volts) > TOUCH_V else ""


def _heater(one: Point, other: Point, rms_v: float, share: float, note: str) -> Reading:
    words = f"{one.words} to {other.words.split(' ', 1)[1]}"
    return replace(_ac(words, one.joint, rms_v, share, note), red=one.key, black=other.key, guards=HEATER_GUARD)


def _winding(part: Part, winding: Winding, idle: Idle, share: float) -> Iterator[Reading]:
    joints = [part.terminal(end).joint for end in winding.ends]
    middle = [k for k in range(1, len(joints) - 1) if _at_ground(joints[k], idle)]
    if middle:
        for end, joint in ((winding.ends[0], joints[0]), (winding.ends[-1], joints[-1])):
            rms_v = idle.joints[joint].ripple_rms_v
            yield replace(_ac(f"{part.name} lead {end} to ground", joint, rms_v, share), red=f"{part.name}.{end}")
        solved = idle.windings.get(f"{part.name}.{winding.name}")
        if solved is not None:
            note = "near zero if one half is turned round"
            words = f"{part.name} lead {winding.ends[0]} to {winding.ends[-1]}"
            yield _between(part, winding, _ac(words, joints[0], solved.rms_v, share, _with_meter(note, solved.rms_v)))
        return
    solved = idle.windings.get(f"{part.name}.{winding.name}")
    if solved is not None:
        note = MAINS_NOTE if winding.name == "primary" else _standing(joints[0], idle)
        words = f"{part.name} lead {winding.ends[0]} to {winding.ends[-1]}"
        yield _between(part, winding, _ac(words, joints[0], solved.rms_v, share, note))


def _between(part: Part, winding: Winding, reading: Reading) -> Reading:
    return replace(reading, red=f"{part.name}.{winding.ends[0]}", black=f"{part.name}.{winding.ends[-1]}")


def _with_meter(note: str, rms_v: float) -> str:
    return f"{note}; {METER_RATING_NOTE}" if rms_v > HIGH_V else note


def _at_ground(joint: str, idle: Idle) -> bool:
    if joint == GROUND:
        return True
    level = idle.joints[joint]
    return abs(level.volts) + level.ripple_peak_to_peak_v < NEAR_GROUND_V


def _ac(words: str, joint: str, rms_v: float, share: float, note: str = "") -> Reading:
    note = note or (METER_RATING_NOTE if rms_v > HIGH_V else "")
    return Reading(words, joint, "V ac", rms_v, rms_v * (1.0 - share), rms_v * (1.0 + share), "V", note)
