from __future__ import annotations

import math
from dataclasses import replace

import pytest

from lugwright.bringup.faults.fault import Fault
from lugwright.bringup.faults.wrong_readings import WrongReading
from lugwright.bringup.trace.bench import FINAL, OHMS
from lugwright.bringup.trace.records import NextReading, Probe, Suspect, Taken, Verdict
from lugwright.bringup.trace.report import (
    OFF_CAUTION,
    ON_CAUTION,
    Words,
    percent,
    range_words,
    state_of,
    together_words,
    value_words,
)
from lugwright.bringup.trace_results import FaultWords, SlipWords
from lugwright.circuit.rewiring import Rewiring
from lugwright.workorder.results import Job, WorkOrder

WIRE = Fault(
    "missing W17", "F57", "wire W17, red, from strip B lug 3 to V2 pin 1 (plate a), is missing", "solder it in", 1.0,
    Rewiring(""), wires=(17,),
)  # fmt: skip
BIAS = Fault("open R9", "F33", "R9 (10 kΩ) is open", "replace it", 1.0, Rewiring(""), "R9", danger="plates glow")
JOB = Job(31, "B+", "Wire B+", (), ("R9",), (17,), (), (), (), (), ())
WORDS = Words({"missing W17": WIRE, "open R9": BIAS}, WorkOrder((JOB,), (), (), ()), {OHMS: "plug out"})
PROBE = Probe(OHMS, "V2.1", "ground", "ohm", "V2 pin 1 (plate a) to ground", 12.0, 0.0)
TAKEN = Taken(PROBE, math.inf, 0.0)
OPEN = Verdict(0.2, 0.1, {0: 0.3}, (Suspect(("missing W17", "open R9"), 0.6),), (), ())


def test_a_suspect_in_words_with_its_card_and_danger() -> None:
    found = WORDS.tracing(OPEN, [TAKEN], {})
    (suspect,) = found.suspects
    assert suspect.words == "these two cannot be told apart by the readings so far"
    assert suspect.faults[0] == FaultWords(
        "missing W17", "F57", "wire W17, red, from strip B lug 3 to V2 pin 1 (plate a), is missing", "solder it in",
        "", "",
    )  # fmt: skip
    assert suspect.faults[1].card == "card 31"
    assert suspect.faults[1].danger == "plates glow"


def test_the_reading_that_was_weighed_is_told_with_its_doubt() -> None:
    (reading,) = WORDS.tracing(OPEN, [TAKEN], {}).readings
    assert (reading.shown, reading.value, reading.wrong) == ("over range", None, 0.3)
    assert reading.point == "V2 pin 1 (plate a) to ground"


def test_no_outcome_is_told_that_an_ohmmeter_cannot_show() -> None:
    outcomes = ((-math.inf, -0.08, ("missing W17",)), (-0.08, 4.0, ("open R9",)), (4.0, math.inf, ("",)))
    for probe, told in (
        (PROBE, ["under 4.00 Ω", "over 4.00 Ω"]),
        (replace(PROBE, quantity="V dc"), ["under -80.0 mV", "-80.0 mV to 4.00 V", "over 4.00 V"]),
    ):
        verdict = replace(OPEN, next=(NextReading(probe, 0.8, outcomes),))
        (ahead,) = WORDS.tracing(verdict, [TAKEN], {probe: 12.0}).next
        assert [outcome.words for outcome in ahead.outcomes] == told


def test_the_next_reading_says_what_each_outcome_would_mean() -> None:
    outcomes = ((-math.inf, 7.29e6, ("missing W17",)), (7.29e6, math.inf, ("open R9", "")))
    verdict = replace(OPEN, next=(NextReading(PROBE, 0.8, outcomes),))
    (ahead,) = WORDS.tracing(verdict, [TAKEN], {PROBE: 12.0}).next
    assert (ahead.title, ahead.caution, ahead.seconds) == ("plug out", OFF_CAUTION, 12.0)
    assert [outcome.words for outcome in ahead.outcomes] == ["under 7.29 MΩ", "over 7.29 MΩ"]
    assert ahead.outcomes[0].means == (WIRE.what,)
    assert ahead.outcomes[1].means == ("R9 (10 kΩ) is open", "nothing is wrong")
    assert ahead.outcomes[0].low is None


def test_volts_come_with_their_caution() -> None:
    probe = replace(PROBE, step=FINAL, quantity="V dc")
    verdict = replace(OPEN, next=(NextReading(probe, 0.8, ()),))
    assert WORDS.tracing(verdict, [TAKEN], {probe: 60.0}).next[0].caution == ON_CAUTION


def test_long_lists_of_meanings_are_counted() -> None:
    outcomes = ((-math.inf, math.inf, ("missing W17", "open R9", "", "missing W17", "open R9")),)
    verdict = replace(OPEN, next=(NextReading(PROBE, 0.8, outcomes),))
    (outcome,) = WORDS.tracing(verdict, [TAKEN], {PROBE: 1.0}).next[0].outcomes
    assert (len(outcome.means), outcome.more) == (3, 2)


def test_two_faults_at_once_are_told_apart_from_groups() -> None:
    verdict = replace(OPEN, pairs=(Suspect(("a",), 0.3, together=(("missing W17", "open R9"),)),))
    (pair,) = WORDS.tracing(verdict, [TAKEN], {}).pairs
    assert pair.words == "both at once"
    assert [fault.key for fault in pair.faults] == ["missing W17", "open R9"]


@pytest.mark.parametrize(
    ("verdict", "state", "words"),
    [
        (OPEN, "open", "Not clear yet: take the reading below."),
        (replace(OPEN, found=True), "found",
         "Found, as far as readings can tell (60 %). Look there before anything else is touched."),
        (replace(OPEN, good=True), "good",
         "These readings are those of a good build: nothing that they could show is wrong."),
        (replace(OPEN, none_of_these=0.7), "none of these",
         "None of the faults on the list explains these readings (70 %). Read two of the points again, then compare "
         "the wiring with the plan by eye."),
    ],
)  # fmt: skip
def test_where_tracing_stands(verdict: Verdict, state: str, words: str) -> None:
    found = WORDS.tracing(verdict, [TAKEN], {})
    assert (found.state, found.words) == (state, words)


def test_many_suspects_that_a_reading_could_tell_apart_are_not_found_yet() -> None:
    many = tuple(f"missing W{n}" for n in range(9))
    verdict = replace(OPEN, found=True, suspects=(Suspect(many, 0.97),), next=(NextReading(PROBE, 1.4, ()),))
    assert state_of(verdict, [TAKEN]) == "nearly"
    assert state_of(replace(verdict, suspects=(Suspect(many, 0.97, for_good=True),)), [TAKEN]) == "found"


def test_a_group_that_no_reading_takes_apart_is_to_be_looked_at() -> None:
    group = Suspect(("missing W17", "open R9"), 0.77, for_good=True)
    verdict = replace(OPEN, suspects=(group,), next=(NextReading(PROBE, 0.02, ()),))
    found = WORDS.tracing(verdict, [TAKEN], {PROBE: 1.0})
    assert found.state == "look"
    assert found.words == (
        "One of the first group (77 %), and no reading that may be taken now tells which: look."
    )  # fmt: skip
    assert state_of(replace(verdict, next=(NextReading(PROBE, 0.9, ()),)), [TAKEN]) == "open"


def test_before_the_first_reading() -> None:
    found = WORDS.tracing(OPEN, [], {})
    assert found.words == "No reading yet. Begin with what looked wrong, or with the reading below."
    assert found.suspects == ()


def test_words_of_groups() -> None:
    assert together_words(1, for_good=False) == ""
    assert together_words(3, for_good=False) == "these three cannot be told apart by the readings so far"
    assert together_words(12, for_good=True) == "no reading on the list tells these 12 apart: look at each"


def test_chances_are_never_certain() -> None:
    assert [percent(x) for x in (1.0, 0.994, 0.5, 0.012, 0.0)] == [
        "over 99 %", "over 99 %", "50 %", "1 %", "under 1 %"
    ]  # fmt: skip


def test_words_of_values_and_ranges() -> None:
    assert value_words("V dc", 203.0) == "203 V"
    assert value_words("ripple V ac", 0.012) == "12.0 mV ac"
    assert value_words("ohm", math.inf) == "over range"
    assert value_words("sign", 1.0) == "yes"
    assert range_words("V dc", -math.inf, math.inf) == "whatever it reads"
    assert range_words("V dc", 1.0, 40.0) == "1.00 V to 40.0 V"
    assert range_words("ohm", math.inf, math.inf) == "over range"
    assert range_words("sign", -math.inf, 0.5) == "no"
    assert range_words("sign", 0.5, math.inf) == "yes"


def test_how_a_reading_was_perhaps_taken_is_named_likeliest_first() -> None:
    def ways(probe: Probe) -> tuple[WrongReading, ...]:
        return tuple(
            WrongReading(key, f"{key} of {probe.red}", "read it again", 1.0, "V2.2", "ohm") for key in ("a", "b", "c")
        )

    verdict = replace(OPEN, wrong_reading={0: 0.9}, slips={(0, "a"): 0.2, (0, "b"): 0.6, (0, "c"): 0.05, (1, "c"): 0.9})
    (reading,) = replace(WORDS, ways=ways).tracing(verdict, [TAKEN], {}).readings
    assert reading.slips == (
        SlipWords("b", 0.6, "b of V2.1", "read it again"),
        SlipWords("a", 0.2, "a of V2.1", "read it again"),
    )
    assert WORDS.tracing(OPEN, [TAKEN], {}).readings[0].slips == ()
