"""As-built values through the log: predictions hold them, plans do not, and they can be taken back."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from lugwright.errors import LogError, ReadingError
from lugwright.layout.joint_classes import joint_facts
from lugwright.layout.plan_file import plan_fingerprint
from lugwright.workflow import (
    Opened,
    Photo,
    SaidReading,
    as_built_rows,
    measured_in,
    open_build,
    photographed,
    read_in,
    take_as_built_back,
    taken_back,
)

DUNLIN = Path(__file__).parents[3] / "examples/dunlin_5.toml"


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return Path(shutil.copy(DUNLIN, tmp_path / "amp.toml"))


def b_plus(opened: Opened) -> float:
    return opened.idle.joints["B+1"].volts


def test_predictions_hold_what_was_measured_until_it_is_taken_back(path: Path) -> None:
    stated = b_plus(open_build(path))
    entries = measured_in(open_build(path), [("mains", "114"), ("T1 hv", "418 V"), ("R12", "327")])
    assert [(entry.kind, entry.subject) for entry in entries] == [
        ("as built", "mains"), ("as built", "T1 hv.1 to hv.3, volts"), ("as built", "R12"),
    ]  # fmt: skip
    opened = open_build(path)
    assert opened.as_built.used == ("mains", "T1 hv.1 to hv.3, volts", "R12")
    assert b_plus(opened) < 0.97 * stated
    assert opened.circuit.by_name["R12"].ohm == 327.0  # type: ignore[attr-defined]
    assert b_plus(open_build(path, as_stated=True)) == stated
    assert b_plus(opened.stated) == stated
    rows, findings = as_built_rows(opened)
    assert [(row.what, row.shown, row.stated, row.unused) for row in rows] == [
        ("mains", "114.0 V", "120 V", ""),
        ("T1 hv.1 to hv.3, volts", "418.0 V at 114 V mains", "hv 220 + 220 V, 80 + 84 ohm", ""),
        ("R12", "327.0 Ω", "330 Ω 3 W (orange orange brown gold)", ""),
    ]
    assert findings == ()
    back = take_as_built_back(open_build(path), ["mains", "T1", "r12"])
    assert [entry.subject for entry in back] == ["mains", "T1 hv.1 to hv.3, volts", "R12"]
    assert b_plus(open_build(path)) == stated


def test_no_plan_moves_or_is_refused_because_something_was_measured(path: Path) -> None:
    before = open_build(path)
    mark = plan_fingerprint(before.written, joint_facts(before.written, before.joint_volts))
    measured_in(open_build(path), [("mains", "101"), ("T1 hv", "520 V"), ("T1 heater", "2 ohm"), ("C6.a", "20u")])
    after = open_build(path)
    assert len(after.as_built.used) == 4
    assert after.joint_volts == before.joint_volts
    assert plan_fingerprint(after.written, joint_facts(after.written, after.joint_volts)) == mark


def test_high_and_low_mains_are_of_the_stated_mains(path: Path) -> None:
    before = open_build(path).mains_swing
    measured_in(open_build(path), [("mains", "108")])
    after = open_build(path).mains_swing
    assert before is not None
    assert after is not None
    assert after.high.joints["B+1"].volts == pytest.approx(before.high.joints["B+1"].volts, rel=1e-9)
    assert after.nominal.joints["B+1"].volts < before.nominal.joints["B+1"].volts


def test_limits_are_not_judged_on_weak_mains(path: Path) -> None:
    """Tomorrow the wall gives what it should: ratings hold the measured parts, and the stated mains or more."""
    measured_in(open_build(path), [("R12", "327")])
    parts_alone = open_build(path)
    expected = [(row.rule, row.part, row.value) for row in parts_alone.ratings[0]]
    measured_in(open_build(path), [("mains", "109")])
    weak = open_build(path)
    assert b_plus(weak) < 0.95 * b_plus(parts_alone)
    assert [(row.rule, row.part, row.value) for row in weak.ratings[0]] == expected
    measured_in(open_build(path), [("mains", "126")])
    strong = open_build(path)
    assert strong.rated is strong
    assert [(row.rule, row.part, row.value) for row in strong.ratings[0]] != expected


def test_what_is_tried_out_goes_before_what_was_measured(path: Path) -> None:
    measured_in(open_build(path), [("R12", "327"), ("mains", "114")])
    tried = open_build(path, changes=("R12=470", "mains=125"))
    assert tried.as_built.used == ()
    assert tried.measured.mains_v == 125.0


def test_values_said_in_one_line_hold_for_the_next_and_all_mistakes_are_told(path: Path) -> None:
    with pytest.raises(ReadingError) as caught:
        measured_in(open_build(path), [("T1 hv", "418 V"), ("mains", "118"), ("R99", "3")])
    assert caught.value.wanted == "the mains volts at the same moment, before the volts of a winding"
    assert [other.what for other in caught.value.others] == ["R99 cannot be written down so"]
    assert not open_build(path).bench_log.path.exists()


def test_copies_have_their_own(path: Path) -> None:
    for serial, value in (("A", "325"), ("B", "335")):
        measured_in(open_build(path, serial=serial), [("R12", value)])
    for serial, ohm in (("A", 325.0), ("B", 335.0), ("", 335.0)):
        assert open_build(path, serial=serial).circuit.by_name["R12"].ohm == ohm  # type: ignore[attr-defined]


def test_what_was_never_written_down_cannot_be_taken_back(path: Path) -> None:
    measured_in(open_build(path), [("R12", "327"), ("V2", "6V6GT #3")])
    with pytest.raises(LogError) as caught:
        take_as_built_back(open_build(path), ["R13"])
    assert (caught.value.what, caught.value.found, caught.value.wanted, caught.value.do) == (
        "nothing was written down of R13", "R12, V2 tube", "one of these", "write 'R12'",
    )  # fmt: skip
    (row,) = [row for row in as_built_rows(open_build(path))[0] if row.what == "V2 tube"]
    assert row.unused == "it is of the type of the build file, and nothing was measured of it"
    assert row.shown == "6V6GT #3"


def test_pictures_are_kept_by_name_and_must_lie_beside_the_build(path: Path) -> None:
    (path.parent / "inside.jpg").write_bytes(b"no picture at all: it is never opened")
    photographed(open_build(path), [Photo("inside.jpg", "before the heaters")])
    ((_, file, words),) = open_build(path).bench_log.bench.photos
    assert (file, words) == ("inside.jpg", "before the heaters")
    for bad in ("gone.jpg", "../amp.toml", "/etc/passwd", "in\x1bside.jpg"):
        with pytest.raises(LogError) as caught:
            photographed(open_build(path), [Photo(bad)])
        assert caught.value.what.endswith(" beside the build file")
        assert caught.value.wanted == "the name of a file in the folder of amp.toml"
        assert caught.value.do == "put the picture there, and give its name without a folder"


def test_anything_written_down_is_taken_back_by_its_identifier(path: Path) -> None:
    (path.parent / "inside.jpg").write_bytes(b"")
    entries = (
        *measured_in(open_build(path), [("R12", "327"), ("V2", "6V6GT #3"), ("R5", "40%")]),
        *photographed(open_build(path), [Photo("inside.jpg")]),
    )
    (reading,) = read_in(open_build(path), [SaidReading("B+1", "281")], step="all tubes")
    ids = [*(entry.id for entry in entries), reading.id]
    gone = taken_back(open_build(path), [ids[0][:8].upper(), *ids[1:]])
    assert [entry.body["entry"] for entry in gone] == ids
    bench = open_build(path).bench_log.bench
    left = (bench.as_built, bench.tubes, bench.settings, bench.photos, bench.readings)
    assert [len(each) for each in left] == [0] * 5
    assert len(open_build(path).bench_log.entries) == 2 * len(ids)


def test_what_cannot_be_taken_back_by_an_identifier_is_told(path: Path) -> None:
    (entry,) = open_build(path).bench_log.log.append("1", [("soldered", "strip A lug 1", {"terminal": "A.1"})])
    for said, what, found in (
        ("0f0f0f0f0f", "there is no entry 0f0f0f0f0f", "0f0f0f0f0f"),
        (entry.id[:3], f"{entry.id[:3]} may be several entries", entry.id[:3]),
        (entry.id, "an entry of kind 'soldered' is not taken back by its identifier", "strip A lug 1"),
    ):
        with pytest.raises(LogError) as caught:
            taken_back(open_build(path), [said])
        assert (caught.value.what, caught.value.found) == (what, found)
    assert caught.value.wanted == "one of kind note, reading, as built, tube fitted, setting, photo"
    assert caught.value.do == "undo work with lugwright tick FILE --undo: what comes out opens its joint"
    with pytest.raises(LogError) as caught:
        taken_back(open_build(path), ["0f0f0f0f"])
    assert caught.value.wanted == "at least 6 letters of one identifier of copy 1"
    assert caught.value.do == "look it up: lugwright log FILE"


def test_a_damaged_log_stops_what_would_hold_measured_values_and_nothing_else(path: Path) -> None:
    measured_in(open_build(path), [("R12", "327")])
    log = open_build(path).bench_log.path
    log.write_bytes(b"not a log at all" * 100)
    with pytest.raises(LogError, match="cannot be read as a log"):
        b_plus(open_build(path))
    assert b_plus(open_build(path, as_stated=True)) > 200.0
    assert log.read_bytes().startswith(b"not a log")
