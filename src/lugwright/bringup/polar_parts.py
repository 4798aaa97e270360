"""Electrolytics: which end of each is positive, where it sits, and what an ohmmeter shows both ways."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from lugwright.bringup.ohms_chart import OTHER_METERS, OVER_RANGE_FROM_OHM, bench_circuit
from lugwright.bringup.plan_places import place_of, seat_ends
from lugwright.bringup.results import Reading
from lugwright.buildfile.build import Build, Can, Capacitor, Part
from lugwright.circuit.network import Circuit
from lugwright.circuit.operating import Idle
from lugwright.layout.results import Plan
from lugwright.solve.ohms import ohm_readings

WIDE = 0.3  # both ways are compared, not measured: tolerances of parts and meters together
BURSTS = "an electrolytic the wrong way round heats, vents and may burst in your face"


@dataclass(frozen=True)
class PolarEnd:
    """One electrolytic, or one section of a can."""

    name: str  # C21, C23.a
    plus: str  # where its positive end sits, in words
    minus: str
    plus_joint: str
    minus_joint: str
    plus_key: str
    minus_key: str
    volts: float  # rated


def polar_ends(build: Build, plan: Plan | None) -> Iterator[PolarEnd]:
    """Yield every electrolytic with its two places."""
    for part in build.parts:
        if isinstance(part.values, Capacitor) and part.values.polar:
            yield _end(part, part.name, ("1", "2"), part.values.volts, plan)
        elif isinstance(part.values, Can):
            for terminal in part.terminals:
                if terminal.name != "minus":
                    yield _end(part, f"{part.name}.{terminal.name}", (terminal.name, "minus"), part.values.volts, plan)


def _end(part: Part, name: str, ends: tuple[str, str], rated_v: float, plan: Plan | None) -> PolarEnd:
    keys = seat_ends(plan, part.name)
    plus, minus = (keys.get(end, f"{part.name}.{end}") for end in ends)
    words = [place_of(plan, key) or f"{part.name} {end}" for key, end in zip((plus, minus), ends, strict=True)]
    joints = [part.terminal(end).joint for end in ends]
    return PolarEnd(name, words[0], words[1], joints[0], joints[1], plus, minus, rated_v)


def polar_words(build: Build, plan: Plan | None, idle: Idle) -> tuple[str, ...]:
    """Return each electrolytic with its positive end in words, to be ticked."""
    return tuple(
        f"{end.name}: + at {end.plus} ({end.plus_joint}), the end marked minus at {end.minus} ({end.minus_joint}); "
        f"{_across_v(end, idle):.0f} V of its {end.volts:g} V stand across it."
        for end in polar_ends(build, plan)
    )


def _across_v(end: PolarEnd, idle: Idle) -> float:
    levels = [idle.joints[j].volts if j in idle.joints else 0.0 for j in (end.plus_joint, end.minus_joint)]
    return levels[0] - levels[1]


def polar_readings(build: Build, circuit: Circuit, plan: Plan | None) -> tuple[Reading, ...]:
    """Return what an ohmmeter settles to across each electrolytic, red on plus and red on minus.

    In the circuit the two differ only where a diode lies beside it: the meter checks what lies beside, the eye checks
    the capacitor's own marking.
    """
    ends = list(polar_ends(build, plan))
    bench = bench_circuit(build, circuit)
    known = {*bench.joints, bench.ground}
    ends = [e for e in ends if {e.plus_joint, e.minus_joint} <= known and e.plus_joint != e.minus_joint]
    pairs = [(e.plus_joint, e.minus_joint) for e in ends] + [(e.minus_joint, e.plus_joint) for e in ends]
    if not pairs:
        return ()
    found = ohm_readings(bench, pairs)
    count = len(ends)
    return tuple(
        _reading(end, float(found.ohm[0, k + turn * count]), bool(found.through_junction[k + turn * count]), turn=turn)
        for k, end in enumerate(ends)
        for turn in (0, 1)
    )


def _reading(end: PolarEnd, ohm: float, through: bool, *, turn: int) -> Reading:
    red, black = (end.plus_key, end.minus_key) if turn == 0 else (end.minus_key, end.plus_key)
    words = f"{end.name}, red on {'plus' if turn == 0 else 'minus'}"
    factor = (1.0 + WIDE) * (OTHER_METERS if through else 1.0)
    low = ohm / factor if math.isfinite(ohm) else OVER_RANGE_FROM_OHM
    notes = ["through a diode: depends on the meter"] if through else []
    notes += ["wait until it stands still; a short here is no capacitor"] if turn == 0 else []
    joint = end.plus_joint if turn == 0 else end.minus_joint
    return Reading(
        words, joint, "ohms", ohm, low, ohm * factor, "ohm", "; ".join(notes), red=red, black=black,
    )  # fmt: skip
