"""Where a fault sends the builder: the card that laid the wire, seated the part, soldered the joint."""

from __future__ import annotations

from tests.planned_examples import example

from lugwright.bringup.faults.cards import cards_of, do_words
from lugwright.workorder.results import Job

from .bench import faults

NAME = "dunlin_5"


def card(number: int) -> Job:
    return next(job for job in example(NAME).work_order.jobs if job.number == number)


def test_a_missing_wire_leads_to_the_cards_that_lay_it() -> None:
    order = example(NAME).work_order
    for key, fault in faults(NAME).items():
        if key.startswith("missing W"):
            cards = cards_of(fault, order)
            assert cards, key
            assert all({f"W{n}" for n in fault.wires} & {lead.what for lead in card(c).leads} for c in cards)


def test_a_part_leads_to_its_card_and_a_joint_to_the_one_that_solders_it() -> None:
    order = example(NAME).work_order
    part = faults(NAME)["open R3"]
    (number,) = cards_of(part, order)
    assert "R3" in card(number).parts
    assert do_words(part, order) == f"lift one lead and measure it; put in a new one (card {number})"
    dry = next(f for key, f in faults(NAME).items() if key.startswith("dry "))
    assert any(lead.terminal in dry.terminals for c in cards_of(dry, order) for lead in card(c).leads)


def test_what_is_on_no_card_is_said_without_one() -> None:
    tube = faults(NAME)["left out V1"]
    assert do_words(tube, example(NAME).work_order) == "push it home, straight"
