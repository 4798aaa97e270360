"""The first power-up, step by step, each step computed as the circuit it really is."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property

from lugwright.bringup import step_words
from lugwright.bringup.fitting import FIXED_BIAS_BELOW_V, Stage, limiter, output_tubes, stages_of
from lugwright.bringup.ohms_chart import bench_circuit
from lugwright.bringup.points import Point, socket_points, tubes_of
from lugwright.bringup.results import Reading, Step
from lugwright.bringup.tolerance import Array, running_draws, window
from lugwright.bringup.winding_readings import heater_readings, winding_readings
from lugwright.buildfile.build import GROUND, Build
from lugwright.circuit.edits import Edit
from lugwright.circuit.network import Circuit
from lugwright.circuit.operating import Idle
from lugwright.solve.idle import idle_spread, solve_idle
from lugwright.solve.ohms import resistance_ohm

METER_SHARE, METER_V = 0.01, 0.01
STRAY_GRID_A = 1e-7  # contact and gas current of a good tube, from memory
NOTHING_V = 5e-4  # the display shows zero
LAMP_SHARE = 0.10  # assumed: what another lamp of the same rating changes
METER_LOADS_FROM_OHM = 100e3
LEAST_PRESENT_V = 1.0  # an empty socket's pin with less is left off the chart
_ELECTRODES = ("plate", "screen", "cathode", "grid")


@dataclass(frozen=True)
class _Bench:
    """What every step shares."""

    build: Build
    circuit: Circuit
    normal: Idle

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
    def draws(self) -> list[Edit]:
        return running_draws(self.build, self.circuit)

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
        return _has_feedback(self.build)


def power_up_steps(build: Build, circuit: Circuit) -> tuple[Step, ...]:
    """Return the steps of the first power-up, behind the limiter lamp and at full mains.

    Parameters
    ----------
    build : Build
        The build.
    circuit : Circuit
        Its circuit.

    Returns
    -------
    tuple of Step
        In order; the bias step is taken at full mains only, with the tubes of the step before it.

    Raises
    ------
    NoIdlePoint
        A step has no certified idle point.
    """
    (normal,) = solve_idle(circuit)
    bench = _Bench(build, circuit, normal)
    lamp_w, lamp = limiter(build, mains_w=normal.mains_w)
    runs: list[tuple[Stage, float | None, Edit]] = []
    for stage in stages_of(build, circuit, fixed_bias=bench.fixed_bias):
        if stage.key != "bias":
            runs.append((stage, lamp_w, stage.edit + lamp))
        runs.append((stage, None, stage.edit))
    return tuple(_step(bench, number, stage, watts, edit) for number, (stage, watts, edit) in enumerate(runs, start=1))


def _step(bench: _Bench, number: int, stage: Stage, lamp_w: float | None, edit: Edit) -> Step:
    (idle,) = solve_idle(bench.circuit, [edit])
    spread = idle_spread(bench.circuit, edit, bench.draws)
    level = _Level(idle, spread, LAMP_SHARE if lamp_w else 0.0)
    behind = lamp_w is not None
    highest_v = max((abs(j.volts) for j in idle.joints.values()), default=0.0)
    lamp = ""
    if lamp_w and idle.lamp_rms_v is not None and idle.lamp_brightness is not None:
        lamp = step_words.lamp_words(share=idle.lamp_brightness, rms_v=idle.lamp_rms_v, watts=lamp_w)
    new = tuple(name for name in stage.fitted if name not in bench.outputs or stage.key == "all tubes")
    return Step(
        number,
        step_words.TITLES[stage.key]
        if bench.outputs
        else step_words.TITLES[stage.key].replace("Output tubes", "Tubes"),
        f"through the {lamp_w:.0f} W lamp" if lamp_w else "full mains",
        step_words.do_words(stage.key, tubes=new, outputs=bench.outputs, lamp_w=lamp_w),
        step_words.stop_words(stage.key, lamp=behind, outputs=bench.outputs, feedback=bench.feedback),
        step_words.caution_words(
            stage.key, lamp=behind, highest_v=highest_v, fixed_bias=bench.fixed_bias, outputs=bench.outputs
        ),
        tuple(_readings(bench, stage, level, short=behind)),
        idle.mains_rms_a,
        lamp,
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
        for point in bench.output_grids:
            yield level.reading(
                point, "negative, or no output tube goes in" if stage.key != "all tubes" else "negative"
            )
    nodes = sorted((j for j in level.idle.joints if j.startswith("B+")), key=lambda j: (len(j), j))
    yield from (level.reading(Point(f"{joint} to ground", joint, "", "supply")) for joint in nodes)
    if not short and stage.key != "bias":
        yield from _pins(bench, stage, level)


def _pins(bench: _Bench, stage: Stage, level: _Level) -> Iterable[Reading]:
    listed = {p.words for p in bench.output_grids} if bench.fixed_bias else set()
    for tube in tubes_of(bench.build):
        fitted = tube.name in stage.fitted
        points = [p for p in socket_points(tube) if p.electrode.rstrip("12") in _ELECTRODES and p.words not in listed]
        for point in sorted(points, key=lambda p: (p.section, _ELECTRODES.index(p.electrode.rstrip("12")))):
            if fitted:
                stray_v = STRAY_GRID_A * bench.grid_ohm.get(point.joint, 0.0) if point.electrode == "grid" else 0.0
                yield level.reading(point, _pin_note(bench, point, level), stray_v=stray_v if stray_v < 1.0 else 1.0)
            elif point.electrode in ("plate", "screen") and level.idle.joints[point.joint].volts > LEAST_PRESENT_V:
                yield level.reading(point, "empty socket: B+ is present")


def _pin_note(bench: _Bench, point: Point, level: _Level) -> str:
    if point.electrode == "grid" and bench.grid_ohm.get(point.joint, 0.0) > METER_LOADS_FROM_OHM:
        return "a 10 Mohm meter loads this point"
    if point.electrode.startswith("plate") and abs(level.idle.joints[point.joint].ripple_rms_v) > 50.0:
        return "carries high AC as well: read it on V ac, if at all"
    return ""


def _has_feedback(build: Build) -> bool:
    outputs = [p for p in build.parts if p.kind == "output transformer"]
    secondary = {t.joint for p in outputs for t in p.terminals if not t.name.startswith("primary")} - {GROUND}
    for joint in sorted(secondary):
        for terminal in build.joints.get(joint, ()):
            part = build.part(terminal.part)
            if part.kind == "resistor" and _leads_to_tube(build, part.name, joint):
                return True
    return False


def _leads_to_tube(build: Build, resistor: str, start: str) -> bool:
    """Return whether the resistor's far joint reaches a cathode or grid through at most two more parts."""
    seen, edge = {start, GROUND}, {t.joint for t in build.part(resistor).terminals} - {start, GROUND}
    for _ in range(3):
        if any(t.name in ("cathode", "grid") for joint in edge for t in build.joints.get(joint, ())):
            return True
        seen |= edge
        near = {t.part for joint in edge for t in build.joints.get(joint, ())}
        passive = (build.part(n) for n in sorted(near) if build.part(n).kind in ("resistor", "capacitor"))
        edge = {t.joint for part in passive for t in part.terminals} - seen
    return False
