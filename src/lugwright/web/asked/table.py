"""The table of everything that a page can ask or have done."""

from __future__ import annotations

from lugwright.web.asked import outline, ticks
from lugwright.web.asked.asked import Asked

ASKED: dict[str, Asked] = {
    each.name: each
    for each in (
        outline.OUTLINE,
        ticks.TICK,
    )
}
