"""A chapter of the book on the page: as the build is, and beside it with what is tried; what moves stands first."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Any

from lugwright.documents.book.blocks import Block, Section
from lugwright.documents.compared import Quantity, moved_figures
from lugwright.findings import Finding, sorted_by_grade
from lugwright.web.asked.told_finding import told_finding
from lugwright.web.asked.trying import TriedArgs
from lugwright.web.desk import Desk
from lugwright.web.fragments import fragment
from lugwright.web.shown.section import shown_blocks
from lugwright.workflow import Opened

MOST_MOVED = 40
AS_IS, TRIED = "as the build is", "with what is tried"


@dataclass(frozen=True)
class Study:
    """What was found: a chapter or pieces of one, figures by name, and what of it is not as it should be."""

    blocks: tuple[Block, ...]
    figures: tuple[Quantity, ...] = ()
    findings: tuple[Finding, ...] = ()


def studied(desk: Desk, args: TriedArgs, look: Callable[[Opened], Study]) -> dict[str, Any]:
    """Return a study as HTML; with values tried, both side by side."""
    desk.tell(0.0, AS_IS)
    opened = desk.opened
    before = look(opened)
    if not args.changes:
        return {"html": fragment("study", as_is=_shown(before, opened, ""), tried=None, moved=[], more=0)}
    desk.tell(0.5, TRIED)
    other = desk.what_if(tuple(args.changes))
    after = look(other)
    moved, count = moved_figures(before.figures, after.figures, most=MOST_MOVED)
    as_is, tried = _shown(before, opened, ""), _shown(after, other, "tried-")
    return {"html": fragment("study", as_is=as_is, tried=tried, moved=moved, more=count - len(moved))}


def section_study(
    section: Section, figures: Iterable[Quantity] = (), findings: Iterable[Finding] = (), more: Iterable[Block] = ()
) -> Study:
    """Return the study that a chapter of the book is."""
    return Study((*section.blocks, *more), tuple(figures), tuple(findings))


def _shown(study: Study, opened: Opened, before: str) -> dict[str, Any]:
    found = sorted_by_grade(list(study.findings))
    return {
        "blocks": shown_blocks(study.blocks, before),
        "findings": [told_finding(finding, opened.readable) for finding in found],
    }
