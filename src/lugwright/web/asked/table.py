"""The table of everything that a page can ask or have done."""

from __future__ import annotations

from lugwright.web.asked import outline, shelf_card, ticks
from lugwright.web.asked.asked import Asked

ASKED: dict[str, Asked] = {
    each.name: each
    for each in (
        outline.OUTLINE,
        shelf_card.SHELF_CARD,
        ticks.TICK,
    )
}
