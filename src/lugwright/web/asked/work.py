"""The work: every job card with what can be ticked on it, and how far it all is."""

from __future__ import annotations

from collections import Counter
from datetime import UTC, datetime
from typing import Annotated, Any

from pydantic import Field

from lugwright.web.asked.asked import Args, Asked, NoArgs
from lugwright.web.desk import Desk
from lugwright.web.since import day_words, since_words
from lugwright.workflow import CardNow, Opened, card_drawing, cards_now
from lugwright.workorder.results import CutRow, OpenJoint, Progress


class CardArgs(Args):
    """A card by its number."""

    number: Annotated[int, Field(ge=1, le=10_000)]


def _work(desk: Desk, args: NoArgs) -> dict[str, Any]:
    """Return the cards as they are written, and how far they are."""
    opened = desk.opened
    order = opened.work_order
    cards = cards_now(opened)
    return {
        "cards": [_card(card) for card in cards],
        "state": _state(opened, cards),
        "given_up": list(order.broken_rules),
        "cut_list": [_cut(row) for row in order.cut_list],
    }


def _work_state(desk: Desk, args: NoArgs) -> dict[str, Any]:
    """Return only what changes when something is ticked."""
    opened = desk.opened
    return _state(opened, cards_now(opened))


def _drawing(desk: Desk, args: CardArgs) -> list[str]:
    """Return the drawings of a card, left to right."""
    return list(card_drawing(desk.opened, args.number))


def _card(card: CardNow) -> dict[str, Any]:
    job = card.job
    return {
        "number": job.number,
        "phase": job.phase,
        "title": job.title,
        "text": list(job.text),
        "cautions": list(job.cautions),
        "notes": list(job.notes),
        "covers": list(job.covers),
        "waits": list(job.waits),
        "leads": [
            {"name": each.name, "what": f"{each.lead.what} {each.lead.lead}".strip(), "to": each.lead.label,
             "terminal": each.lead.terminal, "solder": each.lead.solder}
            for each in card.leads
        ],
        "joints": [{"terminal": joint.terminal, "label": joint.label} for joint in card.joints],
        "drawn": bool(job.leads or job.buses),
    }  # fmt: skip


def _state(opened: Opened, cards: tuple[CardNow, ...]) -> dict[str, Any]:
    progress, now = opened.progress, datetime.now(UTC)
    return {
        "mark": opened.cards_mark,
        "copy": progress.serial,
        "done": _done_words(progress),
        "last": f"Last worked on {day_words(progress.last)}, {since_words(progress.last, now)}." if progress.last
        else "Nothing is ticked yet.",
        "loose": _loose_words(progress),
        "next": progress.next_card,
        "phases": _phases(progress),
        "begun": [{"number": c.number, "title": c.title} for c in progress.cards if c.state == "begun"],
        "half_done": [_half_done(joint) for joint in progress.half_done],
        "reopened": [f"{label}: melt it again, something is still to go in" for label in progress.reopened],
        "swapped": [f"{f.what}: {f.found}; now {f.wanted}. {f.do}." for f in opened.swapped],
        "cards": {
            str(card.job.number): {
                "state": card.progress.state,
                "words": _card_words(card),
                "checked": since_words(card.checked, now) if card.checked else "",
            }
            for card in cards
        },
        "leads": {each.name: since_words(each.since, now) for card in cards for each in card.leads if each.since},
        "joints": {j.terminal: since_words(j.since, now) for card in cards for j in card.joints if j.since},
    }  # fmt: skip


def _done_words(progress: Progress) -> str:
    done = sum(card.state == "done" for card in progress.cards)
    return (
        f"{done} of {len(progress.cards)} cards done, {progress.leads_in} of {progress.leads} leads in, "
        f"{progress.soldered} of {progress.joints} joints soldered."
    )


def _loose_words(progress: Progress) -> str:
    """Return in short what was left halfway."""
    begun = sum(card.state == "begun" for card in progress.cards)
    waiting = len(progress.half_done) + len(progress.reopened)
    if not begun + waiting:
        return "Nothing is left halfway."
    return f"{begun} card{'s' * (begun != 1)} begun, {waiting} joint{'s' * (waiting != 1)} with leads in, not soldered."


def _phases(progress: Progress) -> list[dict[str, Any]]:
    """Return of each kind of work how many cards are done, in the order in which it is begun."""
    every = Counter(card.phase for card in progress.cards)
    done = Counter(card.phase for card in progress.cards if card.state == "done")
    return [{"phase": phase, "done": done[phase], "cards": count} for phase, count in every.items()]


def _card_words(card: CardNow) -> str:
    if card.progress.state == "done":
        return "done"
    leads, joints = sum(bool(e.since) for e in card.leads), sum(bool(j.since) for j in card.joints)
    if not card.leads:
        return "to do"
    return f"{leads} of {len(card.leads)} leads in, {joints} of {len(card.joints)} soldered"


def _half_done(joint: OpenJoint) -> str:
    rest = f"still to come {', '.join(joint.to_come)}" if joint.to_come else "all in: solder it"
    return f"{joint.label}: {', '.join(joint.there)} in it, {rest}"


def _cut(row: CutRow) -> dict[str, Any]:
    jacket = f", jacket {row.jacket_mm[0]:g} / {row.jacket_mm[1]:g} mm" if any(row.jacket_mm) else ""
    return {
        "type": row.type,
        "color": row.color,
        "length": f"{row.length_mm:g} mm",
        "strip": f"{row.strip_mm[0]:g} / {row.strip_mm[1]:g} mm{jacket}",
        "pieces": len(row.wires),
        "wires": " ".join(f"W{number}" for number in row.wires),
        "twist": row.twist,
    }


WORK = Asked("work", _work)
WORK_STATE = Asked("work state", _work_state)
CARD_DRAWING = Asked("card drawing", _drawing, CardArgs)
