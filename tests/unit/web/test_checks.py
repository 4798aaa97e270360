"""Findings and ratings as a page is told them: worst first, and what could not be checked is said."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from lugwright.web.asked.asked import NoArgs
from lugwright.web.asked.table import ASKED
from lugwright.web.desk import Desk
from lugwright.workflow import all_checks, open_build

GRADES = ["danger", "fault", "doubt", "note"]


def told(desk: Desk, what: str) -> dict[str, Any]:
    found: dict[str, Any] = ASKED[what].answer(desk, NoArgs())
    return found


def changed(desk: Desk, old: str, new: str) -> None:
    text = desk.path.read_text()
    assert old in text
    desk.path.write_text(text.replace(old, new, 1))


def test_all_checks_say_what_the_book_says(desk: Desk) -> None:
    opened = desk.opened
    found = told(desk, "all checks")
    assert found["not_made"] == []
    assert sorted(each["what"] for each in found["findings"]) == sorted(f.what for f in opened.all_findings)
    told_of = {(row["name"], row["what"]) for row in (*found["close"], *found["far"])}
    assert {(r.part, r.what) for r in (*opened.ratings[0], *opened.start_ratings[0])} <= told_of


def test_danger_comes_first_and_the_most_used_rating_too(desk: Desk) -> None:
    found = told(desk, "all checks")
    ranks = [GRADES.index(each["grade"]) for each in found["findings"]]
    assert ranks == sorted(ranks)
    shares = [row["percent"] for row in (*found["close"], *found["far"])]
    assert shares == sorted(shares, reverse=True)
    assert min(row["percent"] for row in found["close"]) >= 50.0 > max(row["percent"] for row in found["far"])


def test_a_rating_leads_to_its_part(desk: Desk) -> None:
    found = told(desk, "quick checks")
    parts = {row["name"]: row["part"] for row in (*found["close"], *found["far"])}
    assert parts["V2"] == "V2"
    assert parts["V1a"] == "V1"
    assert parts["T1.primary"] == "T1"


def test_without_a_plan_the_other_checks_are_made(desk: Desk) -> None:
    desk.path.with_suffix(".plan.json").unlink()
    found = told(desk, "all checks")
    assert found["not_made"] == [
        {"checks": "the plan", "what": "there is no plan to tick off", "do": "plan first: lugwright plan FILE"}
    ]
    assert found["close"]


def test_of_a_file_that_cannot_be_read_the_findings_are_told(desk: Desk) -> None:
    changed(desk, "[tubes]", "[tubs]")
    found = told(desk, "quick checks")
    assert found["findings"][0]["grade"] == "fault"
    assert found["not_made"] == [
        {
            "checks": "what was measured, parts and tubes at idle",
            "what": "dunlin_5.toml could not be read",
            "do": "correct what is listed",
        }
    ]


def test_how_far_it_is_is_told(dunlin: Path) -> None:
    heard: list[tuple[float, str]] = []
    all_checks(open_build(dunlin), lambda share, words: heard.append((share, words)))
    assert heard == [
        (0.0, "the build file"),
        (0.125, "what was measured"),
        (0.25, "parts and tubes at idle"),
        (0.375, "mains low and high"),
        (0.5, "feedback and response"),
        (0.625, "the plan"),
        (0.75, "the start"),
        (0.875, "full drive"),
    ]


@pytest.mark.parametrize("name", ["quick checks", "all checks"])
def test_every_finding_has_its_four_lines(desk: Desk, name: str) -> None:
    for each in told(desk, name)["findings"]:
        assert each["what"]
        assert each["found"]
        assert each["wanted"]
        assert each["do"]
