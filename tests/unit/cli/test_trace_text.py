"""What tracing doubts is told with how it came about."""

from __future__ import annotations

from dataclasses import replace

from lugwright.bringup.trace_results import NextWords, OutcomeWords, SignWords, SlipWords, TracedReading, Tracing
from lugwright.cli.trace_text import signs_text, tracing_text

GOOD = TracedReading("all tubes", "V1 pin 1 to ground", "V dc", 161.0, "161 V", 0.01)
SLIP = SlipWords("tip on V1.7", 0.7, "the tip was on V1 pin 7 instead of V1 pin 8", "read it again")
DOUBTED = TracedReading("all tubes", "V1 pin 8 to ground", "V dc", 0.0, "0 V", 0.8, (SLIP,))
FOUND = Tracing("open", "Not clear yet.", "", 0.6, 0.1, (), (), (), (GOOD, DOUBTED), 0, (), 600)


def test_a_doubted_reading_says_how_it_was_perhaps_taken() -> None:
    assert tracing_text(FOUND).splitlines()[:5] == [
        "Readings weighed: 2",
        "  1  all tubes: V1 pin 1 to ground 161 V",
        "  2  all tubes: V1 pin 8 to ground 0 V",
        "       perhaps taken wrongly (80 %); if so, most likely the tip was on V1 pin 7 instead of V1 pin 8: read it",
        "           again",
    ]


def test_with_ohms_alone_the_plug_is_kept_out_and_with_volts_it_is_pulled() -> None:
    burning = replace(FOUND, switch_off="half the heater winding is shorted")
    assert tracing_text(burning).splitlines()[0] == "SWITCH OFF NOW: half the heater winding is shorted."
    cold = replace(burning, readings=(replace(GOOD, step="ohms"),))
    assert tracing_text(cold).splitlines()[0] == "KEEP THE PLUG OUT: half the heater winding is shorted."


def test_a_feed_in_doubt_is_told_before_the_suspects() -> None:
    told = tracing_text(replace(FOUND, again="read B+1 again, before anything else")).splitlines()
    assert told[:3] == ["IN DOUBT: read B+1 again, before anything else.", "", "Readings weighed: 2"]


def test_what_is_found_says_how_to_go_on_once_it_is_mended() -> None:
    mended = (
        "Mended? Read again what was off, each in its step: the last reading counts. Then go on: lugwright power-up "
        "FILE"
    )
    for state, told in (("found", True), ("look", True), ("open", False), ("nearly", False)):
        assert (mended in tracing_text(replace(FOUND, state=state))) == told
    read = replace(LOOK, quantity="ohm", point="V1 pin 4 to ground")
    assert "Measure next: V1 pin 4 to ground, ohm" in tracing_text(replace(FOUND, next=(read,)))
    little = tracing_text(replace(FOUND, state="look", next=(read,)))
    assert "If you would rather read on than look: V1 pin 4 to ground, ohm" in little


def test_a_doubted_reading_without_a_known_way() -> None:
    found = replace(FOUND, readings=(replace(DOUBTED, slips=()),))
    assert "       perhaps taken wrongly (80 %): read it again\n" in tracing_text(found)


def test_where_readings_are_not_listed_the_doubted_ones_still_are() -> None:
    lines = tracing_text(FOUND, readings=False).splitlines()
    assert lines[0] == "Reading 2, all tubes: V1 pin 8 to ground 0 V"
    assert lines[1].startswith("       perhaps taken wrongly (80 %)")
    assert not any("pin 1 to" in line for line in lines)


def test_of_many_readings_only_the_doubted_ones_are_listed() -> None:
    many = replace(FOUND, readings=(*(GOOD,) * 12, DOUBTED))
    lines = tracing_text(many).splitlines()
    assert lines[:2] == [
        "Readings weighed: 13 (lugwright read FILE --list)",
        "Reading 13, all tubes: V1 pin 8 to ground 0 V",
    ]
    assert not any("pin 1 to" in line for line in lines)


SEEN = TracedReading("all tubes", "heater dark V2", "sign", 1.0, "yes", 0.3)
LOOK = NextWords(
    "all tubes", "mains on, every tube fitted", "look whether the heater of V2 stays dark", "heater dark V2", "",
    "sign", 0.8, 5.0, "hands off",
    (OutcomeWords(0.5, None, "yes", ("the heater of V2 is open",), 0),
     OutcomeWords(None, 0.5, "no", ("nothing is wrong",), 0)),
)  # fmt: skip


def test_a_sign_is_told_by_its_name_and_doubted_in_its_own_words() -> None:
    assert tracing_text(replace(FOUND, readings=(SEEN,))).splitlines()[:3] == [
        "Readings weighed: 1",
        "  1  heater dark V2: yes",
        "       perhaps not so, or not from inside this build (30 %): look once more",
    ]


def test_a_look_is_proposed_like_a_reading() -> None:
    lines = tracing_text(replace(FOUND, next=(LOOK, LOOK))).splitlines()
    assert lines[-7:] == [
        "Next: look whether the heater of V2 stays dark (mains on, every tube fitted)",
        "  caution: hands off",
        "  yes: the heater of V2 is open",
        "  no: nothing is wrong",
        "",
        "Nearly as telling:",
        "  look whether the heater of V2 stays dark (mains on, every tube fitted)",
    ]


def test_the_signs_of_a_build_with_what_was_told_of_them() -> None:
    signs = (
        SignWords("hum", "listen", "all tubes", "mains on", seen=None, harm=""),
        SignWords("heater dark V2", "look", "all tubes", "mains on", seen=False, harm=""),
    )
    assert [line.split() for line in signs_text(signs).splitlines()] == [
        ["sign", "seen", "from", "how", "to", "find", "out"],
        ["--------------", "----", "--------", "---------------"],
        ["hum", "mains", "on", "listen"],
        ["heater", "dark", "V2", "no", "mains", "on", "look"],
    ]
