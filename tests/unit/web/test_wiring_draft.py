"""Plans tried out by hand: planned around what is soldered, told term by term, written only when kept."""

from __future__ import annotations

from typing import Any

import pytest
from pydantic import ValidationError

from lugwright.errors import ChangeError, PlanError
from lugwright.web.asked.asked import NoArgs
from lugwright.web.asked.table import ASKED
from lugwright.web.asked.wiring_draft import Keep, Puts
from lugwright.web.desk import Desk
from lugwright.workflow import drafts, open_build, tick

STRIP = {"strip": "A", "at": [27.0, 112.0], "turn": 0.0}


def _draft(desk: Desk, *puts: dict[str, Any]) -> dict[str, Any]:
    found: dict[str, Any] = ASKED["wiring draft"].answer(desk, Puts.model_validate({"puts": list(puts)}))
    return found


def _keep(desk: Desk, puts: list[dict[str, Any]], seen: str) -> Any:
    return ASKED["wiring keep"].answer(desk, Keep.model_validate({"puts": puts, "seen": seen}))


def _files(desk: Desk) -> tuple[str, str]:
    plan = desk.path.with_suffix(".plan.json")
    return desk.path.read_text(encoding="utf-8"), plan.read_text(encoding="utf-8")


def test_a_dragged_part_hangs_where_it_was_put_and_nothing_is_written(desk: Desk) -> None:
    before = _files(desk)
    found = _draft(desk, {"part": "R3", "by": [-12, 0]})
    (put,) = found["puts"]
    assert set(found["tables"]["parts"]["R3"]["ends"]) == set(put["ends"])
    assert set(put["ends"]) != set(next(s.terminals for s in desk.opened.plan.seats if s.part == "R3"))
    assert "R3" in {move["what"] for move in found["moves"]}
    assert found["file"] is None
    assert _files(desk) == before


def test_what_it_costs_is_told_term_by_term(desk: Desk) -> None:
    found = _draft(desk, {"part": "R3", "by": [-12, 0]})
    assert found["before"] == round(sum(desk.opened.plan.cost.values()), 1)
    more = sum(term["after"] - term["before"] for term in found["terms"])
    assert found["after"] - found["before"] == pytest.approx(more, abs=0.2)
    assert all(term["reason"] for term in found["terms"])


def test_what_is_soldered_does_not_move(desk: Desk) -> None:
    plan = desk.opened.plan
    (put,) = _draft(desk, {"part": "R3", "by": [-12, 0]})["puts"]
    seats = [s for s in plan.seats if s.part != "R3" and not set(s.terminals) & set(put["ends"])][:6]
    laid = [w for w in plan.wires if not set(w.terminals) & set(put["ends"])][:8]
    tick(desk.opened, leads=[*(f"W{w.number}" for w in laid), *(s.part for s in seats)])
    tables = _draft(desk, put)["tables"]
    for seat in seats:
        assert tuple(tables["parts"][seat.part]["ends"]) == seat.terminals
    for wire in laid:
        row = tables["wires"][f"W{wire.number}"]
        assert (tuple(row["ends"]), row["route"]) == (wire.terminals, f"{wire.length_mm:.0f} mm")


def test_a_lug_that_is_soldered_for_another_joint_takes_no_part(desk: Desk) -> None:
    (put,) = _draft(desk, {"part": "R3", "by": [-12, 0]})["puts"]
    lug = next(key for key in put["ends"] if key.startswith("A."))
    other = next(s for s in desk.opened.plan.seats if lug in s.terminals)
    tick(desk.opened, leads=[other.part])
    with pytest.raises(PlanError) as refused:
        _draft(desk, put)
    assert refused.value.what.startswith("R3 cannot hang between strip A lug 7 and V1 pin 1 (put there by hand)")
    assert refused.value.found == f"strip A lug 7 carries {desk.opened.plan.terminals[lug].joint} (soldered)"


def test_a_part_that_is_in_is_not_put_elsewhere(desk: Desk) -> None:
    tick(desk.opened, leads=["R3"])
    with pytest.raises(PlanError) as refused:
        _draft(desk, {"part": "R3", "by": [-12, 0]})
    assert refused.value.what == "R3 cannot be moved (put there by hand)"
    assert refused.value.found.startswith("it is soldered to ")


def test_a_strip_cannot_stand_on_a_socket(desk: Desk) -> None:
    x, y = desk.opened.build.placements["V1"].at
    with pytest.raises(PlanError, match=r"^strip A stands on V1\b"):
        _draft(desk, {**STRIP, "at": [x, y]})


def test_the_same_things_put_again_give_the_same_plan(desk: Desk, monkeypatch: pytest.MonkeyPatch) -> None:
    first = _draft(desk, {"part": "R3", "by": [-12, 0]})
    monkeypatch.setattr(drafts, "_KEPT", [])
    again = _draft(desk, *first["puts"])
    assert (again["svg"], again["tables"], again["terms"]) == (first["svg"], first["tables"], first["terms"])


def test_a_kept_part_stays_where_it_was_put_without_a_word_in_the_build_file(desk: Desk) -> None:
    text, _ = _files(desk)
    puts = _draft(desk, {"part": "R3", "by": [-12, 0]})["puts"]
    assert _keep(desk, puts, "") == {"written": True}
    assert _files(desk)[0] == text
    opened = open_build(desk.path)
    assert opened.moves == ()
    assert set(next(s.terminals for s in opened.plan.seats if s.part == "R3")) == set(puts[0]["ends"])
    assert ASKED["wiring"].answer(desk, NoArgs())["plan"] == "whole"
    assert _keep(desk, puts, "") == {"written": False}


def test_a_moved_strip_is_kept_in_the_build_file_after_its_change_was_shown(desk: Desk) -> None:
    text, plan = _files(desk)
    found = _draft(desk, STRIP)
    line = next(each for each in text.splitlines() if each.startswith("A = "))
    assert found["file"]["lines"] == [f"-{line}", f"+{line.replace('[25, 112]', '[27, 112]')}"]
    with pytest.raises(ChangeError) as refused:
        _keep(desk, found["puts"], "")
    assert refused.value.found == "the change was not shown"
    assert _files(desk) == (text, plan)
    assert _keep(desk, found["puts"], found["file"]["was"]) == {"written": True}
    assert _files(desk)[0] == text.replace("at = [25, 112]", "at = [27, 112]")
    opened = open_build(desk.path)
    assert (opened.moves, opened.plan_findings) == ((), opened.plan_findings)
    assert opened.stored_plan is not None
    assert opened.plan.fingerprint == opened.stored_plan.fingerprint


def test_a_build_file_that_changed_meanwhile_is_not_written_over(desk: Desk) -> None:
    found = _draft(desk, STRIP)
    text = desk.path.read_text(encoding="utf-8") + "\n# a thought\n"
    desk.path.write_text(text, encoding="utf-8")
    with pytest.raises(ChangeError) as refused:
        _keep(desk, found["puts"], found["file"]["was"])
    assert str(refused.value) == (
        "dunlin_5.toml was not changed\n  found:  it is not the text any more that the change was shown for\n"
        "  wanted: a look at the change before it is written\n  do:     look at the change again, then keep the plan"
    )
    assert desk.path.read_text(encoding="utf-8") == text


def test_a_plan_is_made_where_there_is_none(desk: Desk) -> None:
    before = _files(desk)
    desk.path.with_suffix(".plan.json").unlink()
    assert ASKED["plan"].answer(desk, NoArgs()) == {"moved": 0, "to_unsolder": []}
    assert _files(desk) == before


@pytest.mark.parametrize(
    "put",
    [
        {"part": "R3"},
        {"part": "R3", "by": [1, 2], "ends": ["A.1", "A.2"]},
        {"part": "R3", "strip": "A", "at": [1, 2], "by": [1, 2]},
        {"strip": "A"},
        {"strip": "A", "at": [1, 2, 3]},
        {"strip": "A", "at": [1, 1e9]},
    ],
)
def test_half_a_move_is_no_move(put: dict[str, Any]) -> None:
    with pytest.raises(ValidationError):
        Puts.model_validate({"puts": [put]})
