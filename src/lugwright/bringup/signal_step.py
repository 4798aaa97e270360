"""Feedback sign and signal: 1 kHz into the input, volts along the way, with the idle set."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from lugwright.bringup.bench_points import Point, socket_points, tubes_of
from lugwright.bringup.feedback import feedback_resistors
from lugwright.bringup.good_builds import Array, capacitor_factors, edits_of, window
from lugwright.bringup.results import Reading, Step
from lugwright.bringup.step_bench import StepBench
from lugwright.bringup.step_words import ALWAYS, HANDS_IN, volts_words
from lugwright.bringup.winding_readings import highest_ac_v, highest_v
from lugwright.buildfile.build import Part
from lugwright.circuit.audio import audio_circuit
from lugwright.circuit.edits import Edit, opened
from lugwright.circuit.points import input_jack, plugged, speaker
from lugwright.quantities import with_unit
from lugwright.solve.response import port_of
from lugwright.solve.small_signal import linearized

HERTZ = 1000.0
TARGET_V = 1.0  # at the speaker, at most: far below where anything clips
MOST_DRIVE_V, LEAST_DRIVE_V = 0.05, 1e-3
DRIVE_SHARE = 0.05  # how well the generator is set
AC_METER_SHARE = 0.03  # a hand meter at 1 kHz, from memory
LEAST_SIGNAL_V = 2e-3  # less is lost in hum
DIVIDED_BELOW_V, DIVIDER = 0.03, (10e3, 100.0)
QUANTITY = "signal V ac"
NO_RUN = "No signal without the speaker or its load, not for a second: the output transformer can arc through."
_STEPS = (1.0, 2.0, 5.0)


@dataclass(frozen=True)
class _Heard:
    """Volts at every joint for one volt at the input: good build, draws, and without feedback."""

    jack: Part
    loud: Part
    gain: dict[str, float]
    draws: dict[str, Array]
    lifted: tuple[str, ...]  # feedback parts
    bare: float  # speaker volts without feedback, for one volt
    ratio: complex  # loop gain: speaker without feedback over with, less one

    @property
    def out(self) -> float:
        """Return the speaker's volts for one volt at the input."""
        return self.gain[self.loud.terminal("plus").joint]

    @cached_property
    def drive_v(self) -> float:
        """Return a round drive that brings the speaker near its target."""
        most = min(TARGET_V / self.out, MOST_DRIVE_V) if self.out > 0.0 else MOST_DRIVE_V
        decade = 10.0 ** math.floor(math.log10(max(most, LEAST_DRIVE_V)))
        return max(step * decade for step in _STEPS if step * decade <= max(most, LEAST_DRIVE_V) * (1.0 + 1e-9))


def signal_steps(bench: StepBench, *, first: int) -> tuple[Step, ...]:
    """Return the steps of feedback sign and signal; none where the build has no input jack or no speaker.

    Raises
    ------
    NoIdlePoint
        A draw has no idle.
    """
    heard = _heard(bench)
    if heard is None or heard.out * MOST_DRIVE_V < LEAST_SIGNAL_V:
        return ()
    steps = [_feedback(bench, heard, first)] if heard.lifted else []
    return (*steps, _signal(bench, heard, first + len(steps)))


def _heard(bench: StepBench) -> _Heard | None:
    jack, loud = input_jack(bench.build), speaker(bench.build)
    if jack is None or loud is None or not bench.outputs:
        return None
    circuit = audio_circuit(bench.build, resistive_speaker=True)
    source = jack.terminal("tip").joint
    plug = plugged(bench.build, source)
    count = len(next(iter(bench.draws.values())))
    lifted = feedback_resistors(bench.build)
    without = Edit("without feedback", tuple(c for name in lifted for c in opened(name).changes))
    drawn = {**bench.draws, **capacitor_factors(bench.build, circuit, count=count)}
    settings = [plug, plug + without, *(plug + draw for draw in edits_of(drawn, count))]
    signal = linearized(circuit, bench.solved, settings)
    volts = signal.at(np.array([HERTZ])).driven([port_of(signal.system, source)])[:, 0, :, 0]
    volts = volts / volts[signal.system.row[source]]
    size, rows = np.abs(volts), signal.system.row
    out = rows[loud.terminal("plus").joint]
    ratio = complex(volts[out, 1] / volts[out, 0] - 1.0) if size[out, 0] > 0.0 else 0j
    joints = [joint for joint in rows if joint != circuit.ground]
    return _Heard(
        jack,
        loud,
        {j: float(size[rows[j], 0]) for j in joints},
        {j: size[rows[j], 2:] for j in joints},
        lifted,
        float(size[out, 1]),
        ratio,
    )


def _reading(heard: _Heard, point: Point, share: float, note: str = "") -> Reading:
    expected = heard.gain[point.joint] * heard.drive_v
    low, high = window(heard.draws[point.joint] * heard.drive_v, share)
    off = DRIVE_SHARE + AC_METER_SHARE
    low, high = min(low, expected) * (1.0 - off), max(high, expected) * (1.0 + off)
    return Reading(point.words, point.joint, QUANTITY, expected, low, high, "V", note, red=point.key or point.joint)


def _output_point(heard: _Heard) -> Point:
    terminal = heard.loud.terminal("plus")
    return Point(f"{heard.loud.name} plus to ground", terminal.joint, heard.loud.name, "plus", key=str(terminal))


def _input(heard: _Heard) -> Reading:
    terminal = heard.jack.terminal("tip")
    low, high = heard.drive_v * (1.0 - DRIVE_SHARE), heard.drive_v * (1.0 + DRIVE_SHARE)
    words = f"{heard.jack.name} tip to ground"
    note = "set the generator so, all else follows"
    return Reading(
        words, terminal.joint, QUANTITY, heard.drive_v, low, high, "V", note, red=str(terminal),
    )  # fmt: skip


def _feedback(bench: StepBench, heard: _Heard, number: int) -> Step:
    out = _reading(heard, _output_point(heard), bench.share)
    wrong_v = _wrong_v(heard)
    bare_v = heard.bare * heard.drive_v
    limit = max(bare_v, out.high * 1.02)
    out = replace(
        out,
        stop_above=limit,
        burns_above="the feedback adds instead of taking away: it may howl at full power",
        guards="feedback of the wrong sign howls at full power into speaker and output tubes",
    )
    names = " and ".join(heard.lifted)
    wrong = f"with the wrong sign {with_unit(wrong_v, 'V')}" if wrong_v else "with the wrong sign it howls by itself"
    outputs = "plate leads" if len(bench.outputs) > 1 else "primary leads"
    do = (
        f"Speaker, or better a load resistor of its impedance, on. Generator, {HERTZ:.0f} Hz, into "
        f"{heard.jack.name}; knobs as in the build file; begin at zero and turn the generator up slowly.",
        f"The right sign shows {with_unit(out.expected, 'V')} at the speaker; without feedback ({names} lifted) it "
        f"would be {with_unit(bare_v, 'V')}, {wrong}.",
        *(
            (
                "A loop this weak need not howl when it is wrong: this reading decides, not the ear.",
            )
            if wrong_v
            else ()
        ),
        f"Wrong: plug out, below 60 V on every filter capacitor, swap the two {outputs} of the output transformer, and "
        "read again.",
    )  # fmt: skip
    return _step(number, "feedback", "Feedback sign", do, (out,), heard, bench)


def _wrong_v(heard: _Heard) -> float:
    """Return what the speaker shows with the feedback turned over, 0 where it would howl."""
    turned = abs(1.0 - heard.ratio)
    if heard.ratio.real >= 1.0 or turned < 0.05:
        return 0.0
    return heard.bare * heard.drive_v / turned


def _signal(bench: StepBench, heard: _Heard, number: int) -> Step:
    readings = (_input(heard), *_along(bench, heard), _reading(heard, _output_point(heard), bench.share))
    do = (
        f"Speaker or load on. Generator, {HERTZ:.0f} Hz, into {heard.jack.name}; knobs as in the build file.",
        "Meter on AC volts. Where B+ stands too, only a meter that blocks it: through 100 nF of 630 V where it does "
        "not. A meter on its lowest range shows hum as well: generator off, what is left is hum.",
        "The first reading far below its window has the stage before it, or the part between, as the reason.",
    )
    return _step(number, "signal", "Signal from input to speaker", do, readings, heard, bench)


def _along(bench: StepBench, heard: _Heard) -> Iterator[Reading]:
    """Yield plates in the order of the tubes, and the grids of the output tubes, where there is enough to read."""
    source = heard.jack.terminal("tip").joint
    for tube in tubes_of(bench.build):
        for point in socket_points(tube):
            wanted = point.electrode == "plate" or (point.electrode == "grid" and tube.name in bench.outputs)
            there = heard.gain.get(point.joint, 0.0) * heard.drive_v
            if wanted and point.joint != source and there > LEAST_SIGNAL_V:
                yield _reading(heard, point, bench.share, "B+ stands here too" if point.electrode == "plate" else "")


def _step(
    number: int,
    key: str,
    title: str,
    do: tuple[str, ...],
    readings: tuple[Reading, ...],
    heard: _Heard,
    bench: StepBench,
) -> Step:
    stop = (
        "A howl, a plate that glows, smoke: switch off, plug out.",
        *(
            f"{r.point} over {with_unit(r.stop_above, 'V')}: {r.burns_above}."
            for r in readings
            if r.stop_above is not None
        ),
    )
    level = bench.level(Edit(""))
    first = f"{with_unit(heard.drive_v, 'V')} at {heard.jack.name}: small enough that nothing clips."
    if heard.drive_v < DIVIDED_BELOW_V:
        divided = with_unit(heard.drive_v * (1.0 + DIVIDER[0] / DIVIDER[1]), "V")
        first += (
            f" A divider of {DIVIDER[0] / 1e3:.0f}k and {DIVIDER[1]:.0f} ohm at the plug makes that of {divided} from "
            "the generator, which a meter can read."
        )
    idle = level.idle
    cautions = (*ALWAYS, HANDS_IN, *volts_words(highest_v(idle), highest_ac_v(idle)), NO_RUN)
    return Step(
        number, title, "full mains", (first, *do), stop, cautions, readings, idle.mains_rms_a, "", key,
        level.mains_window_a,
    )  # fmt: skip
