"""After an hour: copper is warm, tubes have settled; what may have moved, and how far."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from lugwright.bringup.bench_points import Point, socket_points
from lugwright.bringup.burn_limits import with_limits
from lugwright.bringup.fitting import Stage, output_tubes
from lugwright.bringup.results import Reading, Step
from lugwright.bringup.set_bias import idle_set
from lugwright.bringup.step_bench import Level, StepBench
from lugwright.bringup.step_words import ALWAYS, HANDS_IN, NO_LOAD, limit_words, volts_words
from lugwright.bringup.winding_readings import highest_ac_v, highest_v
from lugwright.buildfile.build import GROUND
from lugwright.circuit.edits import Edit, ScaleValue
from lugwright.circuit.elements import Windings
from lugwright.quantities import with_unit

COPPER_PER_K = 0.0039
WARMER_K = 40.0  # windings after an hour, from memory: 30 to 60 K above the room
TUBE_DRIFT = 0.05  # of a tube's current from cold to hot, from memory
AGAIN_K = 70.0  # a winding this much above the room has too much to do
_ELECTRODES = ("plate", "screen", "cathode")


def hot_step(bench: StepBench, *, number: int) -> tuple[Step, ...]:
    """Return the check after an hour, none without output tubes.

    Raises
    ------
    NoIdlePoint
        The warm circuit has no certified idle.
    """
    if not bench.outputs:
        return ()
    coils = [c.name for e in bench.circuit.elements if isinstance(e, Windings) for c in e.coils]
    warm = Edit("copper warm", tuple(ScaleValue(name, "ohm", 1.0 + COPPER_PER_K * WARMER_K) for name in coils))
    cold, hot = idle_set(bench, Edit("")), idle_set(bench, warm)
    every = Stage("hot", bench.outputs, Edit(""))
    readings = with_limits(bench, every, hot, _readings(bench, cold, hot))
    setting = ("Idle current has risen by more than a tenth: set it again now that all is warm, and look in a week.",)
    do = (
        "Play it for an hour, or leave it with a small signal on its load, the chassis closed as in use.",
        "Then plug out, discharge, open it and clip the meter on. Plug in again, switch on, and read as soon as the "
        "tubes are warm: the rest cools as you look.",
        *(setting if bench.controls else ()),
        "A hand near (not on) each transformer, choke and can capacitor: hot to the touch is too hot for a capacitor.",
    )
    stop = (
        "A smell of varnish or wax, a capacitor that is warm by itself, a plate that begins to glow.",
        f"Current that climbs and does not stop: a tube running away. A winding over {AGAIN_K:.0f} degrees above the "
        "room has too much to do.",
        *limit_words(readings, about=bench.outputs),
    )
    idle = hot.idle
    cautions = (*ALWAYS, HANDS_IN, *volts_words(highest_v(idle), highest_ac_v(idle)), NO_LOAD)
    return (
        Step(
            number, "After an hour", "full mains", do, stop, cautions, readings, idle.mains_rms_a, "", "hot",
            hot.mains_window_a,
        ),
    )  # fmt: skip


def _readings(bench: StepBench, cold: Level, hot: Level) -> Iterator[Reading]:
    """Yield supplies and output tubes, each with a window that holds the amplifier between cold and hot."""
    for joint in sorted((j for j in hot.idle.joints if j.startswith("B+")), key=lambda j: (len(j), j)):
        yield _between(Point(f"{joint} to ground", joint, "", "supply"), cold, hot, 0.0)
    for part in output_tubes(bench.build):
        for point in socket_points(part):
            biased = point.electrode == "grid" and bench.fixed_bias
            if (point.electrode in _ELECTRODES or biased) and point.joint != GROUND:
                yield _between(point, cold, hot, TUBE_DRIFT if point.electrode == "cathode" else 0.0)


def _between(point: Point, cold: Level, hot: Level, drift: float) -> Reading:
    before, after = cold.reading(point), hot.reading(point)
    low, high = min(before.low, after.low), max(before.high, after.high)
    wider = drift * abs(after.expected)
    note = f"was {with_unit(before.expected, 'V')} cold"
    return replace(after, low=low - wider, high=high + wider, note=note)
