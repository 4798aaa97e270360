"""AC readings of the mains transformer: at its leads and at the heater pins of every socket."""

from __future__ import annotations

from collections.abc import Iterator

from lugwright.bringup.bench_points import Point, socket_points, tubes_of
from lugwright.bringup.results import Reading
from lugwright.buildfile.build import GROUND, Build, Part, Transformer, Winding
from lugwright.circuit.elements import Resistor
from lugwright.circuit.network import Circuit
from lugwright.circuit.operating import Idle

AC_SHARE = 0.05  # a transformer's own tolerance and the wall's on the day
NEAR_GROUND_V = 1.0
HIGH_V = 250.0
METER_RATING_NOTE = "meter and leads must be rated for 1000 V"
MAINS_NOTE = "this is the mains: insulated tips, one hand"


def winding_readings(build: Build, idle: Idle, *, extra_share: float = 0.0) -> Iterator[Reading]:
    """Yield the AC volts of every winding; a winding tapped to ground is read from each end to ground."""
    for part in build.parts:
        if isinstance(part.values, Transformer) and part.values.role == "power":
            for winding in part.values.windings:
                yield from _winding(part, winding, idle, AC_SHARE + extra_share)


def heater_readings(build: Build, circuit: Circuit, idle: Idle, *, extra_share: float = 0.0) -> Iterator[Reading]:
    """Yield the AC volts between the heater pins of every socket, fitted or empty."""
    share = AC_SHARE + extra_share
    for part in tubes_of(build):
        pins = {p.electrode: p for p in socket_points(part)}
        for name, one, other in (
            ("heater", "heater1", "heater2"),
            ("heater1-tap", "heater1", "heater_tap"),
            ("heater2-tap", "heater2", "heater_tap"),
        ):
            element = circuit.by_name.get(f"{part.name}.{name}")
            if isinstance(element, Resistor) and one in pins and other in pins:
                yield _heater(pins[one], pins[other], heater_v(idle, element), share)


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


def _heater(one: Point, other: Point, rms_v: float, share: float) -> Reading:
    words = f"{one.words} to {other.words.split(' ', 1)[1]}"
    return _ac(words, one.joint, rms_v, share)


def _winding(part: Part, winding: Winding, idle: Idle, share: float) -> Iterator[Reading]:
    joints = [part.terminal(end).joint for end in winding.ends]
    middle = [k for k in range(1, len(joints) - 1) if _at_ground(joints[k], idle)]
    if middle:
        for end, joint in ((winding.ends[0], joints[0]), (winding.ends[-1], joints[-1])):
            rms_v = idle.joints[joint].ripple_rms_v
            yield _ac(f"{part.name} lead {end} to ground", joint, rms_v, share)
        return
    solved = idle.windings.get(f"{part.name}.{winding.name}")
    if solved is not None:
        note = MAINS_NOTE if winding.name == "primary" else ""
        words = f"{part.name} lead {winding.ends[0]} to {winding.ends[-1]}"
        yield _ac(words, joints[0], solved.rms_v, share, note)


def _at_ground(joint: str, idle: Idle) -> bool:
    if joint == GROUND:
        return True
    level = idle.joints[joint]
    return abs(level.volts) + level.ripple_peak_to_peak_v < NEAR_GROUND_V


def _ac(words: str, joint: str, rms_v: float, share: float, note: str = "") -> Reading:
    note = note or (METER_RATING_NOTE if rms_v > HIGH_V else "")
    return Reading(words, joint, "V ac", rms_v, rms_v * (1.0 - share), rms_v * (1.0 + share), "V", note)
