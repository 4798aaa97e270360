"""The table of everything that a page can ask or have done."""

from __future__ import annotations

from lugwright.web.asked import (
    book,
    checks,
    circuit_drawings,
    circuit_facts,
    log_tail,
    outline,
    parts,
    plate_curves,
    power_up,
    probes,
    shelf_card,
    ticks,
    tried_findings,
    tried_response,
    wiring,
    wiring_draft,
    work,
)
from lugwright.web.asked.asked import Asked

ASKED: dict[str, Asked] = {
    each.name: each
    for each in (
        outline.OUTLINE,
        checks.QUICK_CHECKS,
        checks.ALL_CHECKS,
        parts.PARTS,
        parts.TABLE,
        book.MAKE_BOOK,
        book.BOOKS,
        book.BOOK_COPY,
        shelf_card.SHELF_CARD,
        power_up.POWER_UP,
        power_up.READING,
        power_up.TAKE_BACK,
        power_up.STEP_DONE,
        power_up.PASS_OVER,
        probes.PROBES,
        ticks.TICK,
        circuit_drawings.CIRCUIT_DRAWINGS,
        circuit_facts.CIRCUIT_FACTS,
        plate_curves.PLATE_CURVES,
        tried_findings.TRIED_FINDINGS,
        tried_response.TRIED_RESPONSE,
        wiring.WIRING,
        wiring.WIRING_READINGS,
        wiring.WIRING_STATE,
        wiring.WIRING_TABLES,
        log_tail.LOG_TAIL,
        log_tail.NOTE,
        log_tail.PHOTO,
        log_tail.PHOTOS,
        log_tail.TAKE_BACK,
        wiring.WIRING_VIEW,
        wiring_draft.PLAN,
        wiring_draft.WIRING_DRAFT,
        wiring_draft.WIRING_KEEP,
        work.CARD_DRAWING,
        work.WORK,
        work.WORK_STATE,
    )
}
