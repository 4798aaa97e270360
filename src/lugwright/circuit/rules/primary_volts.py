"""The primary is wound for the mains it is plugged into."""

from __future__ import annotations

import math
from collections.abc import Iterator

from lugwright.buildfile.build import Part, Transformer
from lugwright.circuit.operating import Rating
from lugwright.circuit.rules.case import Case, Checked
from lugwright.findings import Grade
from lugwright.quantities import with_unit

RULE = "primary-volts"
FAULT_SHARE, DOUBT_SHARE = 0.10, 0.06
SOURCE = "no-load volts of the primary as stated; mains may swing 10 %, from memory"


def primary_volts(case: Case) -> Iterator[Checked]:
    """Yield the volts on every primary against those it is wound for, and a finding where they differ."""
    for part, transformer in case.parts(Transformer):
        if transformer.role == "power":
            yield from _primary(case, part, transformer)


def _primary(case: Case, part: Part, transformer: Transformer) -> Iterator[Checked]:
    winding = transformer.windings[0]
    labels = [end.rsplit(".", 1)[-1] for end in winding.ends]
    ratios = []
    for k, turns_v in enumerate(winding.turns):
        coil = case.idle.parts[f"{part.name}.{winding.name}.{labels[k]}-{labels[k + 1]}"]
        ratios.append((coil.peak_v / math.sqrt(2.0) / turns_v, turns_v))
    ratio, turns_v = max(ratios)
    yield Rating(RULE, f"{part.name}.{winding.name}", "mains on the primary, RMS", ratio * turns_v,
                 turns_v * (1.0 + FAULT_SHARE), "V", SOURCE)  # fmt: skip
    if abs(ratio - 1.0) <= DOUBT_SHARE:
        return
    wrong = abs(ratio - 1.0) > FAULT_SHARE
    yield case.finding(
        RULE, Grade.FAULT if wrong else Grade.DOUBT, part,
        what=f"the primary of {part.name} is not wound for this mains",
        found=f"{with_unit(ratio * turns_v, 'V')} on a winding for {with_unit(turns_v, 'V')}",
        wanted=f"within {DOUBT_SHARE:.0%} of {with_unit(turns_v, 'V')}",
        do="use the tap for this mains: every other voltage of the amplifier scales with it",
        source=SOURCE,
    )  # fmt: skip
