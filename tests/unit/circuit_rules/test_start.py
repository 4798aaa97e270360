"""The rules of the start, word for word."""

from __future__ import annotations

from dataclasses import replace

import pytest

from lugwright.buildfile.build import Build, Capacitor, Fuse, Part
from lugwright.circuit.operating import Rating
from lugwright.circuit.rules.start_rows import filter_rows
from lugwright.circuit.rules.start_table import start_not_followed, start_ratings
from lugwright.circuit.starting import CapacitorCourse, FuseInrush, Start
from lugwright.errors import NoIdlePoint
from lugwright.quantities import with_unit

from .rating_bench import BODY, build_of, idle_of, part

START = Start("together", (), 60.0, 15.0, (), (), (), (), (), 60.0, 120.0, 0.0, "ground", 9)
FUSE = FuseInrush("F1", 4.0, 0.5, ((0.01, 2.0), (0.2, 1.0), (60.0, 0.4)), 0.35, 3.0, 0.63)


def electrolytic(volts: float) -> Part:
    values = Capacitor(47e-6, 0.2, volts, "electrolytic", BODY)
    return part("C1", "capacitor", values, _1="B+1", _2="ground")


def fuse(amps: float, speed: str = "slow") -> Part:
    return part("F1", "fuse", Fuse(amps, speed, 250.0, 0.2), _1="line", _2="live")


def told(build: Build, start: Start) -> list[str]:
    idle = idle_of(build)
    rows, findings = start_ratings(build, idle, idle, start)
    words = [f"{r.part}: {r.what}: {with_unit(r.value, r.unit)} of {with_unit(r.limit, r.unit)}" for r in rows]
    for finding in findings:
        words += [line.strip() for line in str(finding).splitlines()[:4]]
    return words


def charged(peak_v: float) -> Start:
    return replace(START, capacitors=(CapacitorCourse("C1", peak_v, 0.056, 400.0, 3.0, 0.1),))


def test_a_capacitor_within_its_surge_voltage() -> None:
    assert told(build_of(electrolytic(500.0)), charged(471.0)) == [
        "C1: highest volts while starting, mains +10 %: 518 V of 550 V"
    ]


def test_a_capacitor_above_its_surge_voltage() -> None:
    assert told(build_of(electrolytic(450.0)), charged(471.0)) == [
        "C1: highest volts while starting, mains +10 %: 518 V of 495 V",
        "amp.toml:7: fault: capacitor C1 is overcharged while the amplifier starts [start-surge]",
        "found:  518 V 56.0 ms after switch-on, mains 10 % high",
        "wanted: at most 495 V, the surge voltage of a 450 V part",
        "do:     use a part with a higher rating, a rectifier that warms up slowly, or more resistance before it",
    ]


def test_a_fuse_that_fits() -> None:
    assert told(build_of(fuse(1.0)), replace(START, fuses=(FUSE,))) == [
        "F1: switch-on current, of what it stands: 27.0 % of 100 %",
        "F1: inrush integral of the worst half cycle: 500 mA²s of 19.2 A²s",
        "F1: current with the first filter capacitor shorted: 3.00 A of 2.10 A",
    ]


def test_a_fuse_that_may_blow_at_switch_on() -> None:
    start = replace(START, fuses=(replace(FUSE, stretches=((0.01, 20.0), (1.0, 4.0)), suggested_a=1.6),))
    assert told(build_of(fuse(1.0)), start)[3:] == [
        "amp.toml:7: doubt: fuse F1 may blow at switch-on [fuse-start]",
        "found:  4.00 A at the highest, 1.5 times what a time-lag fuse of 1 A is sure to stand",
        "wanted: a fuse that stands the start",
        "do:     use 1.6 A slow, or an inrush limiter",
    ]
    none = replace(START, fuses=(replace(FUSE, stretches=((0.01, 20.0), (1.0, 4.0)), suggested_a=None),))
    assert told(build_of(fuse(1.0)), none)[-1] == "do:     use an inrush limiter"


def test_a_fuse_that_blows_at_switch_on() -> None:
    start = replace(START, fuses=(replace(FUSE, half_cycle_a2s=25.0),))
    assert told(build_of(fuse(1.0)), start)[3:] == [
        "amp.toml:7: fault: fuse F1 blows at switch-on [fuse-melting]",
        "found:  25 A²s in one half cycle",
        "wanted: less than 19.2 A²s, which melts a time-lag fuse of 1 A",
        "do:     use an inrush limiter, or a larger fuse if the transformer allows it",
    ]


def test_a_fuse_that_never_protects() -> None:
    start = replace(START, fuses=(replace(FUSE, fault_a=1.9),))
    assert told(build_of(fuse(1.0)), start)[3:] == [
        "amp.toml:7: fault: fuse F1 does not blow when the first filter capacitor shorts [fuse-fault]",
        "found:  1.90 A RMS through a fuse of 1 A",
        "wanted: at least 2.10 A: 2.1 times its rating, from which it blows within 2 min",
        "do:     use a smaller fuse, or add one in the high-voltage winding",
    ]


@pytest.mark.parametrize("part_", [fuse(1.0, "fast"), fuse(8.0)], ids=["fast", "large"])
def test_the_gates_of_slow_fuses_are_not_asked_of_others(part_: Part) -> None:
    assert told(build_of(part_), replace(START, fuses=(FUSE,))) == []


def test_a_fuse_without_a_published_melting_integral_is_judged_by_the_gates_alone() -> None:
    words = told(build_of(fuse(4.0)), replace(START, fuses=(replace(FUSE, fault_a=None),)))
    assert words == ["F1: switch-on current, of what it stands: 6.76 % of 100 %"]


def test_a_start_that_cannot_be_followed_is_said() -> None:
    error = NoIdlePoint(what="the start cannot be followed", found="no step", wanted="currents that cancel", do="look")
    assert [line.strip() for line in str(start_not_followed(error)).splitlines()[:4]] == [
        "note: the first minute after switch-on could not be followed; surge and fuses were not checked "
        "[start-not-followed]",
        "found:  no step",
        "wanted: currents that cancel",
        "do:     look",
    ]


def test_the_table_of_filter_capacitors() -> None:
    build = build_of(electrolytic(450.0))
    cold = (Rating("bleeder-time", "C1", "time", 49.0, 60.0, "s"),)
    (row,) = filter_rows(build, charged(400.0), cold)
    assert (row.high_v, row.surge_v, row.warm_s, row.cold_s) == (pytest.approx(440.0), pytest.approx(495.0), 3.0, 49.0)
    never = (Rating("bleeder-time", "C1", "time", 36_000.0, 60.0, "s"),)
    assert filter_rows(build, charged(400.0), never)[0].cold_s is None
    assert filter_rows(build, charged(40.0), cold) == ()
