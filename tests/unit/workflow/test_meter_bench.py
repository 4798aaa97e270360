"""A simulated meter reads point after point; each reading is in the log before the next is asked for."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from lugwright.errors import MeterError, NoSuchPoint, ReadingError
from lugwright.meters import scpi
from lugwright.workflow import open_build, read_by_meter, read_in, said_in_file

DUNLIN = Path(__file__).parents[3] / "examples/dunlin_5.toml"
LIBRARY = f"{Path(__file__).parents[1] / 'meters/bench.yaml'}@sim"
GOOD, ODD = (f"USB0::0x1111::0x2222::0x00{n}::INSTR" for n in (17, 18))


@pytest.fixture
def path(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    pytest.importorskip("pyvisa_sim")
    monkeypatch.setattr(scpi, "TIMEOUT_MS", 200)
    return Path(shutil.copy(DUNLIN, tmp_path / "amp.toml"))


def test_what_is_asked_follows_from_the_chart_and_each_is_kept_at_once(path: Path) -> None:
    asked: list[tuple[str, str]] = []

    def ready(point: str, quantity: str) -> bool:
        asked.append((point, quantity))
        assert len(open_build(path).bench_log.entries) == len(asked) - 1
        return len(asked) < 3

    points = ["B+1", "V2 pin 2 to pin 7", "V1 pin 6"]
    found = list(read_by_meter(open_build(path), GOOD, points, step="small tubes, lamp", library=LIBRARY, ready=ready))
    assert [(r.shown, r.quantity) for r in found] == [("203.125 V dc", "V dc"), ("6.31000 V ac", "V ac")]
    assert [quantity for _, quantity in asked] == ["V dc", "V ac", "V dc"]
    entries = open_build(path).bench_log.entries
    assert [entry.body["meter"] for entry in entries] == ["Makers,Meter 5,0017,1.02"] * 2


def test_ohms_are_asked_with_the_plug_out_alone(path: Path) -> None:
    def ready(point: str, quantity: str) -> bool:
        asked.append(quantity)
        return True

    asked: list[str] = []
    (found,) = read_by_meter(open_build(path), GOOD, ["R14"], step="ohms", library=LIBRARY, ready=ready)
    assert (found.shown, found.verdict) == ("over range", "high")
    list(read_by_meter(open_build(path), GOOD, ["R14"], step="all tubes", library=LIBRARY, ready=ready))
    assert asked == ["ohm", "V dc"]


def test_a_point_that_is_not_there_is_told_before_the_meter_is_asked(path: Path) -> None:
    with pytest.raises(NoSuchPoint):
        list(
            read_by_meter(
                open_build(path), "nowhere", ["B+1", "B+9"], step="ohms", library=LIBRARY, ready=lambda *_: True
            )
        )


def test_a_wrong_answer_midway_leaves_what_was_read(path: Path) -> None:
    found = read_by_meter(
        open_build(path), GOOD, ["B+1", "B+2"], step="all tubes", library=LIBRARY, ready=lambda *_: True
    )
    next(found)
    found.close()
    with pytest.raises(MeterError):
        list(read_by_meter(open_build(path), ODD, ["B+2"], step="all tubes", library=LIBRARY, ready=lambda *_: True))
    assert [entry.subject for entry in open_build(path).bench_log.entries] == ["B+1 to ground"]


def test_a_loggers_file_goes_in_whole_or_not_at_all(path: Path) -> None:
    file = path.parent / "m.csv"
    file.write_text("time,value,unit,point,step\n1,281,V,B+1,all tubes\n2,98k2,V,B+2,\n3,4,V,B+99,\n")
    with pytest.raises(ReadingError) as caught:
        read_in(open_build(path), said_in_file(file, []), step="all tubes")
    told = [caught.value, *caught.value.others]
    assert [error.what for error in told] == [
        "m.csv, line 3: '98k2 V' is not what a meter shows",
        "m.csv, line 4: there is no point 'B+99' to read",
    ]
    assert not open_build(path).bench_log.path.exists()
    file.write_text("time,value,unit\n10:01,281,V\n10:02,1.31,V\n")
    read_in(open_build(path), said_in_file(file, ["B+1", "V1.3"]), step="all tubes", meter="logger")
    bodies = [entry.body for entry in open_build(path).bench_log.entries]
    assert [(b["red"], b["value"], b["meter"], b["meter_time"]) for b in bodies] == [
        ("B+1", 281.0, "logger", "10:01"), ("V1.3", 1.31, "logger", "10:02"),
    ]  # fmt: skip
