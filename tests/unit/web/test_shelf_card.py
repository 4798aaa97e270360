"""The card of a build on the shelf: how far it is, in numbers and as a picture."""

from __future__ import annotations

import re

import pytest

from lugwright.errors import LogError
from lugwright.web.asked.asked import NoArgs
from lugwright.web.asked.table import ASKED
from lugwright.web.desk import Desk
from lugwright.workflow import tick

ANSWER = ASKED["shelf card"].answer
WIRE_IN = re.compile(r'stroke="#111" stroke-width="2.2"')


def test_what_is_ticked_is_counted_and_drawn_in_full(desk: Desk) -> None:
    before = ANSWER(desk, NoArgs())
    assert (before["cards_done"], before["leads_in"], before["soldered"]) == (0, 0, 0)
    assert before["next"] == "Card 1: Drill, punch, deburr"
    assert not WIRE_IN.findall(before["picture"])
    wired = [w.number for w in desk.opened.plan.wires][:3]
    tick(desk.opened, leads=[f"W{number}" for number in wired])
    after = ANSWER(desk, NoArgs())
    assert after["leads_in"] == 6
    assert after["leads"] == before["leads"]
    assert len(WIRE_IN.findall(after["picture"])) == 3


def test_the_picture_says_what_it_is(desk: Desk) -> None:
    assert "<title>Dunlin 5: its wiring side, small</title>" in ANSWER(desk, NoArgs())["picture"]


def test_without_a_plan_the_card_says_what_to_do(desk: Desk) -> None:
    desk.path.with_suffix(".plan.json").unlink()
    with pytest.raises(LogError) as refused:
        ANSWER(desk, NoArgs())
    assert refused.value.what == "there is no plan to tick off"
    assert refused.value.do == "plan first: lugwright plan FILE"


def test_when_all_is_in_there_is_no_next_card(desk: Desk) -> None:
    opened = desk.opened
    tick(opened, cards=[job.number for job in opened.work_order.jobs])
    card = ANSWER(desk, NoArgs())
    assert card["next"] == ""
    assert card["cards_done"] == card["cards"]
