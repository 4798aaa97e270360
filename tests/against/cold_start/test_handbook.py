"""Heaters, inrush limiters and fuses against the figures of handbooks and makers' sheets."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from lugwright.buildfile.regulation import regulation
from lugwright.catalogue.load import tube_type
from lugwright.catalogue.wire import awg_resistance_ohm_per_m
from lugwright.circuit.fuse_curve import blows_within_s, melting_a2s, stands_s
from lugwright.circuit.heater_wiring import Link, Load, load_volts_v
from lugwright.circuit.thermistor import LimiterFit, LimiterHeat, limiter_ohm, limiter_rated_a, settled_ohm
from lugwright.circuit.tubes.heating import (
    COLD_RATIO,
    FILAMENT,
    HEATER,
    ROOM,
    WarmingTimes,
    emission_share,
    heater_ohm,
    heating_rate,
)

STEP_S = 0.005
CL90 = LimiterFit(3.04, -1.36, 0.5, 2.0)
FEEDS: dict[str, Callable[[float], float]] = {  # watts over rated watts, from ohms over hot ohms
    "constant voltage": lambda ohm: 1.0 / ohm,
    "constant current": lambda ohm: ohm,
    "series resistor": lambda ohm: ohm * (2.0 / (1.0 + ohm)) ** 2,
}


def warmed_s(feed: str, level: float, times: WarmingTimes = HEATER, *, emission: bool = False) -> float:
    """Return when a heater, or what its cathode gives, reaches a level."""
    heater = cathode = ROOM
    seconds = 0.0
    while seconds < 90.0:
        watts = FEEDS[feed](float(heater_ohm(heater, hot_ohm=1.0)))
        cathode += STEP_S * (heater - cathode) / times.cathode_s
        heater += STEP_S * float(heating_rate(heater, power=watts, heater_s=times.heater_s))
        seconds += STEP_S
        if (float(emission_share(cathode)) if emission else heater) >= level:
            return seconds
    raise AssertionError(f"{feed} never reaches {level}")


def hot_ohm(name: str) -> float:
    heater = tube_type(name).heater
    return heater.volts / heater.amps


def against_constant_voltage(feed: str, level: float) -> float:
    return warmed_s(feed, level) / warmed_s("constant voltage", level)


def lost_v() -> float:
    """Return what a twisted pair takes from a heater winding of 6.3 V."""
    ohm = 0.5 * awg_resistance_ohm_per_m(20)
    links = [Link("T1.1", "V1.4", ohm), Link("T1.2", "V1.9", ohm)]
    volts = load_volts_v(links, [Load("V1.heater", "V1.4", "V1.9", 6.2 / 3.0)], {"T1.1": 6.3, "T1.2": 0.0})
    return (6.3 - volts["V1.heater"]) * 3.0 / (volts["V1.heater"] / (6.2 / 3.0))


FOUND: dict[str, Callable[[], float]] = {
    "seconds to 90 % at constant voltage": lambda: warmed_s("constant voltage", 0.9),
    "constant current over constant voltage, 90 %": lambda: against_constant_voltage("constant current", 0.9),
    "constant current over constant voltage, 99 %": lambda: against_constant_voltage("constant current", 0.99),
    "series resistor over constant voltage, 90 %": lambda: against_constant_voltage("series resistor", 0.9),
    "series resistor over constant voltage, 99 %": lambda: against_constant_voltage("series resistor", 0.99),
    "hot ohms of a 12AX7 at 6.3 V": lambda: hot_ohm("12AX7"),
    "hot ohms of an EL34 at 6.3 V": lambda: hot_ohm("EL34"),
    "hot ohms of two 12.6 V 0.15 A heaters' pair": lambda: 4.0 * hot_ohm("12AX7"),
    **{f"ohms at {a} A of X 3.04, Y -1.36": lambda a=a: limiter_ohm(CL90, amps=a) for a in (0.5, 1.0, 1.5, 2.0)},
    "watts at 2.0 A of X 3.04, Y -1.36": lambda: 4.0 * limiter_ohm(CL90, amps=2.0),
    "amperes of a 2 A limiter at 25 C": lambda: limiter_rated_a(rated_a=2.0, room_c=25.0),
    "amperes of a 2 A limiter at 60 C": lambda: limiter_rated_a(rated_a=2.0, room_c=60.0),
    "ohms extrapolated to 0.35 A of X 3.04, Y -1.36": lambda: limiter_ohm(CL90, amps=0.35),
    "volts lost at 3 A in 0.5 m out and 0.5 m back of AWG 20": lost_v,
    "regulation of 11 V without load and 10 V with": lambda: regulation(no_load_v=11.0, full_load_v=10.0),
    "ohms our own heat balance settles at with 0.35 A, 120 ohm cold, 1.18 ohm at 2 A": lambda: settled_ohm(
        LimiterHeat.of(cold_ohm=120.0, hot_ohm=1.18, hot_a=2.0), amps=0.35
    ),
    "most seconds at 2.1 times": lambda: float(blows_within_s(2.1)),
    "least seconds at 1.5 times": lambda: float(stands_s(1.5)),
    **{f"least seconds at {x:g} times": lambda x=x: float(stands_s(x)) for x in (2.75, 4.0, 10.0)},
    **{f"most seconds at {x:g} times": lambda x=x: float(blows_within_s(x)) for x in (2.75, 4.0, 10.0)},
    **{
        f"melting A2s of {a:g} A": lambda a=a: melting_a2s(a) or 0.0
        for a in (0.5, 0.63, 0.8, 1.0, 1.25, 1.6, 2.0, 2.5, 3.15)
    },
}


@pytest.mark.parametrize("what", FOUND)
def test_worked_figure(what: str, rows: list[dict[str, str]]) -> None:
    (row,) = (row for row in rows if row["what"] == what)
    assert FOUND[what]() == pytest.approx(float(row["value"]), rel=max(float(row["relative"]), 1e-9))


def row_value(rows: list[dict[str, str]], what: str) -> float:
    (row,) = (row for row in rows if row["what"] == what)
    return float(row["value"])


def test_a_cold_heater_takes_what_measured_ones_take(rows: list[dict[str, str]]) -> None:
    least = row_value(rows, "heater inrush over rated current, least")
    assert least <= COLD_RATIO <= row_value(rows, "heater inrush over rated current, most")


def test_heaters_come_up_in_the_order_of_their_feeds() -> None:
    times = [warmed_s(feed, 0.9) for feed in FEEDS]
    assert times[0] < times[2] < times[1]


def test_tubes_are_up_when_the_handbook_says(rows: list[dict[str, str]]) -> None:
    half, nearly = (warmed_s("constant voltage", level, emission=True) for level in (0.5, 0.9))
    assert half >= row_value(rows, "least seconds until an indirectly heated tube draws half its current")
    assert nearly <= row_value(rows, "most seconds until it draws nine tenths")
    filament = warmed_s("constant voltage", 0.9, FILAMENT, emission=True)
    assert filament <= row_value(rows, "most seconds until a directly heated rectifier is up")
    assert filament < half


def test_outside_its_fit_a_limiter_says_so() -> None:
    assert CL90.covers(0.5)
    assert CL90.covers(2.0)
    assert not CL90.covers(0.35)


def test_every_row_is_looked_at(rows: list[dict[str, str]]) -> None:
    others = ("heater inrush over", "seconds until")
    assert {row["what"] for row in rows if not any(o in row["what"] for o in others)} == set(FOUND)
