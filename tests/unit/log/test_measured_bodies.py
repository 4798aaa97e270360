"""What is measured, fitted, set and photographed: checked bodies, what counts, and the way out and in again."""

from __future__ import annotations

import pytest

from lugwright.errors import LogError
from lugwright.log.events import Entry, body_of
from lugwright.log.exchange import from_text, to_csv, to_json_lines
from lugwright.log.measured_bodies import MEASURED_BODIES
from lugwright.log.state import Bench, played

READING = {"step": "all tubes", "red": "V1.6", "black": "ground", "quantity": "V dc", "value": 203.0, "unit": "V"}
OHM = {"of": "ohm", "part": "R3", "value": 98700.0, "unit": "ohm", "accuracy": 0.01}
TURNS = {
    "of": "unloaded volts", "part": "T1", "ends": ["hv.1", "hv.3"], "value": 632.0, "unit": "V", "accuracy": 0.01,
    "at_mains_v": 118.0, "stated": "hv 315 + 315 V",
}  # fmt: skip
TUBE = {
    "socket": "V5", "type": "6L6GC", "label": "#12",
    "measured": [{"section": "", "plate_a": 0.0342, "plate_v": 430.0, "screen_v": 428.0, "grid_v": -38.0}],
}  # fmt: skip
SETTING = {"control": "R49", "position": "40 %", "share": 0.4}
PHOTO = {"file": "inside.jpg", "text": "before the heaters"}


def entry(number: int, kind: str, body: dict[str, object], subject: str = "", copy: str = "1") -> Entry:
    return Entry(f"{number:032x}", f"2026-11-26T12:00:00.{number:06}Z", copy, kind, subject, body)


EVERY = [
    entry(1, "reading", READING, "V1 pin 6"),
    entry(2, "reading", {**READING, "value": None, "over_range": True, "quantity": "ohm", "unit": "ohm"}, "V1 pin 6"),
    entry(3, "as built", OHM, "R3"),
    entry(4, "as built", TURNS, "T1 hv"),
    entry(5, "tube fitted", TUBE, "V5"),
    entry(6, "setting", SETTING, "R49"),
    entry(7, "photo", PHOTO, "inside.jpg"),
    entry(8, "taken back", {"entry": f"{3:032x}"}, "R3"),
]


def test_every_kind_has_an_example_here() -> None:
    assert {each.kind for each in EVERY} == set(MEASURED_BODIES)


def test_every_kind_goes_out_and_comes_in_by_both_forms() -> None:
    for text in (to_json_lines(EVERY), to_csv(EVERY)):
        assert list(from_text(text, "x")) == EVERY
        assert played(from_text(text, "x"), "1") == played(EVERY, "1")


def bench_of(*some: Entry) -> Bench:
    return played(some, "1")


def test_the_bench_holds_what_counts() -> None:
    bench = bench_of(*EVERY)
    assert [(r.body.shown, r.subject) for r in bench.readings] == [(203.0, "V1 pin 6"), (float("inf"), "V1 pin 6")]
    assert len(bench.counting) == 2  # volts and ohms of one point
    assert list(bench.as_built) == ["T1 hv"]  # R3 was taken back
    assert bench.tubes["V5"].body.measured[0].plate_a == 0.0342
    assert bench.settings["R49"].body.share == 0.4
    assert bench.photos == ((EVERY[6].time, "inside.jpg", "before the heaters"),)
    assert not bench  # nothing is soldered yet
    assert bench.last == EVERY[7].time


def test_the_last_of_a_thing_counts_and_the_one_before_when_it_is_taken_back() -> None:
    again = entry(9, "as built", {**OHM, "value": 99.1e3}, "R3")
    assert bench_of(EVERY[2], again).as_built["R3"].body.value == 99.1e3
    back = entry(10, "taken back", {"entry": again.id})
    assert bench_of(EVERY[2], again, back).as_built["R3"].body.value == 98.7e3
    reading = entry(11, "reading", {**READING, "value": 204.0})
    assert [r.body.value for r in bench_of(EVERY[0], reading).counting.values()] == [204.0]
    assert [r.body.value for r in bench_of(EVERY[0], reading).readings] == [203.0, 204.0]


def test_notes_and_pictures_are_taken_back_and_soldered_work_is_not() -> None:
    note = entry(20, "note", {"text": "hm"})
    lead = entry(21, "lead in", {"part": "R3", "lead": "1", "terminal": "A.1"})
    some = [note, lead, EVERY[6]]
    back = [entry(30 + n, "taken back", {"entry": each.id}) for n, each in enumerate(some)]
    bench = bench_of(*some, *back)
    assert bench.notes == ()
    assert bench.photos == ()
    assert ("R3", "1") in bench.leads  # a lead is taken out, and that opens its joint


def test_what_another_copy_takes_back_still_counts_here() -> None:
    back = entry(9, "taken back", {"entry": EVERY[0].id}, copy="2")
    assert len(bench_of(EVERY[0], back).readings) == 1


@pytest.mark.parametrize(
    ("kind", "body", "found"),
    [
        ("reading", {**READING, "value": None}, "a value, or over range"),
        ("reading", {**READING, "over_range": True}, "a value, or over range"),
        ("reading", {**READING, "unit": "ohm"}, "quantity and unit do not go together"),
        ("reading", {**READING, "quantity": "volts"}, "quantity and unit do not go together"),
        ("reading", {**READING, "value": 1e9}, "value that no meter shows"),
        ("reading", {**READING, "quantity": "V ac", "value": -6.3}, "value that no meter shows"),
        ("reading", {**READING, "quantity": "ohm", "unit": "ohm", "value": -1.0}, "value that no meter shows"),
        ("reading", {**READING, "value": "203"}, "value: input should be a valid number"),
        ("reading", {**READING, "red": ""}, "red: string should have at least 1 character"),
        ("reading", {k: v for k, v in READING.items() if k != "step"}, "step: field required"),
        ("as built", {**OHM, "of": "weight"}, "unknown measure"),
        ("as built", {**OHM, "unit": "F"}, "measure and unit do not go together"),
        ("as built", {**OHM, "value": 0.0}, "value that no part has"),
        ("as built", {**OHM, "part": ""}, "a part, or the mains"),
        ("as built", {**OHM, "accuracy": 0.0}, "accuracy: input should be greater than 0"),
        ("as built", {**TURNS, "ends": ["hv.1"]}, "two ends of a winding"),
        ("as built", {**TURNS, "at_mains_v": None}, "unloaded volts without the mains volts of the moment"),
        ("tube fitted", {**TUBE, "socket": ""}, "socket: string should have at least 1 character"),
        ("tube fitted", {**TUBE, "measured": [{"plate_a": 0.0, "plate_v": 1.0, "grid_v": 0.0}]},
         "measured.0.plate_a: input should be greater than 0"),
        ("setting", {**SETTING, "share": 1.2}, "share: input should be less than or equal to 1"),
        ("photo", {"file": "../inside.jpg"}, "file: string should match pattern '^[^/\\\\\\x00-\\x1f]+$'"),
        ("taken back", {"entry": "R3"}, "entry: string should match pattern '^[0-9a-f]{32}$'"),
    ],
)  # fmt: skip
def test_a_body_that_does_not_say_what_it_must_is_refused(kind: str, body: dict[str, object], found: str) -> None:
    with pytest.raises(LogError) as caught:
        body_of(entry(1, kind, body))
    assert caught.value.what == f"this is no entry of a log: {kind} {1:032x}"
    assert caught.value.found == found
    assert caught.value.wanted == f"what an entry of kind {kind!r} says"
    assert caught.value.do == "take it from an export of a log"


@pytest.mark.parametrize("value", [float("nan"), float("inf"), 1e400])
def test_what_is_no_number_cannot_be_written(value: float) -> None:
    with pytest.raises(LogError):
        body_of(entry(1, "reading", {**READING, "value": value}))
