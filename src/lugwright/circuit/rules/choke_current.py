"""No choke carries more direct current than it is made for."""

from __future__ import annotations

from collections.abc import Iterator

from lugwright.buildfile.build import Choke
from lugwright.circuit.operating import Rating
from lugwright.circuit.rules.case import Case, Checked
from lugwright.findings import Grade
from lugwright.quantities import with_unit

RULE = "choke-current"
SOURCE = "rating of the choke as the build file states it"


def choke_current(case: Case) -> Iterator[Checked]:
    """Yield the direct current of every choke, and a fault above its rating."""
    for part, choke in case.parts(Choke):
        amps = max(abs(idle.parts[part.name].amps) for _, idle in case.states)
        yield Rating(RULE, part.name, "direct current", amps, choke.amps, "A", SOURCE)
        if amps > choke.amps:
            yield case.finding(
                RULE, Grade.FAULT, part,
                what=f"choke {part.name} carries too much direct current",
                found=with_unit(amps, "A"),
                wanted=f"at most {with_unit(choke.amps, 'A')}: above it the core saturates, only wire is left",
                do="use a choke for more current",
                source=SOURCE,
            )  # fmt: skip
