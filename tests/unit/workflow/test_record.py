"""The record of one copy, out of a log with several."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from lugwright.documents.book.blocks import Paragraph
from lugwright.documents.book.record_pages import record_pages
from lugwright.errors import LogError
from lugwright.second_process import answers_beside
from lugwright.workflow import open_build
from lugwright.workflow.opened import Opened
from lugwright.workflow.record import bench_record
from lugwright.workorder.order import work_order

from ..workorder.small_build import small_build, small_plan

ORDER = work_order(small_build(), small_plan())
EXAMPLES = Path(__file__).parents[3] / "examples"


@pytest.fixture
def build_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setattr(Opened, "work_order", ORDER)  # planning has tests of its own
    return Path(shutil.copy(EXAMPLES / "dunlin_5.toml", tmp_path / "small.toml"))


def check_off(path: Path, serial: str, *numbers: int) -> None:
    cards = [job for job in ORDER.jobs if job.number in numbers]
    drafts = [("job checked", job.title, {"phase": job.phase, "title": job.title}) for job in cards]
    open_build(path, serial=serial).bench_log.log.append(serial, drafts)


def test_no_log_is_no_record(build_file: Path) -> None:
    assert bench_record(open_build(build_file)) is None


def test_a_record_is_of_one_copy(build_file: Path) -> None:
    check_off(build_file, "1", 1, 2)
    check_off(build_file, "2", 1)
    log = open_build(build_file, serial="1").bench_log.log
    log.append("1", [("note", "V1", {"text": "microphonic"})])
    log.append("1", [("photo", "heaters.jpg", {"file": "heaters.jpg", "text": "before the bus"})])
    reading = {"step": "all tubes", "red": "V2.8", "black": "ground", "quantity": "V dc", "value": 14.2, "unit": "V"}
    log.append("1", [("reading", "V2 pin 8", {**reading, "over_range": False, "digit": 0.1})])
    setting = {"control": "R9", "position": "40 %", "share": 0.4}
    log.append("1", [("setting", "R9", setting)])
    one, other = (bench_record(open_build(build_file, serial=serial)) for serial in ("1", "2"))
    assert one is not None
    assert other is not None
    assert [(job.number, job.title) for job in one.jobs] == [(job.number, job.title) for job in ORDER.jobs[:2]]
    assert one.cards_in_all == len(ORDER.jobs)
    assert [job.number for job in other.jobs] == [1]
    assert one.other_copies == ("copy 2",)
    assert [text for _, _, text in one.notes] == ["microphonic"]
    assert [(file, text) for _, file, text in one.photos] == [("heaters.jpg", "before the bus")]
    (read,) = one.readings
    assert (read.shown, read.verdict, read.step) == ("14.2 V dc", "ok", "all tubes")
    assert [row.shown for row in one.fitted] == ["40 %"]
    assert (other.notes, other.readings, other.fitted) == ((), (), ())
    assert one.first <= one.last


def test_steps_of_the_power_up_are_no_job_cards(build_file: Path) -> None:
    check_off(build_file, "1", 1)
    log = open_build(build_file, serial="1").bench_log.log
    for key in ("no tubes", "look", "gone"):
        log.append("1", [("job checked", key, {"phase": "power-up", "title": key})])
    point = {"step": "polarity", "red": "C1.1", "black": "C1.2", "quantity": "ohm", "value": 1500.0, "unit": "ohm"}
    log.append("1", [("reading", "C1", {**point, "over_range": False, "digit": 10.0})])
    record = bench_record(open_build(build_file))
    assert record is not None
    assert [job.number for job in record.jobs] == [1]
    assert [(s.number, s.title, s.mains) for s in record.steps] == [
        (1, "Look it over", "plug out"),
        (7, "Every tube out", "full mains"),
        (None, "gone", ""),
    ]
    assert [reading.point for reading in record.readings] == ["C1, red on plus"]
    (opening, *_) = record_pages(record).blocks
    assert isinstance(opening, Paragraph)
    assert f"1 of {len(ORDER.jobs)} job cards are ticked off." in opening.text


def test_a_build_with_a_log_can_be_handed_to_another_process(build_file: Path) -> None:
    check_off(build_file, "1", 1)
    opened = open_build(build_file)
    assert opened.bench_log.bench
    assert opened.idle.certificate.passed
    with answers_beside(opened.computed, ("idle_setting",), None) as answers:
        answers.gather()
    assert opened.idle_setting is not None


def test_a_log_that_is_none_is_refused_and_left_alone(build_file: Path) -> None:
    path = build_file.with_suffix(".log.sqlite")
    path.write_bytes(b"no log at all" * 100)
    with pytest.raises(LogError):
        bench_record(open_build(build_file))
    assert path.read_bytes() == b"no log at all" * 100
