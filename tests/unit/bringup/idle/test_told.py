"""What readings at idle are told, word for word."""

from __future__ import annotations

from dataclasses import replace

import pytest

from lugwright.bringup.idle.measured import Bench
from lugwright.findings import Grade

from .conftest import bench_at, said

Row = tuple[str, Grade, str, str, str, str, str]


@pytest.mark.parametrize(
    ("fixture", "texts", "rows"),
    [
        (
            "godwit_bench", ("V5 = -34.2 mV", "V6 = 34 mV"),
            [
                ("idle-reading-negative", Grade.FAULT, "V5", "V5 reads negative at its cathode",
                 "V5 = -34.2 mV", "a reading above zero: current flows from the cathode to ground",
                 "turn the leads of the meter: black to ground, red to V5 pin 8 (cathode); if it stays so, pull "
                 "the plug and put all your readings to lugwright trace"),
            ],
        ),
        (
            "godwit_bench", ("V5 = 0.0 mV", "V6 = 0.1 mV"),
            [
                ("idle-no-current", Grade.FAULT, "V5", "no output tube draws current",
                 "V5 = 0.0 mV, V6 = 0.1 mV", "millivolts or volts at every cathode",
                 "heaters lit and a minute warm? standby closed? meter on DC volts, black on ground? B+ at the "
                 "plates? if it stays so, pull the plug and put all your readings to lugwright trace"),
            ],
        ),
        (
            "godwit_bench", ("V5 = 0.1 mV", "V6 = 44.1 mV"),
            [
                ("idle-no-current", Grade.FAULT, "V5", "V5 draws no current and the others do",
                 "V5 = 0.1 mV", "about what its neighbor reads",
                 "plug out; swap V5 with its neighbor: what moves along is the tube, what stays is its socket "
                 "(heater, screen, plate lead, cathode resistor): then put all your readings to lugwright trace"),
            ],
        ),
        (
            "dunlin_bench", ("V2 = 0.00 V",),
            [
                ("idle-no-current", Grade.FAULT, "V2", "no output tube draws current",
                 "V2 = 0.00 V", "millivolts or volts at every cathode",
                 "heaters lit and a minute warm? standby closed? meter on DC volts, black on ground? B+ at the "
                 "plates? if it stays so, pull the plug and put all your readings to lugwright trace"),
            ],
        ),
        (
            "godwit_bench", ("V5 = 38.20 V", "V6 = 44.1 mV"),
            [
                ("idle-resistor-open", Grade.FAULT, "R41", "R41 is open or not joined",
                 "V5 = 38.20 V: volts where millivolts belong", "about 44 mV over 1 ohm",
                 "switch off, plug out, wait, measure below 60 V; then read R41 with the ohmmeter"),
            ],
        ),
        (
            "godwit_bench", ("V5 = 190.0 mV", "V6 = 44.1 mV"),
            [
                ("idle-switch-off", Grade.DANGER, "V5", "V5 draws far too much: switch off now",
                 "V5 = 190.0 mV: about 77 W at its plate", "at most 30 W",
                 "pull the plug; before power goes on again, every output tube out and the bias volts read at V5 "
                 "pin 5 (grid)"),
            ],
        ),
        (
            "godwit_bench", ("V5 = 440.0 mV", "V6 = 441 mV"),
            [
                ("idle-switch-off", Grade.DANGER, "V5", "V5 draws far too much: switch off now",
                 "V5 = 440.0 mV: about 178 W at its plate", "at most 30 W",
                 "pull the plug; before power goes on again, every output tube out and the bias volts read at V5 "
                 "pin 5 (grid)"),
                ("idle-switch-off", Grade.DANGER, "V6", "V6 draws far too much: switch off now",
                 "V6 = 441 mV: about 179 W at its plate", "at most 30 W",
                 "pull the plug; before power goes on again, every output tube out and the bias volts read at V6 "
                 "pin 5 (grid)"),
                ("idle-resistor-decade", Grade.DOUBT, "R41", "the readings are about ten times what they should be",
                 "V5 = 440.0 mV, V6 = 441 mV", "1 ohm at the cathodes, as in the build file",
                 "plug out, look at the bands of R41: 1 ohm is brown black gold, 10 ohm brown black black; with 10"
                 " ohm write that into the build file"),
            ],
        ),
        (
            "dunlin_bench", ("V2 = 38.00 V",),
            [
                ("idle-switch-off", Grade.DANGER, "V2", "V2 draws far too much: switch off now",
                 "V2 = 38.00 V: about 28 W at its plate", "at most 12 W",
                 "pull the plug; then with V2 out read V2 pin 5 (grid): volts there come through a leaking "
                 "coupling capacitor"),
            ],
        ),
        (
            "godwit_bench", ("V5 = 85.0 mV", "V6 = 72.0 mV"),
            [
                ("idle-over-limit", Grade.FAULT, "V5", "V5 idles over its plate limit",
                 "31.5 W of 30 W, 105% +/- 5%", "50% to 70% (fixed bias, push-pull)",
                 "turn the bias more negative now"),
                ("idle-off-target", Grade.DOUBT, "V6", "V6 idles hotter than usual",
                 "26.8 W of 30 W, 89% +/- 4%", "50% to 70% (fixed bias, push-pull)",
                 "turn the bias more negative"),
            ],
        ),
        (
            "godwit_bench", ("V5 = 60.0 mV", "V6 = 50.0 mV"),
            [
                ("idle-off-target", Grade.DOUBT, "V5", "V5 idles hotter than usual",
                 "22.8 W of 30 W, 76% +/- 3%", "50% to 70% (fixed bias, push-pull)",
                 "turn the bias more negative"),
            ],
        ),
        (
            "godwit_bench", ("V5 = 30.0 mV", "V6 = 44.0 mV"),
            [
                ("idle-unmatched", Grade.DOUBT, "V5", "the output tubes are no pair",
                 "V5 28.5 mA, V6 41.8 mA: 38% apart", "within 20%; bought pairs are within 10 %",
                 "swap the tubes: if the difference stays with the sockets, look at the bias of each grid; else "
                 "fit a pair"),
                ("idle-off-target", Grade.NOTE, "V5", "V5 idles colder than usual",
                 "11.7 W of 30 W, 39% +/- 2%", "50% to 70% (fixed bias, push-pull)",
                 "one control sets them all and the hottest comes first: fit a better pair"),
            ],
        ),
        (
            "godwit_bench", ("V5 = 30.0 mV", "V6 = 30.0 mV"),
            [
                ("idle-off-target", Grade.NOTE, "V5", "V5 idles colder than usual",
                 "11.8 W of 30 W, 39% +/- 2%", "50% to 70% (fixed bias, push-pull)",
                 "turn the bias less negative, slowly"),
                ("idle-off-target", Grade.NOTE, "V6", "V6 idles colder than usual",
                 "11.8 W of 30 W, 39% +/- 2%", "50% to 70% (fixed bias, push-pull)",
                 "turn the bias less negative, slowly"),
            ],
        ),
        (
            "godwit_bench", ("V5 = 4.4 mV", "V6 = 4.5 mV"),
            [
                ("idle-no-fit", Grade.FAULT, "V5", "V5 fits no setting of this circuit",
                 "24% of what the average of its type draws at these volts",
                 "within 25%, worn or strong within 2 times that",
                 "plug out; swap V5 with another: what moves along is the tube, what stays is its socket and its "
                 "bias; then put all your readings to lugwright trace"),
                ("idle-no-fit", Grade.FAULT, "V6", "V6 fits no setting of this circuit",
                 "24% of what the average of its type draws at these volts",
                 "within 25%, worn or strong within 2 times that",
                 "plug out; swap V6 with another: what moves along is the tube, what stays is its socket and its "
                 "bias; then put all your readings to lugwright trace"),
            ],
        ),
        (
            "godwit_bench", ("V5 = 44.0 mV", "V6 = 44.0 mV", "V5 plate = 250 V", "V6 plate = 405 V"),
            [
                ("idle-reading-contradicted", Grade.DOUBT, "V5", "V5 plate does not fit the other readings",
                 "V5 plate = 250 V, 20 times what meter and parts explain", "readings that one circuit can show",
                 "read it once more, with the right pin and range; if it stays so, put all your readings to "
                 "lugwright trace"),
                ("idle-reading-contradicted", Grade.DOUBT, "V6", "V6 plate does not fit the other readings",
                 "V6 plate = 405 V, 19 times what meter and parts explain", "readings that one circuit can show",
                 "read it once more, with the right pin and range; if it stays so, put all your readings to "
                 "lugwright trace"),
            ],
        ),
        (
            "godwit_bench", ("V5 = 44.0 mV", "V5 primary = 5.20 V"),
            [
                ("idle-reading-contradicted", Grade.DOUBT, "V5", "V5 primary does not fit the other readings",
                 "V5 primary = 5.20 V, 12 times what meter and parts explain", "readings that one circuit can show",
                 "read it once more, with the right pin and range; if it stays so, put all your readings to "
                 "lugwright trace"),
                ("idle-ways-apart", Grade.DOUBT, "V5", "two ways to the plate current of V5 disagree",
                 "41.8 mA (cathode current less the screen's), 71.5 mA (volts over T2 primary)", "within 4.8 mA",
                 "plug out, measure the ohms each was read over; a screen that draws too much shows here too"),
            ],
        ),
        (
            "godwit_bench", ("V5 = 44.0 mV", "V5 resistor ohms = 1.09 ohm"),
            [
                ("idle-lead-resistance", Grade.DOUBT, "R41", "the ohms of R41 may hold the leads of the meter",
                 "1.09 ohm for 1 ohm +/- 1%", "two leads add 0.1 ohm and more: a tenth of the current",
                 "touch the tips together, take off what shows; until then 1 ohm counts"),
            ],
        ),
        (
            "godwit_bench", ("V5 shunt = 40.0 mA",),
            [
                ("idle-ammeter-across-winding", Grade.DANGER, "V5", "an ammeter was put across the winding of V5",
                 "V5 shunt = 40.0 mA", "volts, read over a resistor or over the winding",
                 "not again: the whole meter stands at B+, a slip to ground shorts the supply through it, and it "
                 "reads low by what stays in the winding. Read the volts over the winding with the same two clips"),
            ],
        ),
        (
            "godwit_bench", ("V5 = 44.0 mV", "V5 screen resistor = 9.00 V"),
            [
                ("idle-screen-over-limit", Grade.FAULT, "V5", "the screen of V5 is over its limit",
                 "7.8 W", "at most 5 W",
                 "read the volts over the screen resistor; is the plate lead joined?"),
                ("idle-off-target", Grade.NOTE, "V5", "V5 idles colder than usual",
                 "10.1 W of 30 W, 34% +/- 2%", "50% to 70% (fixed bias, push-pull)",
                 "one control sets them all and the hottest comes first: fit a better pair"),
            ],
        ),
        (
            "dunlin_bench", ("V2 = 16.00 V", "V2 plate = 250 V"),
            [
                ("idle-tube-out-of-band", Grade.NOTE, "V2", "V2 is stronger than its type's band",
                 "153% of what the average of its type draws at these volts", "within 28%",
                 "read V2 pin 5 (grid): it belongs at 0 V, and volts there come through a leaking coupling "
                 "capacitor; measure the cathode resistor"),
            ],
        ),
        (
            "dunlin_bench", ("V2 = 4.00 V",),
            [
                ("idle-no-fit", Grade.FAULT, "V2", "V2 fits no setting of this circuit",
                 "10% of what the average of its type draws at these volts",
                 "within 28%, worn or strong within 3 times that",
                 "read V2 pin 5 (grid): it belongs at 0 V, and volts there come through a leaking coupling "
                 "capacitor; measure the cathode resistor; then put all your readings to lugwright trace"),
            ],
        ),
        (
            "curlew_bench", ("V4 = 10.20 V", "V5 = 10.00 V"),
            [
            ],
        ),
    ],
)  # fmt: skip
def test_readings_are_answered_in_these_words(
    request: pytest.FixtureRequest, fixture: str, texts: tuple[str, ...], rows: list[Row]
) -> None:
    bench: Bench = request.getfixturevalue(fixture)
    found = said(bench, *texts).findings
    assert [(f.rule, f.grade, f.part, f.what, f.found, f.wanted, f.do) for f in found] == rows
    assert all(f.source for f in found)


def test_no_figure_is_worked_out_from_readings_that_cannot_be(godwit_bench: Bench) -> None:
    for texts in (["V5 = -34 mV"], ["V5 = 0.0 mV", "V6 = 44 mV"], ["V5 = 190 mV"], ["V5 = 38 V"]):
        measured = said(godwit_bench, *texts)
        assert (measured.tubes, measured.others, measured.match, measured.advice) == ((), (), None, None)


def test_no_turn_is_advised_where_nothing_fits(godwit_bench: Bench) -> None:
    assert said(godwit_bench, "V5 = 4.4 mV", "V6 = 4.5 mV").advice is None


def test_a_tenth_is_told_of_where_ten_ohms_are_drawn() -> None:
    tens = [(f'{name} = {{ value = "1"', f'{name} = {{ value = "10"') for name in ("R41", "R42")]
    found = said(bench_at("godwit_40", *tens), "V5 = 44.0 mV", "V6 = 44.1 mV").findings
    decade = next(f for f in found if f.rule == "idle-resistor-decade")
    assert (decade.what, decade.found, decade.wanted, decade.do) == (
        "the readings are about a tenth of what they should be", "V5 = 44.0 mV, V6 = 44.1 mV",
        "10 ohm at the cathodes, as in the build file",
        "plug out, look at the bands of R41: 1 ohm is brown black gold, 10 ohm brown black black; with 1 ohm write "
        "that into the build file",
    )  # fmt: skip


def test_one_tube_alone_in_fixed_bias_has_only_its_grid_to_look_at(godwit_bench: Bench) -> None:
    alone = replace(godwit_bench, stage=replace(godwit_bench.stage, tubes=godwit_bench.stage.tubes[:1]))
    (found,) = said(alone, "V5 = 4.4 mV").findings
    assert (found.rule, found.do) == (
        "idle-no-fit",
        "read the grid volts too: they tell a tube from a bias that is off; then put all your readings to lugwright "
        "trace",
    )
