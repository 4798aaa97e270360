"""Inrush limiters: too much current, and too little to get hot, word for word."""

from __future__ import annotations

import pytest

from lugwright.buildfile.build import Part, Thermistor

from .rating_bench import build_of, idle_of, part, told

RULES = ("limiter-current", "limiter-cool")


def limiter(fit: tuple[float, float] | None = None) -> Part:
    return part("RT1", "thermistor", Thermistor(120.0, 1.18, 2.0, fit), _1="line", _2="live")


def words(amps: float, fit: tuple[float, float] | None = None) -> list[str]:
    build = build_of(limiter(fit))
    return told(build, idle_of(build, parts={"RT1": {"rms_a": amps}}), rules=RULES)


def test_a_limiter_at_home() -> None:
    assert words(1.0) == ["RT1: current, at 60 °C in the chassis: 1.00 A of 1.79 A"]


def test_a_limiter_with_too_much() -> None:
    assert words(1.9)[1:] == [
        "amp.toml:7: fault: inrush limiter RT1 is overloaded in a warm chassis [limiter-current]",
        "found:  1.90 A RMS at idle",
        "wanted: at most 1.79 A: 2.00 A, less at 60 °C",
        "do:     use a larger one",
    ]


def test_a_limiter_that_never_gets_hot() -> None:
    found = words(0.35)[1:]
    assert found[0] == (
        "amp.toml:7: doubt: inrush limiter RT1 never gets hot: its resistance is not the one computed with "
        "[limiter-cool]"
    )
    assert found[1].startswith("found:  350 mA at idle; it settles near 1")
    assert found[1].endswith("; the idle was computed with 1.18 Ω")
    assert found[2:] == [
        "wanted: 500 mA or more, where the maker's figures begin",
        "do:     use a smaller limiter, or write its resistance at this current as hot_ohm",
    ]


@pytest.mark.parametrize("amps", [0.5, 1.7])
def test_nothing_is_said_between(amps: float) -> None:
    assert len(words(amps)) == 1


def test_the_makers_formula_is_told_of_outside_its_range() -> None:
    assert words(0.35, (3.04, -1.36))[2] == (
        "found:  350 mA at idle; it settles near 12.7 Ω, a drop of 4.44 V; the idle was computed with 1.18 Ω"
    )
