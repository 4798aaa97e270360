"""Findings and ratings, as `lugwright check` and the book have them: at once what is quick, then all of it."""

from __future__ import annotations

from typing import Any

from lugwright.buildfile.build import Build
from lugwright.circuit.operating import Rating
from lugwright.quantities import with_unit
from lugwright.web.asked.asked import LONG, Asked, NoArgs
from lugwright.web.asked.told_finding import part_of, told_finding
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
        "findings": [told_finding(finding, build) for finding in checked.findings],
        "close": [row for row in rows if row["percent"] >= 100.0 * LEAST_SHARE],
        "far": [row for row in rows if row["percent"] < 100.0 * LEAST_SHARE],
        "least": f"{LEAST_SHARE:.0%}",
        "not_made": _not_made(checked),
    }


def _not_made(checked: Checked) -> list[dict[str, str]]:
    """Return the checks that were not made, those with one reason together."""
    checks: dict[tuple[str, str], list[str]] = {}
    for each in checked.not_made:
        checks.setdefault((each.error.what, each.error.do), []).append(each.check)
    return [{"checks": ", ".join(names), "what": what, "do": do} for (what, do), names in checks.items()]


def _rating(rating: Rating, build: Build | None) -> dict[str, Any]:
    limit = with_unit(rating.limit, rating.unit)
    return {
        "name": rating.part,
        "part": part_of(rating.part, build),
        "what": rating.what,
        "is": with_unit(rating.value, rating.unit),
        "limit": f"{limit} or more" if rating.at_least else limit,
        "percent": round(min(100.0 * rating.share, 999.0), 1),
        "source": rating.source,
    }


QUICK_CHECKS = Asked("quick checks", _quick)
ALL_CHECKS = Asked("all checks", _all, lane=LONG, words="all checks")
