"""The steps before the plug goes in: eyes, earth, electrolytics, ohms."""

from __future__ import annotations

from collections.abc import Mapping

from lugwright.bringup.bench_points import socket_points
from lugwright.bringup.earth_bond import earth_readings
from lugwright.bringup.fitting import output_tubes
from lugwright.bringup.look_list import look_words
from lugwright.bringup.ohms_sections import in_sections
from lugwright.bringup.polar_parts import BURSTS, polar_readings, polar_words
from lugwright.bringup.results import PLUG_OUT, OhmsChart, Reading, Step
from lugwright.bringup.step_words import ALWAYS
from lugwright.buildfile.build import Build, Inlet
from lugwright.circuit.network import Circuit
from lugwright.circuit.operating import Idle
from lugwright.layout.results import Plan

COUNT = 4  # steps before mains, whatever the build
DISCHARGED = (
    "Plug out of the wall and in sight. Every filter capacitor measured below 60 V and then discharged through a "
    "resistor, also on a chassis that has never been on: some come charged from a test."
)


def before_mains(
    build: Build,
    circuit: Circuit,
    idle: Idle,
    chart: OhmsChart,
    *,
    plan: Plan | None,
    joint_volts: Mapping[str, float],
) -> tuple[Step, ...]:
    """Return the steps before mains; none where the build has no inlet. Without a plan they name parts, not places."""
    if not any(isinstance(part.values, Inlet) for part in build.parts):
        return ()
    return (
        _look(build, plan, joint_volts),
        _earth(build),
        _polarity(build, circuit, idle, plan),
        _ohms(build, chart),
    )


def _step(
    number: int, key: str, title: str, do: tuple[str, ...], stop: tuple[str, ...], readings: tuple[Reading, ...] = ()
) -> Step:
    return Step(number, title, PLUG_OUT, do, stop, (DISCHARGED, ALWAYS[0]), readings, 0.0, "", key)


def _look(build: Build, plan: Plan | None, joint_volts: Mapping[str, float]) -> Step:
    stop = ("Anything on this list that is not so: put it right before you go on. Nothing here hurries.",)
    return _step(1, "look", "Look it over", look_words(build, plan, joint_volts), stop)


def _earth(build: Build) -> Step:
    do = (
        "Ohmmeter on its lowest range: press the tips together and zero them, or note what they show and take it off.",
        "Move the cord and tap each joint of the earth wire while you read: the figure must not move.",
    )
    stop = (
        "More than 0.1 ohm to any metal: no plug goes into the wall. Bare metal, toothed washer, its own bolt.",
        "Anything but over range from line or neutral to the earth pin: no plug goes into the wall.",
    )
    return _step(2, "earth", "Earth bond", do, stop, earth_readings(build))


def _polarity(build: Build, circuit: Circuit, idle: Idle, plan: Plan | None) -> Step:
    do = (
        *polar_words(build, plan, idle),
        "Then the ohmmeter both ways, as below. In the circuit it does not show which way round a capacitor is: the "
        "marking on its case does. What it shows is a short, and a diode beside it that is the wrong way round.",
    )
    stop = (f"One that is the wrong way round, or that you cannot read: out with it. {BURSTS[0].upper()}{BURSTS[1:]}.",)
    return _step(3, "polarity", "Electrolytics the right way round", do, stop, polar_readings(build, circuit, plan))


def _ohms(build: Build, chart: OhmsChart) -> Step:
    grids = {p.joint for part in output_tubes(build) for p in socket_points(part) if p.electrode == "grid"}
    do = (
        f"Computed for a {chart.meter}.",
        "Section by section: mains side, heaters, B+, bias, grounds, signal. Wait until a reading stands still.",
    )
    stop = (
        "B+ to ground that stays below its window: something is shorted; plugged in it takes rectifier, fuse and "
        "transformer with it.",
        "An output grid without its path to the bias: its tube would run away.",
    )
    return _step(4, "ohms", "Ohms chart", do, stop, in_sections(build, chart.readings, grids))
