"""Findings and ratings, as `lugwright check` and the book have them: at once what is quick, then all of it."""

from __future__ import annotations

from typing import Any

from lugwright.buildfile.build import Build
from lugwright.circuit.operating import Rating
from lugwright.findings import Finding
from lugwright.quantities import with_unit
from lugwright.web.asked.asked import LONG, Asked, NoArgs
from lugwright.web.desk import Desk
from lugwright.workflow import Checked, all_checks, quick_checks

LEAST_SHARE = 0.5  # of its limit; ratings below it stand folded up


def _quick(desk: Desk, args: NoArgs) -> dict[str, Any]:
    return _told(desk, quick_checks(desk.opened))


def _all(desk: Desk, args: NoArgs) -> dict[str, Any]:
    return _told(desk, all_checks(desk.opened, desk.tell))


def _told(desk: Desk, checked: Checked) -> dict[str, Any]:
    build = desk.opened.readable
    rows = [_rating(rating, build) for rating in checked.ratings]
    return {
        "findings": [_finding(finding, build) for finding in checked.findings],
        "close": [row for row in rows if row["percent"] >= 100.0 * LEAST_SHARE],
        "far": [row for row in rows if row["percent"] < 100.0 * LEAST_SHARE],
        "least": f"{LEAST_SHARE:.0%}",
        "not_made": [{"check": each.check, "what": each.error.what, "do": each.error.do} for each in checked.not_made],
    }


def _finding(finding: Finding, build: Build | None) -> dict[str, Any]:
    return {
        "grade": finding.grade.value,
        "what": finding.what,
        "found": finding.found,
        "wanted": finding.wanted,
        "do": finding.do,
        "rule": finding.rule,
        "source": finding.source,
        "place": str(finding.place) if finding.place else "",
        "part": _part(finding.part, build),
    }


def _rating(rating: Rating, build: Build | None) -> dict[str, Any]:
    limit = with_unit(rating.limit, rating.unit)
    return {
        "name": rating.part,
        "part": _part(rating.part, build),
        "what": rating.what,
        "is": with_unit(rating.value, rating.unit),
        "limit": f"{limit} or more" if rating.at_least else limit,
        "percent": round(min(100.0 * rating.share, 999.0), 1),
        "source": rating.source,
    }


def _part(name: str, build: Build | None) -> str:
    """Return the part that a name is of, such as V1 of V1a and T1 of T1.hv; "" where it is of none."""
    if build is None:
        return ""
    whole = name.partition(".")[0]
    return next((each for each in (whole, whole[:-1]) if each in build.part_by_name), "")


QUICK_CHECKS = Asked("quick checks", _quick)
ALL_CHECKS = Asked("all checks", _all, lane=LONG)
