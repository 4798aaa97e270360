"""Findings on oscillation and feedback, word for word."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from lugwright.buildfile.build import Build
from lugwright.buildfile.read import read_build
from lugwright.findings import Grade
from lugwright.solve.response_results import AmplifierResponse, LoopGain, Margin, Pole, Poles, TurnedPole
from lugwright.solve.stability import stability_findings

from ...sample_response import LOOP, RESPONSE

EXAMPLES = Path(__file__).parents[3] / "examples"
TREMOLO = Pole(6.6, 8.7, -0.2, ("shift 1", "V2a.grid", "shift 2"), 1e-15)


def _build(stem: str) -> Build:
    build = read_build(EXAMPLES / f"{stem}.toml").build
    assert build is not None
    return build


def _response(*poles: Pole, loop: LoopGain | None = None) -> AmplifierResponse:
    return replace(RESPONSE, poles=Poles(len(poles), poles), loop=loop)


@pytest.mark.parametrize(
    ("hertz", "growth", "grade", "what", "swing", "do"),
    [
        (71234.0, 7.9e4, Grade.FAULT, "will oscillate at about 71 kHz", "13 µs",
         "a capacitor across the feedback resistor, another between the phase inverter's plates, grid stoppers"),
        (2.2, 1.5, Grade.FAULT, "will oscillate at about 2.2 Hz", "670 ms",
         "make one coupling capacitor in the loop much smaller than the others, or the filter capacitor larger"),
        (440.0, 50.0, Grade.FAULT, "will oscillate at about 440 Hz", "20 ms",
         "look for two stages that share a cathode, a filter capacitor or a ground return"),
        (3.3e7, 1e6, Grade.DOUBT, "may oscillate at about 33 MHz", "1.0 µs",
         "a capacitor across the feedback resistor, another between the phase inverter's plates, grid stoppers"),
        (0.0, 2.0, Grade.FAULT, "the idle does not hold: it runs away", "500 ms",
         "look for a path by which a plate drives its own grid upward"),
    ],
)  # fmt: skip
def test_a_pole_that_grows(hertz: float, growth: float, grade: Grade, what: str, swing: str, do: str) -> None:
    (finding,) = stability_findings(
        _build("godwit_40"), _response(Pole(hertz, growth, -0.1, ("V6.plate", "drive b"), 0.0))
    )
    assert finding.grade is grade
    assert finding.what == what
    assert finding.found == f"a swing that grows 2.7-fold in {swing}, most of it at V6.plate, drive b"
    assert finding.wanted == "every swing dying away by itself"
    assert finding.do == do
    assert finding.part == "V6"


def test_poles_that_die_away_are_no_finding() -> None:
    assert stability_findings(_build("godwit_40"), RESPONSE) == ()


def test_what_grows_with_knobs_turned_is_one_finding_about_the_worst() -> None:
    slow, fast = (Pole(71e3, growth, -0.1, ("V6.plate",), 0.0) for growth in (2e3, 5e4))
    turned = (TurnedPole("Presence 1", slow), TurnedPole("every knob full", fast), TurnedPole("every knob full", slow))
    response = replace(_response(), turned=turned)
    (finding,) = stability_findings(_build("godwit_40"), response)
    assert str(finding).splitlines()[:2] == [
        "fault: will oscillate at about 71 kHz with every knob full [oscillates-when-turned]",
        "  found:  a swing that grows 2.7-fold in 20 µs, most of it at V6.plate; also with Presence 1",
    ]
    as_set = replace(response, poles=Poles(1, (slow,)))
    assert [f.rule for f in stability_findings(_build("godwit_40"), as_set)] == ["will-oscillate"]


def test_a_tremolo_that_swings_at_every_setting_is_no_finding() -> None:
    response = replace(_response(TREMOLO), turned=(TurnedPole("Speed 1", TREMOLO), TurnedPole("Depth 0", TREMOLO)))
    assert stability_findings(_build("curlew_18"), response) == ()


def test_a_tremolo_may_swing_and_a_still_one_is_doubtful() -> None:
    build = _build("curlew_18")
    assert stability_findings(build, _response(TREMOLO)) == ()
    (still,) = stability_findings(build, _response())
    assert str(still) == (
        "doubt: the tremolo does not start by itself [tremolo-still]\n"
        "  found:  no swing below 20 Hz that grows in stage Tremolo\n"
        "  wanted: a swing of a few hertz that grows\n"
        "  do:     turn Speed and Depth; else give its tube more gain: a bypassed cathode, a larger plate resistor"
    )


def test_the_same_swing_outside_a_tremolo_is_a_fault() -> None:
    (finding,) = stability_findings(_build("godwit_40"), _response(TREMOLO))
    assert finding.rule == "will-oscillate"


def test_feedback_that_adds() -> None:
    loop = replace(LOOP, positive=True, reduction_db=-4.5)
    (finding,) = stability_findings(_build("godwit_40"), _response(loop=loop))
    assert str(finding) == (
        "fault: the feedback adds to the signal instead of taking from it [feedback-adds]\n"
        "  found:  4.5 dB more gain at 1 kHz through R33\n"
        "  wanted: less gain with the feedback than without\n"
        "  do:     swap the two plate leads of the output transformer, or the two ends of its speaker winding"
    )


def test_swings_of_feedback_that_adds_are_not_listed_besides() -> None:
    loop = replace(LOOP, positive=True)
    found = stability_findings(_build("godwit_40"), _response(Pole(130.0, 110.0, -0.1, ("LS1.cone",), 0.0), loop=loop))
    assert [finding.rule for finding in found] == ["feedback-adds"]


def test_a_thin_margin() -> None:
    loop = replace(LOOP, margins=(Margin(2.0, gain_db=3.2), Margin(71e3, phase_deg=12.4)))
    (finding,) = stability_findings(_build("godwit_40"), _response(loop=loop))
    assert str(finding) == (
        "doubt: the feedback is not far from oscillating [thin-margin]\n"
        "  found:  left: 12° of phase at 71 kHz and 3.2 dB of gain at 2.0 Hz\n"
        "  wanted: 30° of phase and 6 dB of gain\n"
        "  do:     less feedback through R33, or a capacitor that shapes it"
    )


def test_an_amplifier_that_oscillates_gets_no_word_about_its_margin() -> None:
    loop = replace(LOOP, margins=(Margin(71e3, phase_deg=-3.0),))
    found = stability_findings(_build("godwit_40"), _response(Pole(71e3, 8e4, -0.1, ("V6.plate",), 0.0), loop=loop))
    assert [finding.rule for finding in found] == ["will-oscillate"]
