"""The work as a page asks for it, ticks on the cards one has seen, and what was written last taken back."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime

import pytest

from lugwright.errors import LogError
from lugwright.web.asked.asked import NoArgs
from lugwright.web.asked.log_tail import BackArgs, NoteArgs
from lugwright.web.asked.table import ASKED
from lugwright.web.asked.ticks import TickArgs
from lugwright.web.asked.work import CardArgs
from lugwright.web.desk import Desk
from lugwright.web.since import day_words, since_words


def ask(desk: Desk, what: str, **args: object) -> object:
    asked = ASKED[what]
    return asked.answer(desk, asked.args(**args))


def state(desk: Desk) -> dict:
    return ASKED["work state"].answer(desk, NoArgs())


def test_a_fresh_build_has_its_first_card_next(desk: Desk) -> None:
    work = ASKED["work"].answer(desk, NoArgs())
    assert work["state"] == state(desk)
    assert work["state"]["next"] == 1
    assert work["state"]["done"] == "0 of 31 cards done, 0 of 135 leads in, 0 of 72 joints soldered."
    assert work["state"]["last"] == "Nothing is ticked yet."
    assert work["state"]["loose"] == "Nothing is left halfway."
    assert sum(each["cards"] for each in work["state"]["phases"]) == len(work["cards"]) == 31
    assert work["state"]["cards"]["1"] == {"state": "open", "words": "to do", "checked": ""}
    assert work["state"]["cards"]["7"]["words"] == "0 of 6 leads in, 0 of 6 soldered"


def test_every_lead_has_a_name_of_its_own_that_can_be_ticked(desk: Desk) -> None:
    cards = ASKED["work"].answer(desk, NoArgs())["cards"]
    names = [lead["name"] for card in cards for lead in card["leads"]]
    assert len(names) == len(set(names)) == 135
    for card in cards:
        for lead in card["leads"]:
            assert ask(desk, "tick", leads=[lead["name"]])["already"] == []
    assert set(state(desk)["leads"]) == set(names)
    assert " 135 of 135 leads in, 0 of 72 joints soldered." in state(desk)["done"]


def test_ticked_leads_joints_and_cards_show_since_when(desk: Desk) -> None:
    cards = ASKED["work"].answer(desk, NoArgs())["cards"]
    lead = cards[7]["leads"][1]
    ask(desk, "tick", leads=[lead["name"]])
    assert state(desk)["leads"] == {lead["name"]: "just now"}
    assert state(desk)["begun"] == [{"number": 8, "title": cards[7]["title"]}]
    assert state(desk)["half_done"] == ["S1 1.2: W6 in it, all in: solder it"]
    assert state(desk)["loose"] == "1 card begun, 1 joint with leads in, not soldered."
    ask(desk, "tick", cards=[8])
    assert state(desk)["cards"]["8"] == {"state": "done", "words": "done", "checked": "just now"}
    assert state(desk)["joints"] == {"S1.1.2": "just now", "S1.2.2": "just now"}
    assert state(desk)["half_done"] == []
    assert state(desk)["last"].endswith(", just now.")


def test_a_lead_that_comes_out_opens_its_joint(desk: Desk) -> None:
    ask(desk, "tick", cards=[8])
    assert "S1.1.2" in state(desk)["joints"]
    ask(desk, "tick", leads=["W6.2"], undo=True)
    assert "S1.1.2" not in state(desk)["joints"]
    assert state(desk)["cards"]["8"]["state"] == "begun"


def test_a_tick_on_cards_that_have_changed_since_is_refused(desk: Desk) -> None:
    mark = state(desk)["mark"]
    assert ask(desk, "ready to tick") == mark
    assert ask(desk, "tick", cards=[1], mark=mark)["written"] == ["card Drill, punch, deburr"]
    with pytest.raises(LogError) as caught:
        ASKED["tick"].answer(desk, TickArgs(cards=[2], mark="f" * 16))
    assert caught.value.what == "the job cards have changed since this was ticked"
    assert caught.value.found == "cards and wires may have other numbers now"
    assert caught.value.wanted == "a tick on the cards as they are"
    assert caught.value.do == "look at the new cards, and tick there what is done"


def test_only_cards_with_leads_or_a_bus_are_drawn(desk: Desk) -> None:
    assert ASKED["card drawing"].answer(desk, CardArgs(number=1)) == []
    (first, *_) = ASKED["card drawing"].answer(desk, CardArgs(number=8))
    assert first.startswith("<?xml")
    assert "Dunlin 5: card 8" in first
    assert "style=" not in first


def test_the_latest_comes_first_and_what_was_written_together_stands_together(desk: Desk) -> None:
    ask(desk, "tick", cards=[8])
    ASKED["note"].answer(desk, NoteArgs(text="sits loose", about="S1"))
    note, card = ASKED["log tail"].answer(desk, NoArgs())
    assert (note["kind"], note["words"], note["size"], len(note["ids"])) == ("note", "S1: sits loose", "", 1)
    assert (card["kind"], card["words"]) == ("job checked", "card Earth and mains: Mains (2 of 2)")
    assert (card["size"], len(card["ids"])) == ("4 leads, 2 joints", 7)


def test_what_was_written_is_taken_back_as_it_was_written_and_once(desk: Desk) -> None:
    ask(desk, "tick", leads=["W6.1"])
    ask(desk, "tick", cards=[8])
    ASKED["note"].answer(desk, NoteArgs(text="sits loose"))
    note, card, _ = ASKED["log tail"].answer(desk, NoArgs())
    for each, count in ((card, 6), (card, 0), (note, 1), (note, 0)):
        assert ASKED["take back"].answer(desk, BackArgs(ids=each["ids"])) == {"taken_back": count}
    assert list(state(desk)["leads"]) == ["W6.1"], "the lead of the earlier tick stays in"
    assert state(desk)["joints"] == {}
    assert state(desk)["cards"]["8"]["checked"] == ""
    latest = ASKED["log tail"].answer(desk, NoArgs())
    assert [each["kind"] for each in latest] == ["taken back", "taken out", "note", "job checked", "lead in"]
    assert [bool(each["ids"]) for each in latest] == [False, False, False, False, True]


def test_each_copy_has_work_of_its_own(desk: Desk) -> None:
    ask(desk, "tick", cards=[1])
    other = replace(desk, copy="7")
    assert state(other)["copy"] == "7"
    assert state(other)["next"] == 1
    ask(other, "tick", cards=[1, 2])
    assert state(replace(desk, copy="1"))["next"] == 2
    assert state(other)["next"] == 3


@pytest.mark.parametrize(
    ("then", "words"),
    [
        ("2026-11-26T12:00:00.000000Z", "just now"),
        ("2026-11-26T11:59:00.000000Z", "1 minute ago"),
        ("2026-11-26T11:01:00.000000Z", "59 minutes ago"),
        ("2026-11-26T07:00:00.000000Z", "5 hours ago"),
        ("2026-11-25T12:00:00.000000Z", "1 day ago"),
        ("2026-11-19T11:00:00.000000Z", "7 days ago"),
        ("2026-11-26T12:00:09.000000Z", "just now"),
    ],
)
def test_time_is_told_as_one_says_it(then: str, words: str) -> None:
    assert since_words(then, datetime(2026, 11, 26, 12, 0, 30, tzinfo=UTC)) == words


def test_a_day_is_told_in_full() -> None:
    assert day_words("2026-11-09T23:59:00.000000Z") == "9 November 2026"
