"""A build in short, for the shelf and the head of every page."""

from __future__ import annotations

from typing import Any

from lugwright.web.asked.asked import Asked, NoArgs
from lugwright.web.asked.told_finding import told_finding
from lugwright.web.desk import Desk
from lugwright.workflow import worst_grade


def _outline(desk: Desk, args: NoArgs) -> dict[str, Any]:
    opened = desk.opened
    readable = opened.readable
    log = opened.bench_log
    return {
        "title": readable.title if readable else desk.path.stem,
        "file": desk.path.name,
        "readable": readable is not None,
        "findings": len(opened.findings),
        "worst": worst.value if (worst := worst_grade(opened.findings)) else "",
        "faults": [] if readable else [told_finding(finding, None) for finding in opened.findings],
        "parts": len(readable.parts) if readable else 0,
        "copy": log.copy,
        "copies": list(log.copies) or [log.copy],
        "planned": opened.plan_path.exists(),
        "position": log.log.last_position(),
        "last": log.bench.last,
    }


OUTLINE = Asked("outline", _outline)
