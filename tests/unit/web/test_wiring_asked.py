"""Ohms between two points, why something is where it is, other plans, strips as lines: as the commands say it."""

from __future__ import annotations

import re
import tomllib
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from lugwright.buildfile.build import Build
from lugwright.errors import NoSuchPoint, NoSuchSubject, PlanError
from lugwright.layout.results import Plan
from lugwright.layout.styles import Style
from lugwright.quantities import with_unit
from lugwright.web.asked.table import ASKED
from lugwright.web.desk import Desk
from lugwright.web.fragments import fragment
from lugwright.workflow import ohms_at, plans

from .conftest import Ask


def test_ohms_between_two_points_are_those_of_the_command(ask: Ask, desk: Desk) -> None:
    found = ask("ohms between", red="V1a.plate", black="B+3")
    (reading,) = ohms_at(desk.opened, ["V1a.plate to B+3"]).readings
    assert found["point"] == "V1 pin 1 (plate a) to B+3"
    assert found["reads"] == (
        f"{with_unit(reading.expected, 'Ω')} ({with_unit(reading.low, 'Ω')} to {with_unit(reading.high, 'Ω')})"
    )
    assert found["meter"].endswith("tubes out, speaker connected, switches and controls as in the build file")
    assert ask("ohms between", red="R12")["point"] == "R12 lead 1 to R12 lead 2"
    assert ask("ohms between", red="V1a.plate")["point"] == "V1 pin 1 (plate a) to ground"


def test_points_that_are_none_are_refused_in_words(ask: Ask) -> None:
    with pytest.raises(NoSuchPoint):
        ask("ohms between", red="V9.plate", black="ground")
    with pytest.raises(NoSuchPoint) as error:
        ask("ohms between", red="V2 pin 1", black="B+3")
    assert error.value.what == "nothing is joined to V2 pin 1"
    assert error.value.found == "a pin or lug of its own, on which a meter reads over range"
    assert error.value.wanted == "two points of the circuit"
    assert error.value.do == "choose a point that a wire or a part goes to"


def test_why_is_told_with_what_other_places_cost(desk: Desk) -> None:
    why = desk.opened.why("R3")
    html = _asked(desk, "wiring why", name="R3")["html"]
    assert "<h2>Why R3 is there</h2>" in html
    assert html.count("<dt>") == len(why.choices) > 0
    costs = [choice.more for choice in why.choices if choice.more is not None and round(choice.more)]
    assert [float(each) for each in re.findall(r"costs (\d+) more", html)] == [round(each) for each in costs]
    assert html.count("cannot be") == sum(choice.more is None for choice in why.choices)
    with pytest.raises(NoSuchSubject, match="the plan has no R99"):
        _asked(desk, "wiring why", name="R99")


def test_plans_side_by_side_leave_the_stored_one_and_the_chosen_takes_its_place(
    desk: Desk, dunlin: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def a_little_cheaper(build: Build, style: Style, plan: Plan, **_: Any) -> Plan:
        return replace(plan, cost={**plan.cost, "wires": plan.cost["wires"] - 10.0})

    monkeypatch.setattr(plans, "plan_in_style", a_little_cheaper)  # how plans are made is tested where they are made
    told: list[str] = []
    telling = Desk(dunlin, "", "", desk.openings, lambda share, words: told.append(words))
    stored = dunlin.with_suffix(".plan.json").read_bytes()
    html = _asked(telling, "plans compared")["html"]
    assert told == ["planning: stored", "planning: shortest", "planning: tidiest", "planning: fewest"]
    assert re.findall(r'data-way="([a-z]+)"', html) == ["shortest", "tidiest", "fewest"]
    assert "less than the stored plan" not in html
    cheaper = fragment("other_plans", names=[], rows=[], made=[], cheapest={"name": "fewest", "saved": "10"})
    assert "fewest costs 10 less than the stored plan." in cheaper
    assert "shortest: wire and detours count three times" in html
    assert dunlin.with_suffix(".plan.json").read_bytes() == stored
    done = _asked(telling, "choose plan", way="shortest")
    assert dunlin.with_suffix(".plan.json").read_bytes() != stored
    assert done["after"] == round(sum(desk.opened.plan.cost.values()))


def test_without_a_plan_there_is_nothing_to_hold_others_against(desk: Desk, dunlin: Path) -> None:
    dunlin.with_suffix(".plan.json").unlink()
    for name, args in (("plans compared", {}), ("choose plan", {"way": "afresh"})):
        with pytest.raises(PlanError) as error:
            _asked(desk, name, **args)
        assert str(error.value) == (
            "there is no plan to hold others against\n"
            "  found:  no plan, or one of an earlier state of the build file\n"
            "  wanted: a plan of the build as it is\n"
            "  do:     plan it first"
        )


def test_strips_are_lines_that_the_build_file_takes(desk: Desk) -> None:
    found = _asked(desk, "strips")
    read = tomllib.loads(found["text"])
    assert set(read) == {"strips", "bus"}
    assert set(read["strips"]) == {strip.name for strip in desk.opened.build.strips}
    assert found["cost"] == round(sum(desk.opened.plan.cost.values()))


def _asked(desk: Desk, what: str, **args: Any) -> dict[str, Any]:
    one = ASKED[what]
    found: dict[str, Any] = one.answer(desk, one.args.model_validate(args))
    return found
