"""What values that are tried do to everything else: the idle, ratings, the start; findings that come and go."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from lugwright.findings import Finding, sorted_by_grade
from lugwright.web.asked.asked import LONG, Asked
from lugwright.web.asked.trying import TriedArgs, moved_rows
from lugwright.web.desk import Desk
from lugwright.workflow import Opened

Looked = Callable[[Opened], tuple[Finding, ...]]
LOOKS: tuple[tuple[str, Looked], ...] = (
    ("ratings at idle", lambda opened: opened.ratings[1]),
    ("mains 10 % high", lambda opened: opened.mains_findings),
    ("the start, cold tubes", lambda opened: opened.start_ratings[1]),
    ("coming to rest, feedback", lambda opened: opened.stability_of(opened.response)),
)


def _findings(desk: Desk, args: TriedArgs) -> dict[str, Any]:
    before, after = desk.opened, desk.what_if(tuple(args.changes))
    was, now = list(before.findings), list(after.findings)
    if after.readable is not None:
        for count, (words, look) in enumerate(LOOKS):
            desk.tell(count / len(LOOKS), words)
            was += look(before)
            now += look(after)
    idle = moved_rows(before.written, before.idle.levels, after.idle.levels) if after.readable is not None else []
    known, found = {_key(f) for f in was}, {_key(f) for f in now}
    return {
        "changes": [{"part": c.part, "was": c.was, "now": c.now} for c in after.changes],
        "new": [_told(f) for f in sorted_by_grade([f for f in now if _key(f) not in known])],
        "gone": [_told(f) for f in sorted_by_grade([f for f in was if _key(f) not in found])],
        "same": len([f for f in now if _key(f) in known]),
        "looked": ["the build file", *(words for words, _ in LOOKS)] if after.readable is not None else [],
        "idle": idle,
    }


def _key(finding: Finding) -> tuple[str, str, str]:
    return finding.rule, finding.part, finding.what


def _told(finding: Finding) -> dict[str, str]:
    return {
        "grade": finding.grade.value,
        "part": finding.part,
        "what": finding.what,
        "found": finding.found,
        "wanted": finding.wanted,
        "do": finding.do,
    }


TRIED_FINDINGS = Asked("tried findings", _findings, TriedArgs, LONG, words="the checks of what is tried")
