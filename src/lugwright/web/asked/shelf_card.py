"""How far a build has come, for its card on the shelf."""

from __future__ import annotations

from typing import Any

from lugwright.web.asked.asked import LONG, Asked, NoArgs
from lugwright.web.desk import Desk
from lugwright.workflow import small_picture, where_it_stands


def _shelf_card(desk: Desk, args: NoArgs) -> dict[str, Any]:
    opened = desk.opened
    stands = where_it_stands(opened)
    following = next((card for card in stands.cards if card.number == stands.next_card), None)
    return {
        "picture": small_picture(opened),
        "cards": len(stands.cards),
        "cards_done": sum(card.state == "done" for card in stands.cards),
        "leads": stands.leads,
        "leads_in": stands.leads_in,
        "joints": stands.joints,
        "soldered": stands.soldered,
        "next": f"Card {following.number}: {following.title}" if following else "",
    }


SHELF_CARD = Asked("shelf card", _shelf_card, lane=LONG, words="the small picture")
