"""The first power-up, step by step, each step computed as the circuit it really is."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace

from lugwright.bringup import step_words
from lugwright.bringup.bench_points import Point, socket_points, tubes_of
from lugwright.bringup.bias_control import all_turned, control_words
from lugwright.bringup.burn_limits import with_limits
from lugwright.bringup.fitting import COLD, FIXED_BIAS_BELOW_V, NO_LAMP, ONE_TUBE, Stage, limiter, stages_of
from lugwright.bringup.good_builds import SHARE
from lugwright.bringup.hot_step import hot_step
from lugwright.bringup.limiter_words import instead_words, lamp_window, lamp_words
from lugwright.bringup.results import Reading, Step
from lugwright.bringup.set_bias import idle_set
from lugwright.bringup.signal_step import signal_steps
from lugwright.bringup.step_bench import ENDS, Level, StepBench
from lugwright.bringup.telling import most_telling_first
from lugwright.bringup.winding_readings import (
    heater_readings,
    heater_share,
    highest_ac_v,
    highest_v,
    phase_readings,
    winding_names,
    winding_readings,
)
from lugwright.buildfile.build import Build
from lugwright.circuit.edits import Edit
from lugwright.circuit.operating import Idle
from lugwright.solve.solved import Solved

STRAY_GRID_A = 1e-7  # contact and gas current of a good tube, from memory
GOOD_LEAK_A = 1e-6  # a coupling capacitor that is still good passes less, from memory
ABSENT_V = 1.0  # what may creep up at a supply point that nothing feeds
METER_LOADS_FROM_OHM = 100e3
LEAST_PRESENT_V = 1.0  # an empty socket's pin with less is left off the chart
ALONE_UP_TO = 1.0  # share of its plate limit at which an output tube may still run without its partner
BIAS_GUARD = "without it the tube carries many times its current: plates red in seconds, then the transformer"
LEAK_NOTE = "empty socket: a coupling capacitor that leaks shows here, before its tube is in"
LEAK_GUARD = "a coupling capacitor that leaks lifts this grid, and the tube's plate glows"
_ELECTRODES = ("plate", "screen", "cathode", "grid")


def power_up_steps(
    build: Build, solved: Solved, idle: Idle, *, first: int = 1, share: float = SHARE
) -> tuple[Step, ...]:
    """Return the steps of the first power-up, behind the limiter lamp and at full mains.

    Parameters
    ----------
    build : Build
        The build.
    solved : Solved
        Its circuit solved, all tubes in, full mains.
    idle : Idle
        The idle read from that.
    first : int
        Number of the first step.
    share : float
        Of good builds whose reading falls inside its window. [-]

    Returns
    -------
    tuple of Step
        In order. Volts are what a meter of 10 Mohm shows. None where the build has no mains inlet.

    Raises
    ------
    NoIdlePoint
        A step has no certified idle point.
    """
    bench = StepBench(build, solved, idle, share)
    if "mains" not in bench.circuit.by_name:
        return ()
    steps = tuple(_step(bench, number, *run) for number, run in enumerate(runs_of(bench), start=first))
    heard = signal_steps(bench, first=first + len(steps))
    return (*steps, *heard, *hot_step(bench, number=first + len(steps) + len(heard)))


def runs_of(bench: StepBench) -> Iterator[tuple[Stage, float | None, Edit]]:
    """Yield every stage with the lamp it is taken behind, in working order."""
    lamp_w, lamp = limiter(bench.build, mains_w=bench.normal.mains_w)
    stages = stages_of(bench.build, bench.circuit, fixed_bias=bench.fixed_bias, cold_bias=bench.cold_bias)
    warmed = any(stage.key == COLD for stage in stages)  # the lamp has seen every tube in
    late: list[tuple[Stage, float | None, Edit]] = []  # heaters are read before the supplies of the same circuit
    for stage in stages:
        if stage.key.startswith(ONE_TUBE) and not _may_run_alone(bench, stage):
            continue
        behind = stage.key not in NO_LAMP and not stage.key.startswith(ONE_TUBE)
        if behind and not (stage.key == "all tubes" and warmed):
            yield stage, lamp_w, stage.edit + lamp
        if stage.key == "no tubes":
            late.append((stage, None, stage.edit))
            continue
        yield stage, None, stage.edit
        yield from late
        late.clear()


def _may_run_alone(bench: StepBench, stage: Stage) -> bool:
    """Return whether an output tube keeps its plate limit without the others: partners may share a resistor."""
    name = stage.key.removeprefix(ONE_TUBE)
    alone = bench.level(stage.edit).idle.tubes[name].plate_w
    limit = bench.plate_limits_w.get(name)
    return limit is None or alone <= ALONE_UP_TO * limit


def _step(bench: StepBench, number: int, stage: Stage, lamp_w: float | None, edit: Edit) -> Step:
    level = idle_set(bench, edit) if stage.key == "all tubes" and not lamp_w else bench.level(edit)
    scene = _scene(bench, stage, lamp_w, level.idle)
    readings = tuple(_readings(bench, stage, level, short=lamp_w is not None))
    readings = with_limits(bench, stage, level, readings)
    readings = most_telling_first(bench, level, readings, watched=_watched(bench, stage))
    return Step(
        number,
        step_words.title_words(scene),
        f"through the {lamp_w:.0f} W lamp" if lamp_w else "full mains",
        step_words.do_words(scene),
        (*step_words.stop_words(scene), *step_words.limit_words(readings, about=_new_tubes(bench, stage))),
        step_words.caution_words(scene),
        readings,
        level.idle.mains_rms_a,
        lamp_words(level, watts=lamp_w, mains_v=bench.build.mains_v) if lamp_w else "",
        f"{stage.key}, lamp" if lamp_w else stage.key,
        level.mains_window_a,
        tuple(instead_words(bench, stage, level)) if lamp_w else (),
        lamp_window(level, watts=lamp_w, mains_v=bench.build.mains_v) if lamp_w else None,
    )


def _watched(bench: StepBench, stage: Stage) -> tuple[str, ...]:
    """Return the cathodes of output tubes that bias themselves: what a tube draws shows there from its first second."""
    tubes = [t for t in tubes_of(bench.build) if t.name in _new_tubes(bench, stage) and not bench.fixed_bias]
    return tuple(p.key for tube in tubes for p in socket_points(tube) if p.electrode == "cathode")


def _new_tubes(bench: StepBench, stage: Stage) -> tuple[str, ...]:
    """Return the output tubes that are in."""
    return tuple(name for name in bench.outputs if name in stage.fitted)


def _scene(bench: StepBench, stage: Stage, lamp_w: float | None, idle: Idle) -> step_words.Scene:
    return step_words.Scene(
        key=stage.key,
        tubes=stage.fitted,
        outputs=bench.outputs,
        controls=tuple(control_words(part) for part in bench.controls),
        lamp_w=lamp_w,
        fixed_bias=bench.fixed_bias,
        feedback=bench.feedback,
        highest_v=highest_v(idle),
        highest_ac_v=highest_ac_v(idle),
        heater_share=heater_share(bench.build, bench.circuit, idle, stage.fitted),
        heat_share=_heat_share(bench, idle),
        windings=winding_names(bench.build),
        cold=bench.cold_words,
    )


def _heat_share(bench: StepBench, idle: Idle) -> float:
    """Return the share of its plate limit that the hottest output tube takes, 0 where none is in."""
    limits = bench.plate_limits_w
    shares = (
        idle.tubes[name].plate_w / limits[name] for name in bench.outputs if name in idle.tubes and name in limits
    )
    return max(shares, default=0.0)


def _readings(bench: StepBench, stage: Stage, level: Level, *, short: bool) -> Iterable[Reading]:
    """Yield the readings; ``short``: behind the lamp only supplies are read."""
    if stage.key == "heaters":
        yield from winding_readings(bench.build, level.idle)
        yield from heater_readings(bench.build, bench.circuit, level.idle)
        yield from phase_readings(bench.build)
        return
    if bench.fixed_bias:
        yield from _biased_grids(bench, stage, level)
    if stage.key == "bias" and bench.controls:
        yield from _bias_ends(bench, stage)
    yield from _supplies(level)
    if not short and stage.key != "bias":
        yield from _pins(bench, stage, level)
    if short:
        yield from winding_readings(bench.build, level.idle, extra_share=level.lamp_share)
    if short or (stage.fitted and stage.key not in ("bias", "rectifier") and not stage.key.startswith(ONE_TUBE)):
        yield from heater_readings(bench.build, bench.circuit, level.idle, extra_share=level.lamp_share)


def _biased_grids(bench: StepBench, stage: Stage, level: Level) -> Iterator[Reading]:
    note = "negative" if stage.key in ("all tubes", COLD) else "negative, or no output tube goes in"
    for point in bench.output_grids:
        reading = level.reading(point, "; ".join(filter(None, (note, _pin_note(bench, point)))))
        yield replace(reading, guards=BIAS_GUARD)


def _supplies(level: Level) -> Iterator[Reading]:
    """Yield the volts of every B+ joint; the first of them guards what comes after."""
    for joint in sorted((j for j in level.idle.joints if j.startswith("B+")), key=lambda j: (len(j), j)):
        absent = abs(level.idle.joints[joint].volts) < ABSENT_V
        point = Point(f"{joint} to ground", joint, "", "supply")
        note = "nothing feeds it yet" if absent else ""
        reading = level.reading(point, note, stray_v=ABSENT_V if absent else 0.0)
        yield replace(reading, guards=f"a supply that is off burns what hangs on {joint}")


def _bias_ends(bench: StepBench, stage: Stage) -> Iterable[Reading]:
    """Yield the negative volts at each output grid with every bias control at either end."""
    for rotation, end in ENDS.items():
        level = bench.level(stage.edit + all_turned(bench.controls, rotation=rotation))
        for point in bench.output_grids:
            negative = level.idle.joints[point.joint].volts < FIXED_BIAS_BELOW_V
            note = "negative here too" if negative else "NOT negative here: never leave it at this end"
            stands = f"{bench.control_names} full {end}"
            reading = replace(level.reading(replace(point, words=f"{point.words}, {stands}"), note), at=stands)
            yield replace(reading, guards=BIAS_GUARD) if rotation == bench.coldest else reading


def _pins(bench: StepBench, stage: Stage, level: Level) -> Iterator[Reading]:
    listed = {p.words for p in bench.output_grids} if bench.fixed_bias else set()
    alone = stage.key.removeprefix(ONE_TUBE) if stage.key.startswith(ONE_TUBE) else ""  # the others were read before
    for tube in tubes_of(bench.build):
        if alone not in ("", tube.name):
            continue
        fitted = tube.name in stage.fitted
        points = [p for p in socket_points(tube) if p.electrode in _ELECTRODES and p.words not in listed]
        for point in sorted(points, key=lambda p: (p.section, _ELECTRODES.index(p.electrode))):
            if fitted:
                grid_ohm = bench.grid_ohm.get(point.joint, 0.0) if point.electrode == "grid" else 0.0
                yield level.reading(point, _pin_note(bench, point), stray_v=min(STRAY_GRID_A * grid_ohm, 1.0))
            elif point.electrode == "grid" and stage.key == "small tubes" and tube.name in bench.outputs:
                stray_v = min(GOOD_LEAK_A * bench.grid_ohm.get(point.joint, 0.0), 1.0)
                yield replace(level.reading(point, LEAK_NOTE, stray_v=stray_v), guards=LEAK_GUARD)
            elif point.electrode in ("plate", "screen") and level.idle.joints[point.joint].volts > LEAST_PRESENT_V:
                yield level.reading(point, "empty socket: B+ is present")


def _pin_note(bench: StepBench, point: Point) -> str:
    if point.electrode == "grid" and bench.grid_ohm.get(point.joint, 0.0) > METER_LOADS_FROM_OHM:
        return "what a meter of 10 Mohm shows; it loads this point"
    return ""
