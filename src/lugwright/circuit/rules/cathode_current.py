"""No cathode gives more than its sheet allows."""

from __future__ import annotations

from collections.abc import Iterator

from lugwright.circuit.operating import Rating
from lugwright.circuit.rules.case import Case, Checked
from lugwright.findings import Grade
from lugwright.quantities import with_unit

RULE = "cathode-current"


def cathode_current(case: Case) -> Iterator[Checked]:
    """Yield the cathode current of every section whose limit is known, and a fault above it."""
    for part, tube, letter, idle in case.sections():
        limit = tube.type.limits.get("cathode_a")
        if limit is None:
            continue
        name = f"{part.name}{letter}"
        yield Rating(RULE, name, "cathode current", idle.cathode_a, limit.value, "A", str(limit.source))
        if idle.cathode_a > limit.value:
            yield case.finding(
                RULE, Grade.FAULT, part,
                what=f"the cathode of {name} gives too much current",
                found=with_unit(idle.cathode_a, "A"),
                wanted=f"at most {with_unit(limit.value, 'A')} ({tube.type.name})",
                do="make its bias more negative, or its load larger",
                source=str(limit.source),
            )  # fmt: skip
