from __future__ import annotations

from lugwright.bringup.idle.measured import Bench
from lugwright.bringup.idle.misleading import misleading
from lugwright.bringup.idle.targets import target_of

from .conftest import bench_at


def told(bench: Bench) -> tuple[str, ...]:
    return misleading(bench.stage, bench.at, bench.cold, target_of(bench.stage))


def test_shortcuts_of_a_pair_in_fixed_bias(godwit_bench: Bench) -> None:
    assert told(godwit_bench) == (
        "Cathode current is no plate current: 44.4 mA at the cathode of V5 are 42.2 mA of plate and 2.2 mA of screen. "
        "Taken for plate current they would make 18.0 W of a plate that turns 17.1 W into heat.",
        "B+ sags under load: B+1 stands at 440 V with cold tubes and at 408 V at idle, and moves with every turn. A "
        "current worked out from the 440 V comes out 7% too low: read volts and current of the same moment.",
        "1 mV is 1 mA only over 1 ohm (brown black gold). A 10 ohm resistor (brown black black) at R41 would show ten "
        "times as much. And a meter with two leads reads 1 ohm as 1.1 ohm and more: go by the printed value.",
        "The limit of 30 W is a design-maximum figure: it leaves no room for high mains or for a part that is off. "
        "Stay in the lower half of the band where the mains is often high.",
        "No ammeter across the output winding: the meter stands at 408 V, one slip to ground shorts the supply through "
        "it, and beside 68 ohm of copper a meter of 6.5 ohm misses 9% of the current. The volts over T2 primary tell "
        "the same, and safer.",
    )


def test_shortcuts_of_one_tube_with_cathode_bias(dunlin_bench: Bench) -> None:
    words = told(dunlin_bench)
    assert words[1:3] == (
        "Plate volts count from plate to cathode: 241 V at V2. To ground the meter shows 255 V, and 10.0 W would come "
        "out for 9.5 W.",
        "The rule of 70 percent is for pairs in fixed bias, whose plates heat up with signal. Here (cathode bias) idle "
        "is the hottest the plates get: 80% to 100% is usual, and 70 % would only cost power and add distortion.",
    )
    assert words[4] == (
        "The limit of 12 W is a design-center figure: it leaves room for mains and parts that are off. Where a later "
        "sheet prints a higher, design-maximum figure, that one leaves none: do not take 70 percent of it."
    )


def test_ten_ohms_show_ten_times_as_much() -> None:
    tens = [(f'{name} = {{ value = "1"', f'{name} = {{ value = "10"') for name in ("R41", "R42")]
    assert "R41 is 10 ohm: 1 mA shows as 10 mV, not as 1 mV." in told(bench_at("godwit_40", *tens))
