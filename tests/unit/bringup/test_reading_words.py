"""Points as builders say them, readings held against the chart, refusals word for word."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lugwright.bringup.before_mains import before_mains
from lugwright.bringup.charted import Charts, charted_steps, step_named
from lugwright.bringup.ohms_chart import ohms_chart
from lugwright.bringup.reading_points import ReadingPoints
from lugwright.bringup.reading_words import body_of_reading, reading_again, reading_from_words
from lugwright.bringup.results import JudgedReading, Step
from lugwright.buildfile.build import Build
from lugwright.circuit.network import Circuit
from lugwright.errors import NoSuchPoint, ReadingError
from lugwright.log.measured_bodies import ReadingBody
from lugwright.solve.idle import solve_columns
from lugwright.solve.readout import read_idle

from ..workorder.small_build import small_build, small_plan

Built = tuple[Build, Circuit]


def charts_for(built: Built, steps: tuple[Step, ...]) -> Charts:
    build, circuit = built
    (solved,) = solve_columns(circuit)
    idle = read_idle(solved)
    volts = {joint: level.volts for joint, level in idle.joints.items()}
    before = before_mains(build, circuit, idle, ohms_chart(build, circuit), plan=None, joint_volts=volts)
    return Charts(
        ReadingPoints(build),
        charted_steps([replace(step, number=n) for n, step in enumerate((*before, *steps), start=1)]),
    )


@pytest.fixture(scope="module")
def charts(dunlin: Built, dunlin_steps: tuple[Step, ...]) -> Charts:
    return charts_for(dunlin, dunlin_steps)


@pytest.fixture(scope="module")
def fixed(godwit: Built, godwit_steps: tuple[Step, ...]) -> Charts:
    return charts_for(godwit, godwit_steps)


@pytest.fixture
def planned() -> ReadingPoints:
    return ReadingPoints(small_build(), small_plan())


@pytest.mark.parametrize(
    ("said", "red", "black"),
    [
        ("V1 pin 6", "V1.6", "ground"),
        ("V1.6", "V1.6", "ground"),
        ("v1  PIN 6 (plate b)", "V1.6", "ground"),
        ("V1b.plate", "V1.6", "ground"),
        ("V1b plate", "V1.6", "ground"),
        ("V1b anode", "V1.6", "ground"),
        ("V2 g2", "V2.4", "ground"),
        ("V2 pin 2 to pin 7", "V2.2", "V2.7"),
        ("V2 pin 2 (heater1) to pin 7 (heater2)", "V2.2", "V2.7"),
        ("V2 pin 8 to V2 pin 3", "V2.8", "V2.3"),
        ("B+2", "B+2", "ground"),
        ("B+2 to ground", "B+2", "ground"),
        ("b+1 to b+2", "B+1", "B+2"),
        ("heater 1 to heater 2", "heater 1", "heater 2"),
        ("T1 lead hv.1 to ground", "T1.hv.1", "ground"),
        ("T1 hv.1 to hv.3", "T1.hv.1", "T1.hv.3"),
        ("R5 lug 2", "R5.2", "ground"),
        ("Volume wiper", "R5.2", "ground"),
        ("Volume lug 3", "R5.3", "ground"),
        ("J1 tip", "J1.tip", "ground"),
        ("C6.a", "C6.a", "ground"),
        ("C7 +", "C7.1", "ground"),
        ("CR1 anode", "CR1.anode", "ground"),
        ("R12", "R12.1", "R12.2"),
        ("across R12", "R12.1", "R12.2"),
        ("P1 earth to chassis", "P1.earth", "chassis"),
        ("R3.1", "R3.1", "ground"),
    ],
)
def test_points_are_understood_as_builders_say_them(charts: Charts, said: str, red: str, black: str) -> None:
    held = charts.points.held(said)
    assert (held.red.key, held.black.key) == (red, black)


def test_with_a_plan_strips_have_their_lugs_and_parts_lie_in_them(planned: ReadingPoints) -> None:
    assert planned.held("strip A lug 4").red == planned.held("A.4").red == planned.held("a 4").red
    plan = planned.plan
    assert plan is not None
    seat = next(seat for seat in plan.seats if seat.part == "R3")
    assert planned.held("R3.1").red.key == seat.terminals[0]
    assert planned.held("R3.1").red.joint == "B+1"
    for key, terminal in plan.terminals.items():
        assert planned.spot(key).key == key
        assert planned.spot(key).joint == planned.spot(terminal.label).joint == terminal.joint


@pytest.mark.parametrize(
    ("said", "found", "do"),
    [
        ("V1 pin 61", "V1 pin 61", "write 'V1 pin 6 (plate b)'"),
        ("Volum lug 3", "Volum lug 3", "write 'R5 lug 3'"),
        ("V2 pin 2 to pin 9", "V2 pin 9", "write 'V2 pin 8 (cathode)'"),
        ("V1 pin 6 to V1b.plate", "both leads on the same point", "name where the red lead was"),
        ("\x1b[2J", "a point in printable letters", "look at the points: lugwright charts FILE"),
        ("", "", "look at the points: lugwright charts FILE"),
    ],
)
def test_an_unknown_point_is_refused_with_the_nearest_name(charts: Charts, said: str, found: str, do: str) -> None:
    with pytest.raises(NoSuchPoint) as caught:
        charts.points.held(said)
    assert (caught.value.found, caught.value.do) == (found, do)
    assert caught.value.what.startswith("there is no point ")
    assert caught.value.what.endswith(" to read")


def test_leads_have_colors_and_a_name_that_several_points_share_is_refused(planned: ReadingPoints) -> None:
    assert planned.held("T1 red").red.key == "T1.hv.1"
    assert planned.held("T1 red/yellow lead").red.key == "T1.hv.2"
    with pytest.raises(NoSuchPoint) as caught:
        planned.held("T1 green")
    assert caught.value.what == "there is no point 't1 green' to read"
    assert caught.value.found == "it may be T1.heater.1 or T1.heater.2"
    assert caught.value.wanted == "a name that only one point has"
    assert caught.value.do == "write 'T1.heater.1'"


def test_a_lug_without_a_plan_sends_to_the_plan(charts: Charts) -> None:
    for said in ("strip A lug 4", "A.4"):
        with pytest.raises(NoSuchPoint) as caught:
            charts.points.held(said)
        assert caught.value.do == "plan first, the plan says what is where on a strip: lugwright plan FILE"
        assert caught.value.wanted == (
            '"V1 pin 6", "V1a.plate", "strip A lug 4", "R5 lug 2", "T1 hv.1 to hv.3", "B+2", or two of them with "to"'
        )


@pytest.mark.parametrize("name", ["dunlin", "godwit", "curlew"])
def test_every_row_of_every_chart_can_be_read_as_it_is_printed(name: str, request: pytest.FixtureRequest) -> None:
    """What is expected there, written down with the words of the chart, is found in that row and is right."""
    built, steps = request.getfixturevalue(name), request.getfixturevalue(f"{name}_steps")
    charts = charts_for(built, steps)
    count = 0
    for step in charts.steps:
        for row in step.readings:
            if row.unit not in ("V", "ohm"):
                continue
            value = "OL" if math.isinf(row.expected) else f"{row.expected:.9f} {row.unit}"
            if row.quantity == "V ac":
                value += "ac"
            taken = reading_from_words(charts, step, row.point, value)
            assert taken.verdict == "ok", (step.key, row)
            count += 1
    assert count > 80


def taken(charts: Charts, step: str, point: str, value: str) -> JudgedReading:
    return reading_from_words(charts, step_named(step, charts.steps), point, value)


def test_a_reading_is_held_against_the_window_of_its_step(charts: Charts) -> None:
    row = next(r for r in step_named("all tubes", charts.steps).readings if r.point == "V2 pin 8 (cathode)")
    right = taken(charts, "all tubes", "V2 pin 8", f"{row.expected:.1f}")
    assert (right.verdict, right.quantity, right.red, right.low, right.high) == (
        "ok", "V dc", "V2.8", row.low, row.high,
    )  # fmt: skip
    assert right.expected == row.expected
    assert right.window == f"{row.low:.1f} V to {row.high:.1f} V"
    assert taken(charts, "all tubes", "V2 pin 8", f"{row.high + 1.0:.1f} V").verdict == "high"
    assert taken(charts, "all tubes", "V2 pin 8", f"{row.low - 1.0:.1f} V").verdict == "low"


def test_the_other_end_of_a_wire_and_swapped_leads_are_the_same_row(charts: Charts) -> None:
    straight = taken(charts, "all tubes", "R12 lead 1", "14.0 V")
    assert straight.verdict == "ok"
    assert straight.red == "R12.1"
    turned = taken(charts, "all tubes", "ground to V2 pin 8", "-14.0 V")
    assert (turned.verdict, turned.expected) == ("ok", pytest.approx(-straight.expected))
    assert turned.low < turned.expected < turned.high < 0.0


def test_the_last_place_of_the_display_counts_half(charts: Charts) -> None:
    row = next(r for r in step_named("all tubes", charts.steps).readings if r.point == "B+1 to ground")
    just = math.floor(row.high) + 1
    assert taken(charts, "all tubes", "B+1", f"{just}").verdict == ("ok" if just - 0.5 <= row.high else "high")
    assert taken(charts, "all tubes", "B+1", f"{just + 0.0:.2f}").verdict == "high"


def test_a_rounded_value_is_not_taken_for_right(charts: Charts) -> None:
    """1M and 3 V say too little to be held against windows that are narrower: half a last place counts up to 2 %."""
    grid = next(r for r in step_named("ohms", charts.steps).readings if r.point == "V1 pin 2 (grid a)")
    assert grid.low < 68e3 < grid.high
    assert taken(charts, "ohms", "V1 pin 2", "68k").verdict == "ok"
    assert taken(charts, "ohms", "V1 pin 2", "0.1M").verdict == "high"
    assert taken(charts, "all tubes", "V1 pin 3", "2 V").verdict == "high"


def test_what_is_read_follows_from_unit_step_and_chart(charts: Charts) -> None:
    assert taken(charts, "heaters", "V2 pin 2 to pin 7", "6.6").quantity == "V ac"
    assert taken(charts, "heaters", "V2 pin 2 to pin 7", "6.6 V").quantity == "V ac"
    assert taken(charts, "no tubes", "B+1", "305").quantity == "V dc"
    assert taken(charts, "no tubes", "B+1", "1.2 Vac").quantity == "ripple V ac"
    assert taken(charts, "ohms", "V1 pin 1", "330k").quantity == "ohm"
    assert taken(charts, "ohms", "across R12", "331").quantity == "ohm"
    assert taken(charts, "ohms", "B+1", "0.4 V").quantity == "V dc"
    assert taken(charts, "all tubes", "R12.1", "40 mA").quantity == "A dc"
    assert taken(charts, "all tubes", "R12.1", "40 mA").verdict == "not charted"


def test_a_meter_whose_ranges_end_earlier_reads_over_range_rightly(charts: Charts) -> None:
    row = next(r for r in step_named("ohms", charts.steps).readings if r.point == "V1 pin 1 (plate a)")
    assert taken(charts, "ohms", "V1 pin 1", "OL").verdict == ("ok" if row.high >= 20e6 else "high")
    over = next((r for r in step_named("ohms", charts.steps).readings if math.isinf(r.expected)), None)
    if over is not None:
        assert taken(charts, "ohms", over.point, "OL").verdict == "ok"


def test_the_ends_of_a_control_are_conditions_of_the_same_point(fixed: Charts) -> None:
    step = step_named("bias", fixed.steps)
    row = next(r for r in step.readings if r.point.endswith("full clockwise") and r.point.startswith("V5"))
    said = taken(fixed, "bias", "V5 pin 5, full clockwise", f"{row.expected:.1f}")
    assert (said.verdict, said.condition) == ("ok", row.point.partition(", ")[2])
    assert taken(fixed, "bias", "V5 pin 5", f"{row.expected:.1f}").condition == ""


def test_a_reading_comes_back_from_the_log_as_it_was(charts: Charts) -> None:
    first = taken(charts, "all tubes", "V2 pin 8", "14.20 V")
    body = ReadingBody.model_validate(body_of_reading(first, words="V2 pin 8 = 14.20 V", meter="yellow"))
    assert (body.value, body.unit, body.meter, body.words) == (14.2, "V", "yellow", "V2 pin 8 = 14.20 V")
    assert reading_again(charts, body) == first
    assert first.shown == "14.20 V dc"
    over = taken(charts, "ohms", "V1 pin 1", "OL")
    body = ReadingBody.model_validate(body_of_reading(over, words="", meter=""))
    assert body.over_range
    assert reading_again(charts, body) == over
    assert over.shown == "over range"


@pytest.mark.parametrize(
    ("step", "point", "value", "words"),
    [
        ("all tubes", "B+1", "1k2",
         ("B+1 cannot read that", "1k2 at {last}",
          "volts: an ohmmeter on a live circuit lies, and is destroyed",
          "take ohms with the plug out and every filter capacitor below 60 V, and write --step ohms")),
        ("ohms", "R12", "-330",
         ("R12 cannot read that", "-330", "ohms that are not negative",
          "negative ohms mean that volts stand there: plug out, every filter capacitor below 60 V, then read again")),
        ("all tubes", "V2 pin 2 to pin 7", "-6.3",
         ("V2 pin 2 to pin 7 cannot read that", "-6.3", "volts of alternating current without a sign",
          "write 'V dc', or take the sign out")),
        ("99", "B+1", "3",
         ("there is no step '99'", "99", "one of {steps}; or its number", "look at the steps: lugwright charts FILE")),
        ("al tubes", "B+1", "3",
         ("there is no step 'al tubes'", "al tubes", "one of {steps}; or its number", "write 'all tubes'")),
    ],
)  # fmt: skip
def test_what_cannot_be_read_there_is_refused(
    charts: Charts, step: str, point: str, value: str, words: tuple[str, ...]
) -> None:
    with pytest.raises(ReadingError) as caught:
        taken(charts, step, point, value)
    error = caught.value
    said = {"last": step_named("all tubes", charts.steps).words, "steps": "; ".join(s.key for s in charts.steps)}
    assert (error.what, error.found, error.wanted, error.do) == tuple(each.format(**said) for each in words)


def test_steps_have_several_names(charts: Charts) -> None:
    for step in charts.steps:
        assert step_named(step.key, charts.steps) == step
        assert step_named(step.key.upper().replace(",", " "), charts.steps) == step
        assert step_named(step.title, charts.steps) == step
        assert not step.number or step_named(str(step.number), charts.steps) == step


@settings(deadline=None, derandomize=True, max_examples=200)
@given(st.text(max_size=40))
def test_any_text_is_a_point_or_is_refused(charts: Charts, text: str) -> None:
    try:
        held = charts.points.held(text)
    except NoSuchPoint:
        return
    assert held.red.key
