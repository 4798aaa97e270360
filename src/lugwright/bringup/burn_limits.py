"""From which reading on something burns: limits of parts and tubes, turned into volts at the point of the meter."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

from lugwright.bringup.bench_points import socket_points
from lugwright.bringup.fitting import Stage
from lugwright.bringup.results import Reading
from lugwright.bringup.step_bench import Level, StepBench
from lugwright.bringup.tube_limits import grid_at_plate_limit_v, plate_at_screen_limit_v
from lugwright.bringup.winding_readings import heater_v
from lugwright.buildfile.build import GROUND, Can, Capacitor, Part, Resistor, Tube
from lugwright.circuit.elements import Capacitor as CapacitorElement
from lugwright.circuit.elements import PentodeTube
from lugwright.circuit.elements import Resistor as ResistorElement
from lugwright.circuit.operating import Idle
from lugwright.quantities import with_unit

BACKWARD_V = 1.0  # an electrolytic stands about this much the wrong way round, from memory of makers' notes
LEAST_V = 5.0  # a limit nearer to ground than this is none a meter is watched for
HEATER_MOST = 1.10  # of its rated volts, from memory of makers' sheets
REACH = 1.15  # what no joint of the chassis exceeds by more is out of reach


@dataclass(frozen=True)
class Limit:
    """Above or below so many volts at a joint something burns."""

    joint: str
    volts: float
    above: bool
    burns: str
    feed: str = ""  # joint at the other end of the resistor it is about
    feed_v: float = 0.0


def with_limits(bench: StepBench, stage: Stage, level: Level, readings: Iterable[Reading]) -> tuple[Reading, ...]:
    """Return the readings with the volts at which to switch off, where a limit lies outside the window.

    A limit inside the window is no stop: there good builds come near it too, and the ratings say so.
    """
    reach_v = REACH * max((abs(j.volts) for j in level.idle.joints.values()), default=0.0)
    by_joint: dict[str, list[Limit]] = {}
    for limit in _limits(bench, stage, level.idle):
        if abs(limit.volts) < reach_v:
            by_joint.setdefault(limit.joint, []).append(limit)
    heaters = dict(_heater_limits(bench, level.idle))
    return tuple(
        _stopped_at(reading, heaters.get((reading.red, reading.black)))
        if reading.quantity == "V ac"
        else _nearest(reading, by_joint.get(reading.joint, ()))
        for reading in readings
    )


def _nearest(reading: Reading, limits: Iterable[Limit]) -> Reading:
    limits = tuple(limits)
    over = min((x for x in limits if x.above and x.volts > reading.high), key=lambda x: x.volts, default=None)
    under = max((x for x in limits if not x.above and x.volts < reading.low), key=lambda x: x.volts, default=None)
    fed = next((x for x in (under, over) if x is not None and x.feed), None)
    return replace(
        reading,
        stop_below=None if under is None else under.volts,
        burns_below="" if under is None else under.burns,
        stop_above=None if over is None else over.volts,
        burns_above="" if over is None else over.burns,
        stop_feed="" if fed is None else fed.feed,
        stop_feed_v=0.0 if fed is None else fed.feed_v,
    )


def _stopped_at(reading: Reading, limit: tuple[float, str] | None) -> Reading:
    if limit is None or limit[0] <= reading.high:
        return reading
    return replace(reading, stop_above=limit[0], burns_above=limit[1])


def _limits(bench: StepBench, stage: Stage, idle: Idle) -> Iterator[Limit]:
    for part in bench.build.parts:
        element = bench.circuit.by_name.get(part.name)
        if isinstance(part.values, Resistor) and isinstance(element, ResistorElement):
            yield from _resistor(part, part.values, element, idle)
        elif isinstance(part.values, Can) or (isinstance(part.values, Capacitor) and part.values.polar):
            yield from _electrolytic(bench, part, part.values.volts)
        elif isinstance(part.values, Tube) and part.name in bench.outputs:
            fitted = idle if part.name in stage.fitted else None
            yield from _output_tube(bench, part, part.values, fitted, lamp=idle.lamp_rms_v is not None)


def _resistor(part: Part, values: Resistor, element: ResistorElement, idle: Idle) -> Iterator[Limit]:
    """Yield the volts at either end that load it beyond its watts, the other end, which feeds it, staying as it is."""
    most_v = math.sqrt(values.watts * element.ohm)
    words = f"{part.name} gets more than its {values.watts:g} W"
    for here, feed in (element.joints, element.joints[::-1]):
        level, at_feed = (0.0 if j == GROUND else idle.joints[j].volts for j in (here, feed))
        if here == GROUND:
            continue
        if feed == GROUND:
            yield Limit(here, math.copysign(most_v, level), level >= 0.0, words)
        elif abs(at_feed) > abs(level) and at_feed * level >= 0.0 and abs(at_feed) > most_v + LEAST_V:
            yield Limit(here, at_feed - math.copysign(most_v, at_feed), at_feed < 0.0, words, feed, at_feed)


def _electrolytic(bench: StepBench, part: Part, rated_v: float) -> Iterator[Limit]:
    for element in bench.circuit.elements:
        if isinstance(element, CapacitorElement) and element.name.partition(".")[0] == part.name:
            for joint, other, sign in ((element.a, element.b, 1.0), (element.b, element.a, -1.0)):
                if other == GROUND and joint != GROUND:
                    yield Limit(joint, sign * rated_v, sign > 0.0, f"{part.name} stands over its {rated_v:g} V")
                    turned = f"{part.name} has its volts the wrong way round and may burst"
                    yield Limit(joint, -sign * BACKWARD_V, sign < 0.0, turned)


def _output_tube(bench: StepBench, part: Part, values: Tube, idle: Idle | None, *, lamp: bool) -> Iterator[Limit]:
    """Yield the limits of an output tube; ``idle`` is None while it is out of its socket.

    Behind the limiter lamp bias and plates are low together, by how much hangs on the lamp: no bias is a limit there.
    """
    element = bench.circuit.by_name.get(part.name)
    plate, screen = (values.type.limits.get(name) for name in ("plate_w", "screen_w"))
    joints = {p.electrode: p.joint for p in socket_points(part)}
    if not isinstance(element, PentodeTube) or plate is None:
        return
    takes = f"takes more than its {plate.value:g} W"
    words = f"with {part.name} in, its plate {takes}" if idle is None else f"the plate of {part.name} {takes}"
    at = (idle or bench.normal).tubes[part.name]
    if bench.fixed_bias and not lamp:
        normal = bench.normal.tubes[part.name]
        grid_v = grid_at_plate_limit_v(
            element, plate_v=normal.plate_to_cathode_v, screen_v=normal.screen_to_cathode_v or 0.0, limit_w=plate.value
        )
        if grid_v is not None:
            yield Limit(joints["grid"], grid_v, True, words)
    if idle is None:
        return
    cathode_v = 0.0 if element.cathode == GROUND else idle.joints[element.cathode].volts
    if at.plate_w > 0.0 and cathode_v > 0.0:
        yield Limit(element.cathode, cathode_v * plate.value / at.plate_w, True, words)
    if screen is not None:
        grid_to_cathode, screen_to_cathode = at.grid_to_cathode_v, at.screen_to_cathode_v or 0.0
        plate_v = plate_at_screen_limit_v(
            element, screen_v=screen_to_cathode, grid_v=grid_to_cathode, limit_w=screen.value
        )
        if plate_v is not None and plate_v > LEAST_V:
            yield Limit(
                element.plate, plate_v + cathode_v, False,
                f"the screen of {part.name} takes the plate's current, more than its {screen.value:g} W",
            )  # fmt: skip


def _heater_limits(bench: StepBench, idle: Idle) -> Iterator[tuple[tuple[str, str], tuple[float, str]]]:
    """Yield for the pins of each heater the volts there now that mean too many with the tubes in."""
    for part in bench.build.parts:
        if isinstance(part.values, Tube):
            pins = {p.electrode: p.key for p in socket_points(part)}
            rated_v = part.values.type.heater.volts
            for name, ends in _HEATERS.items():
                element = bench.circuit.by_name.get(f"{part.name}.{name}")
                if isinstance(element, ResistorElement):
                    loaded, now = heater_v(bench.normal, element), heater_v(idle, element)
                    if loaded > 0.0:
                        volts = HEATER_MOST * rated_v * now / loaded
                        words = f"the heater of {part.name} would stand over {with_unit(HEATER_MOST * rated_v, 'V')}"
                        yield (pins[ends[0]], pins[ends[1]]), (volts, words)


_HEATERS = {"heater": ("heater1", "heater2"), "heater1-tap": ("heater1", "heater_tap"),
            "heater2-tap": ("heater2", "heater_tap")}  # fmt: skip
