"""Trying values on the circuit page: curve, what moves at idle, findings that come and go."""

from __future__ import annotations

import io
import json
import math
import shutil
from dataclasses import replace
from pathlib import Path

import pytest

from lugwright.errors import AskError, ChangeError, NoSuchPoint
from lugwright.solve.response_results import ResponseWish
from lugwright.web.asked.table import ASKED
from lugwright.web.asked.tried_response import ResponseArgs
from lugwright.web.asked.trying import TriedArgs
from lugwright.web.desk import Desk, Openings
from lugwright.web.worker import Worker, checked_args
from lugwright.workflow import open_build, prepare_sliders

EXAMPLES = Path(__file__).parents[3] / "examples"


@pytest.fixture(scope="module")
def desk(tmp_path_factory: pytest.TempPathFactory) -> Desk:
    path = tmp_path_factory.mktemp("tried") / "dunlin_5.toml"
    shutil.copy(EXAMPLES / path.name, path)
    return Desk(path, "", "", Openings(), lambda share, words: None)


def test_the_curve_drawn_is_that_of_the_command(desk: Desk) -> None:
    answer = ASKED["tried response"].answer(desk, ResponseArgs(changes=["R9=0.2"], moved="R9=0.2"))
    whole = open_build(desk.path, changes=["R9=0.2"]).response_to(ResponseWish()).curves[0]
    assert answer["gain_db"] == [round(each, 3) for each in whole.gain_db]
    assert all(math.isclose(a, b, rel_tol=1e-4) for a, b in zip(answer["input_ohm"], whole.input_ohm, strict=True))
    assert dict(answer["words"])["gain at 1 kHz"] == f"{whole.gain_1khz_db:.1f} dB"
    assert answer["idle"] == []


def test_machine_code_is_seen_to_once_the_curve_is_on_its_way(desk: Desk, monkeypatch: pytest.MonkeyPatch) -> None:
    answers, behind = io.BytesIO(), []
    asked = ASKED["tried response"]
    assert asked.afterwards is prepare_sliders
    monkeypatch.setitem(ASKED, asked.name, replace(asked, afterwards=lambda: behind.append(answers.tell())))
    question = {
        "number": 1,
        "what": asked.name,
        "path": str(desk.path),
        "copy": "",
        "args": {},
        "command": "",
        "private": "",
    }
    Worker(answers).attend(question)
    assert behind == [len(answers.getvalue())]
    assert json.loads(answers.getvalue()[4:])["answer"]["gain_db"]


def test_a_change_that_moves_the_idle_says_what_moves_the_most_first(desk: Desk) -> None:
    answer = ASKED["tried response"].answer(desk, ResponseArgs(changes=["R12=470"], moved="R12=470"))
    rows = {row["name"]: row for row in answer["idle"]}
    before = open_build(desk.path).idle
    after = open_build(desk.path, changes=["R12=470"]).idle
    assert rows["V2 plate current"]["was"] == f"{1e3 * before.tubes['V2'].plate_a:.1f} mA"
    assert rows["V2 plate current"]["now"] == f"{1e3 * after.tubes['V2'].plate_a:.1f} mA"
    assert answer["idle"][0]["name"] in ("V2 plate current", "V2.cathode", "V2 plate heat")


def test_another_tube_is_answered_from_the_file_as_a_whole(desk: Desk) -> None:
    answer = ASKED["tried response"].answer(desk, ResponseArgs(changes=["V1=12AU7"], moved="V1=12AU7"))
    whole = open_build(desk.path, changes=["V1=12AU7"]).response_to(ResponseWish()).curves[0]
    assert answer["gain_db"] == [round(each, 3) for each in whole.gain_db]


def test_points_may_be_chosen_and_unknown_ones_are_refused(desk: Desk) -> None:
    between = ASKED["tried response"].answer(desk, ResponseArgs(source="V1a.grid", output="V1a.plate"))
    assert 30.0 < between["gain_db"][60] < 36.0
    with pytest.raises(NoSuchPoint, match="there is no point 'V9\\.plate'"):
        ASKED["tried response"].answer(desk, ResponseArgs(output="V9.plate"))


def test_a_value_that_cannot_be_is_refused_in_four_lines(desk: Desk) -> None:
    with pytest.raises(ChangeError) as error:
        ASKED["tried response"].answer(desk, ResponseArgs(changes=["R4=blue"], moved="R4=blue"))
    assert error.value.what == "R4 cannot be set to 'blue'"


def test_findings_that_come_and_go_are_told_and_the_file_stays_as_it_was(desk: Desk) -> None:
    text = desk.path.read_text()
    told: list[str] = []
    telling = Desk(desk.path, "", "", desk.openings, lambda share, words: told.append(words))
    answer = ASKED["tried findings"].answer(telling, TriedArgs(changes=["R12=100"]))
    assert told == ["ratings at idle", "mains 10 % high", "the start, cold tubes", "coming to rest, feedback"]
    assert answer["looked"] == ["the build file", *told]
    assert answer["changes"] == [{"part": "R12", "was": "330", "now": "100"}]
    assert any(each["part"] == "V2" and each["grade"] in ("danger", "fault") for each in answer["new"])
    back = ASKED["tried findings"].answer(telling, TriedArgs(changes=["R12=330"]))
    assert (back["new"], back["gone"]) == ([], [])
    assert desk.path.read_text() == text
    assert [each.name for each in desk.path.parent.iterdir()] == [desk.path.name]


def test_a_value_no_part_is_made_for_is_a_finding_of_the_file(desk: Desk) -> None:
    answer = ASKED["tried findings"].answer(desk, TriedArgs(changes=["C1=2u2"]))
    assert answer["looked"] == []
    assert [each["grade"] for each in answer["new"]] == ["fault"]


@pytest.mark.parametrize(
    "args",
    [
        {"changes": ["R4=1k"] * 61},
        {"changes": ["R"]},
        {"changes": "R4=1k"},
        {"source": "x" * 81},
        {"moved": "R4=" + "9" * 80},
    ],
)
def test_arguments_out_of_bounds_are_refused(args: dict[str, object]) -> None:
    with pytest.raises(AskError, match="tried response cannot be asked so"):
        checked_args(ASKED["tried response"], args)
