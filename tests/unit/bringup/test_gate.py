from __future__ import annotations

from dataclasses import replace

import pytest

from lugwright.bringup.gate import Guard, burning, guards_before, missing, refusals
from lugwright.bringup.results import JudgedReading, Reading, Step
from lugwright.findings import Grade

BOND = Reading(
    "P1 earth pin to chassis", "earth", "ohms to chassis", 0.0, 0.0, 0.1, "ohm", red="P1.earth", black="chassis",
    guards="a wire that comes loose makes this metal live", deadly=True,
)  # fmt: skip
SUPPLY = Reading(
    "B+1 to ground", "B+1", "V dc", 400.0, 380.0, 420.0, "V", red="B+1", guards="a supply that is off burns things",
    stop_above=500.0, burns_above="C1 stands over its 500 V", stop_below=-1.0, burns_below="C1 may burst",
)  # fmt: skip
PLATE = Reading("V1 pin 1 (plate)", "V1.plate", "V dc", 200.0, 190.0, 210.0, "V", red="V1.1")


def step(number: int, key: str, *readings: Reading) -> Step:
    return Step(number, key.capitalize(), "", (), (), (), readings, 0.0, "", key)


STEPS = (step(1, "look"), step(2, "earth", BOND), step(3, "polarity"), step(4, "no tubes", SUPPLY, PLATE), step(5, "x"))


def taken(key: str, reading: Reading, value: float, verdict: str) -> dict[tuple[str, str], JudgedReading]:
    unit = "V" if reading.unit == "V" else "ohm"
    judged = JudgedReading(
        key, key, reading.point, reading.red, reading.black, "V dc", value, unit, 1.0, f"{value:g} {unit}", verdict,
        window=f"{reading.low:g} to {reading.high:g} {unit}",
    )  # fmt: skip
    return {(key, reading.point): judged}


GOOD = taken("earth", BOND, 0.05, "ok") | taken("no tubes", SUPPLY, 401.0, "ok")
TICKED = frozenset({"look", "polarity"})


def left(
    number: int,
    found: dict[tuple[str, str], JudgedReading],
    ticked: frozenset[str] = TICKED,
    passed_over: frozenset[str] = frozenset(),
) -> tuple[Guard, ...]:
    return missing(guards_before(STEPS, number), found, ticked=ticked, passed_over=passed_over)


def test_only_what_comes_before_a_step_guards_it() -> None:
    assert [guard.id for guard in guards_before(STEPS, 3)] == ["look", "earth: P1 earth pin to chassis"]
    assert [guard.id for guard in guards_before(STEPS, 5)][-1] == "no tubes: B+1 to ground"


def test_everything_read_and_ticked_opens_the_gate() -> None:
    assert left(5, GOOD) == ()


def test_a_reading_that_guards_nothing_does_not_close_the_gate() -> None:
    assert left(5, GOOD | taken("no tubes", PLATE, 5.0, "low")) == ()


def test_with_the_plug_out_a_reading_far_off_closes_the_gate_and_one_not_taken_does_not() -> None:
    ohms = Reading("V1 pin 8 (cathode b)", "V1b.cathode", "ohms to ground", 1500.0, 1470.0, 1530.0, "ohm", red="V1.8")
    steps = (replace(step(1, "ohms", ohms), mains="plug out"), step(2, "no tubes"))

    def closed(value: float, verdict: str) -> tuple[Guard, ...]:
        judged = replace(taken("ohms", ohms, value, verdict)["ohms", ohms.point], low=ohms.low, high=ohms.high)
        return missing(
            guards_before(steps, 2), {("ohms", ohms.point): judged}, ticked=frozenset(), passed_over=frozenset()
        )

    assert missing(guards_before(steps, 2), {}, ticked=frozenset(), passed_over=frozenset()) == ()
    assert closed(1500.0, "ok") == ()
    assert closed(1560.0, "high") == ()  # one of a hundred good readings lies outside its window
    (guard,) = closed(15020.0, "high")
    (finding,) = refusals([guard], taken("ohms", ohms, 15020.0, "high"))
    assert str(finding) == (
        "fault: V1 pin 8 (cathode b) reads too high [step-not-yet]\n"
        "  found:  15020 ohm at step 1, Ohms\n"
        "  wanted: 1470 to 1530 ohm: with the plug out it costs nothing to find out why\n"
        "  do:     read it once more; if it stays so, find out why before you go on: lugwright trace FILE"
    )
    assert missing([guard], {}, ticked=frozenset(), passed_over=frozenset({"ohms: V1 pin 8 (cathode b)"})) == ()


def test_a_step_nobody_said_is_done_closes_the_gate() -> None:
    (finding,) = refusals(left(5, GOOD, ticked=frozenset({"look"})), GOOD)
    assert str(finding) == (
        "danger: step 3, Polarity, is not done [step-not-yet]\n"
        "  found:  nobody has said that it is\n"
        "  wanted: every line of it looked at: an electrolytic the wrong way round heats, vents and may burst in your "
        "face\n"
        "  do:     lugwright power-up FILE --step 3, and then with --done"
    )


def test_a_reading_to_come_closes_the_gate() -> None:
    found = taken("earth", BOND, 0.05, "ok")
    (finding,) = refusals(left(5, found), found)
    assert str(finding) == (
        "fault: step 4, No tubes: 1 reading to come [step-not-yet]\n"
        "  found:  nothing at B+1 to ground\n"
        "  wanted: 380 V to 420 V: a supply that is off burns things\n"
        "  do:     take them: lugwright power-up FILE --step 4 --ask"
    )


def test_a_reading_outside_its_window_closes_the_gate() -> None:
    found = GOOD | taken("no tubes", SUPPLY, 430.0, "high")
    (finding,) = refusals(left(5, found), found)
    assert str(finding) == (
        "fault: B+1 to ground reads too high [step-not-yet]\n"
        "  found:  430 V at step 4, No tubes\n"
        "  wanted: 380 to 420 V: a supply that is off burns things\n"
        "  do:     read it once more; if it stays so, find out why before you go on: lugwright trace FILE"
    )


def test_what_can_hurt_is_never_passed_over() -> None:
    over = frozenset({"earth: P1 earth pin to chassis", "no tubes: B+1 to ground"})
    found = taken("earth", BOND, 3.0, "high") | taken("no tubes", SUPPLY, 430.0, "high")
    (guard,) = left(5, found, passed_over=over)
    assert guard.id == "earth: P1 earth pin to chassis"
    (finding,) = refusals((guard,), found)
    assert finding.grade is Grade.DANGER


def test_what_burns_at_a_reading_is_never_passed_over() -> None:
    over = frozenset({"no tubes: B+1 to ground"})
    high = GOOD | taken("no tubes", SUPPLY, 430.0, "high")
    assert left(5, high, passed_over=over) == ()
    burns = GOOD | {
        key: replace(reading, burns=SUPPLY.burns_above)
        for key, reading in taken("no tubes", SUPPLY, 510.0, "high").items()
    }
    (guard,) = left(5, burns, passed_over=over)
    assert guard.id == "no tubes: B+1 to ground"


def test_what_may_burn_at_a_reading_is_never_passed_over_and_its_feed_is_read_again() -> None:
    over = frozenset({"no tubes: B+1 to ground"})
    doubt = "R1 gets more than its 5 W unless B+0 really stands at the 205 V read there"
    low = GOOD | {
        key: replace(reading, feed="B+0", doubt=doubt)
        for key, reading in taken("no tubes", SUPPLY, 300.0, "low").items()
    }
    (guard,) = left(5, low, passed_over=over)
    (finding,) = refusals((guard,), low)
    assert finding.do == (
        f"read B+0 again, before anything else: {doubt}. If it stays so and no winding of the transformer is low by "
        "the same share, switch off, plug out; when in doubt, switch off first: lugwright trace FILE"
    )


def test_many_readings_to_come_are_told_in_one() -> None:
    many = tuple(
        Reading(f"P1 earth pin to R{k}", "earth", "ohms", 0.0, 0.0, 0.1, "ohm", guards="live metal", deadly=True)
        for k in range(5)
    )
    (finding,) = refusals(missing(guards_before((step(1, "earth", *many), step(2, "y")), 2), {}, ticked=frozenset(),
                                  passed_over=frozenset()), {})  # fmt: skip
    assert finding.what == "step 1, Earth: 5 readings to come"
    assert finding.found == "nothing at P1 earth pin to R0; P1 earth pin to R1; P1 earth pin to R2 and 2 more"
    assert finding.wanted == "live metal"


@pytest.mark.parametrize(
    ("value", "words"),
    [
        (430.0, ""),
        (501.0, "C1 stands over its 500 V"),
        (-3.0, "C1 may burst"),
        (float("inf"), "C1 stands over its 500 V"),
    ],
)
def test_a_reading_beyond_its_limit_says_what_burns(value: float, words: str) -> None:
    assert burning(SUPPLY, value, off=True) == words
    assert burning(PLATE, value, off=True) == ""
    assert burning(BOND, 3.0, off=True) == BOND.guards
    assert burning(BOND, 0.05, off=False) == ""
