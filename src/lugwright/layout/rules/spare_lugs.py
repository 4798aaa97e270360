"""A tenth of the lugs stay free for repairs and changes, and at least two."""

from __future__ import annotations

import math

from lugwright.findings import Grade
from lugwright.layout.explain_results import WorstPlace
from lugwright.layout.rules.case import Case, Judged, told

SPARE_SHARE, LEAST_SPARE, NONE_NEEDED_UP_TO = 0.1, 2, 6


def spare_lugs_wanted(used: int) -> int:
    """Return how many lugs should stay free beside so many used ones."""
    return 0 if used <= NONE_NEEDED_UP_TO else max(LEAST_SPARE, math.ceil(used * SPARE_SHARE - 1e-9))


def spare_lugs(case: Case) -> Judged:
    """Return how many lugs are left for repairs and changes."""
    spare = len(case.plan.spare_lugs)
    used = sum(1 for t in case.plan.terminals.values() if t.kind == "lug") - spare
    wanted = spare_lugs_wanted(used)
    met = spare >= wanted
    found = f"{spare} spare beside {used} used"
    worst = WorstPlace("spare-lugs", "lugs left over", "all strips", found, f"{wanted} spare or more", met)
    return told(
        worst, Grade.NOTE, what="few lugs are left for repairs and changes",
        found=found, wanted=f"{wanted} spare (a tenth, and at least {LEAST_SPARE})",
        do="make a strip longer or add one",
        source="MIL-DTL-917F, spare terminals, read as a page image of a standards site",
    )  # fmt: skip
