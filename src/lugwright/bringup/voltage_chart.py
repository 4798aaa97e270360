"""The first power-up, step by step, each step computed as the circuit it really is."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from functools import cached_property

from lugwright.bringup import step_words
from lugwright.bringup.bench_points import Point, socket_points, tubes_of
from lugwright.bringup.bias_control import all_turned, bias_controls, control_words
from lugwright.bringup.feedback import has_feedback
from lugwright.bringup.fitting import FIXED_BIAS_BELOW_V, Stage, limiter, output_tubes, stages_of
from lugwright.bringup.good_builds import Array, Draws, running_factors, window
from lugwright.bringup.ohms_chart import bench_circuit
from lugwright.bringup.results import Reading, Step
from lugwright.bringup.winding_readings import heater_readings, heater_v, winding_readings
from lugwright.buildfile.build import GROUND, Build, Part, Tube
from lugwright.circuit.edits import Edit
from lugwright.circuit.elements import Resistor
from lugwright.circuit.network import Circuit
from lugwright.circuit.operating import Idle
from lugwright.solve.idle import solve_column
from lugwright.solve.many import solve_many
from lugwright.solve.ohms import resistance_ohm
from lugwright.solve.readout import read_idle
from lugwright.solve.solved import Solved

METER_SHARE, METER_V = 0.01, 0.01
STRAY_GRID_A = 1e-7  # contact and gas current of a good tube, from memory
NOTHING_V = 5e-3  # the display shows zero
ABSENT_V = 1.0  # what may creep up at a supply point that nothing feeds
LAMP_SHARE = 0.10  # assumed: what another lamp of the same rating changes
METER_LOADS_FROM_OHM = 100e3
LEAST_PRESENT_V = 1.0  # an empty socket's pin with less is left off the chart
_ELECTRODES = ("plate", "screen", "cathode", "grid")


@dataclass(frozen=True)
class _Bench:
    """What every step shares."""

    build: Build
    solved: Solved
    normal: Idle

    @property
    def circuit(self) -> Circuit:
        return self.solved.system.circuit

    @cached_property
    def outputs(self) -> tuple[str, ...]:
        return tuple(part.name for part in output_tubes(self.build))

    @cached_property
    def output_grids(self) -> tuple[Point, ...]:
        return tuple(p for part in output_tubes(self.build) for p in socket_points(part) if p.electrode == "grid")

    @cached_property
    def fixed_bias(self) -> bool:
        return any(self.normal.joints[p.joint].volts < FIXED_BIAS_BELOW_V for p in self.output_grids)

    @cached_property
    def controls(self) -> tuple[Part, ...]:
        return tuple(bias_controls(self.build, self.normal)) if self.fixed_bias else ()

    @cached_property
    def draws(self) -> Draws:
        return running_factors(self.build, self.circuit)

    def level(self, edit: Edit, lamp_share: float = 0.0) -> _Level:
        """Return the solution under one edit and its draws, from one solve of the base."""
        system = self.solved.system
        solved = solve_column(system, system.values([edit])) if edit.changes else self.solved
        many = solve_many(solved, self.draws)
        return _Level(read_idle(solved), {j: many.level_at(j) for j in system.joints}, lamp_share)

    @cached_property
    def grid_ohm(self) -> Mapping[str, float]:
        joints = sorted(
            {p.joint for t in tubes_of(self.build) for p in socket_points(t) if p.electrode == "grid"} - {GROUND}
        )
        if not joints:
            return {}
        ohm = resistance_ohm(bench_circuit(self.build, self.circuit), [(j, GROUND) for j in joints])
        return dict(zip(joints, (float(x) for x in ohm[0]), strict=True))

    @cached_property
    def feedback(self) -> bool:
        """Return whether a part leads from the speaker winding back to an earlier stage."""
        return has_feedback(self.build)


def power_up_steps(build: Build, solved: Solved, idle: Idle) -> tuple[Step, ...]:
    """Return the steps of the first power-up, behind the limiter lamp and at full mains.

    Parameters
    ----------
    build : Build
        The build.
    solved : Solved
        Its circuit solved, all tubes in, full mains.
    idle : Idle
        The idle read from that.

    Returns
    -------
    tuple of Step
        In order; the bias step is taken at full mains only, with the tubes of the step before it. None
        where the build has no mains inlet.

    Raises
    ------
    NoIdlePoint
        A step has no certified idle point.
    """
    bench = _Bench(build, solved, idle)
    if "mains" not in bench.circuit.by_name:
        return ()
    lamp_w, lamp = limiter(build, mains_w=idle.mains_w)
    runs: list[tuple[Stage, float | None, Edit]] = []
    for stage in stages_of(build, bench.circuit, fixed_bias=bench.fixed_bias):
        if stage.key != "bias":
            runs.append((stage, lamp_w, stage.edit + lamp))
        runs.append((stage, None, stage.edit))
    return tuple(_step(bench, number, stage, watts, edit) for number, (stage, watts, edit) in enumerate(runs, start=1))


def _step(bench: _Bench, number: int, stage: Stage, lamp_w: float | None, edit: Edit) -> Step:
    level = bench.level(edit, LAMP_SHARE if lamp_w else 0.0)
    idle = level.idle
    lamp = ""
    if lamp_w and idle.lamp_rms_v is not None and idle.lamp_brightness is not None:
        lamp = step_words.lamp_words(share=idle.lamp_brightness, rms_v=idle.lamp_rms_v, watts=lamp_w)
    scene = step_words.Scene(
        key=stage.key,
        tubes=stage.fitted,
        outputs=bench.outputs,
        controls=tuple(control_words(part) for part in bench.controls),
        lamp_w=lamp_w,
        fixed_bias=bench.fixed_bias,
        feedback=bench.feedback,
        highest_v=max((abs(j.volts) for j in idle.joints.values()), default=0.0),
        heater_share=_heater_share(bench, stage, idle),
    )
    return Step(
        number,
        step_words.title_words(scene),
        f"through the {lamp_w:.0f} W lamp" if lamp_w else "full mains",
        step_words.do_words(scene),
        step_words.stop_words(scene),
        step_words.caution_words(scene),
        tuple(_readings(bench, stage, level, short=lamp_w is not None)),
        idle.mains_rms_a,
        lamp,
        f"{stage.key}, lamp" if lamp_w else stage.key,
    )


@dataclass(frozen=True)
class _Level:
    """One step's solution with its draws."""

    idle: Idle
    spread: Mapping[str, Array]
    lamp_share: float

    def reading(self, point: Point, note: str = "", *, stray_v: float = 0.0) -> Reading:
        """Return the DC volts at one point with the window of a good build."""
        expected = self.idle.joints[point.joint].volts if point.joint != GROUND else 0.0
        expected = expected if abs(expected) > NOTHING_V else 0.0
        low, high = window(self.spread[point.joint]) if point.joint != GROUND else (0.0, 0.0)
        low, high = min(low, expected), max(high, expected)
        share = METER_SHARE + self.lamp_share
        low, high = low - share * abs(low) - METER_V - stray_v, high + share * abs(high) + METER_V + stray_v
        return Reading(point.words, point.joint, "V dc", expected, low, high, "V", note)


def _readings(bench: _Bench, stage: Stage, level: _Level, *, short: bool) -> Iterable[Reading]:
    """Yield the readings, most telling first; ``short``: behind the lamp only supplies are read."""
    if stage.key != "bias":
        yield from winding_readings(bench.build, level.idle, extra_share=level.lamp_share)
        yield from heater_readings(bench.build, bench.circuit, level.idle, extra_share=level.lamp_share)
    if bench.fixed_bias:
        note = "negative" if stage.key == "all tubes" else "negative, or no output tube goes in"
        for point in bench.output_grids:
            yield level.reading(point, "; ".join(filter(None, (note, _pin_note(bench, point)))))
    if stage.key == "bias" and bench.controls:
        yield from _bias_ends(bench, stage)
    nodes = sorted((j for j in level.idle.joints if j.startswith("B+")), key=lambda j: (len(j), j))
    for joint in nodes:
        absent = abs(level.idle.joints[joint].volts) < ABSENT_V
        point = Point(f"{joint} to ground", joint, "", "supply")
        note = "nothing feeds it yet" if absent else ""
        yield level.reading(point, note, stray_v=ABSENT_V if absent else 0.0)
    if not short and stage.key != "bias":
        yield from _pins(bench, stage, level)


def _bias_ends(bench: _Bench, stage: Stage) -> Iterable[Reading]:
    """Yield the negative volts at each output grid with every bias control at either end."""
    names = " and ".join(control_words(part) for part in bench.controls)
    for rotation, end in ((0.0, "counterclockwise"), (1.0, "clockwise")):
        edit = stage.edit + all_turned(bench.controls, rotation=rotation)
        level = bench.level(edit)
        for point in bench.output_grids:
            negative = level.idle.joints[point.joint].volts < FIXED_BIAS_BELOW_V
            note = "negative here too" if negative else "NOT negative here: never leave it at this end"
            yield level.reading(replace(point, words=f"{point.words}, {names} full {end}"), note)


def _pins(bench: _Bench, stage: Stage, level: _Level) -> Iterable[Reading]:
    listed = {p.words for p in bench.output_grids} if bench.fixed_bias else set()
    for tube in tubes_of(bench.build):
        fitted = tube.name in stage.fitted
        points = [p for p in socket_points(tube) if p.electrode in _ELECTRODES and p.words not in listed]
        for point in sorted(points, key=lambda p: (p.section, _ELECTRODES.index(p.electrode))):
            if fitted:
                grid_ohm = bench.grid_ohm.get(point.joint, 0.0) if point.electrode == "grid" else 0.0
                yield level.reading(point, _pin_note(bench, point), stray_v=min(STRAY_GRID_A * grid_ohm, 1.0))
            elif point.electrode in ("plate", "screen") and level.idle.joints[point.joint].volts > LEAST_PRESENT_V:
                yield level.reading(point, "empty socket: B+ is present")


def _pin_note(bench: _Bench, point: Point) -> str:
    if point.electrode == "grid" and bench.grid_ohm.get(point.joint, 0.0) > METER_LOADS_FROM_OHM:
        return "a 10 Mohm meter loads this point"
    return ""


def _heater_share(bench: _Bench, stage: Stage, idle: Idle) -> float:
    """Return the lowest share of its rated volts at the heater of a fitted tube, 1 with none in. [-]"""
    shares = [1.0]
    for part in tubes_of(bench.build):
        if part.name in stage.fitted and isinstance(part.values, Tube):
            heater = part.values.type.heater
            shares += [
                heater_v(idle, element) / heater.volts
                for name in ("heater", "heater1-tap", "heater2-tap")
                if isinstance(element := bench.circuit.by_name.get(f"{part.name}.{name}"), Resistor)
            ]
    return min(shares)
