"""A fuse survives switching on, and blows when the first filter capacitor shorts."""

from __future__ import annotations

from collections.abc import Iterator

from lugwright.buildfile.build import Fuse, Part
from lugwright.circuit.fuse_curve import (
    GATED_A,
    GATES_SOURCE,
    MELTING_SOURCE,
    blows_within_s,
    least_standing_ratio,
    melting_a2s,
)
from lugwright.circuit.operating import Rating
from lugwright.circuit.rules.case import Checked
from lugwright.circuit.rules.start_case import StartCase
from lugwright.circuit.starting import FuseInrush
from lugwright.findings import Grade
from lugwright.quantities import with_unit

RULE, MELTING_RULE, FAULT_RULE = "fuse-start", "fuse-melting", "fuse-fault"
FAULT_WITHIN_S = 120.0
_SURELY = 2.1  # times its rated current a time-lag fuse must have blown after two minutes


def start_fuse(judged: StartCase) -> Iterator[Checked]:
    """Yield inrush and fault current of every time-lag fuse against its limits, and what does not fit."""
    by_name = {fuse.name: fuse for fuse in judged.start.fuses}
    for part, fuse in judged.case.parts(Fuse):
        if fuse.speed == "slow" and GATED_A[0] <= fuse.amps <= GATED_A[1] and part.name in by_name:
            yield from _stands(judged, part, fuse, by_name[part.name])
            yield from _melts(judged, part, fuse, by_name[part.name])
            yield from _protects(judged, part, fuse, by_name[part.name])


def _stands(judged: StartCase, part: Part, fuse: Fuse, inrush: FuseInrush) -> Iterator[Checked]:
    ratio = least_standing_ratio(inrush.stretches, rated_a=fuse.amps)
    yield Rating(RULE, part.name, "switch-on current, of what it stands", 100.0 * ratio, 100.0, "%", GATES_SOURCE)
    if ratio > 1.0:
        better = inrush.suggested_a
        yield judged.case.finding(
            RULE, Grade.DOUBT, part,
            what=f"fuse {part.name} may blow at switch-on",
            found=f"{with_unit(inrush.peak_a, 'A')} at the highest, {ratio:.2g} times what a time-lag fuse of "
            f"{fuse.amps:g} A is sure to stand",
            wanted="a fuse that stands the start",
            do=f"use {better:g} A slow, or an inrush limiter" if better else "use an inrush limiter",
            source=GATES_SOURCE,
        )  # fmt: skip


def _melts(judged: StartCase, part: Part, fuse: Fuse, inrush: FuseInrush) -> Iterator[Checked]:
    melting = melting_a2s(fuse.amps)
    if melting is None:
        return
    found = inrush.half_cycle_a2s
    yield Rating(MELTING_RULE, part.name, "inrush integral of the worst half cycle", found, melting, "A²s",
                 MELTING_SOURCE)  # fmt: skip
    if found > melting:
        yield judged.case.finding(
            MELTING_RULE, Grade.FAULT, part,
            what=f"fuse {part.name} blows at switch-on",
            found=f"{found:.2g} A²s in one half cycle",
            wanted=f"less than {melting:.3g} A²s, which melts a time-lag fuse of {fuse.amps:g} A",
            do="use an inrush limiter, or a larger fuse if the transformer allows it",
            source=MELTING_SOURCE,
        )  # fmt: skip


def _protects(judged: StartCase, part: Part, fuse: Fuse, inrush: FuseInrush) -> Iterator[Checked]:
    if inrush.fault_a is None:
        return
    seconds = float(blows_within_s(inrush.fault_a / fuse.amps))
    least = _SURELY * fuse.amps
    yield Rating(
        FAULT_RULE, part.name, "current with the first filter capacitor shorted", inrush.fault_a, least, "A",
        GATES_SOURCE, at_least=True,
    )  # fmt: skip
    if seconds > FAULT_WITHIN_S:
        yield judged.case.finding(
            FAULT_RULE, Grade.FAULT, part,
            what=f"fuse {part.name} does not blow when the first filter capacitor shorts",
            found=f"{with_unit(inrush.fault_a, 'A')} RMS through a fuse of {fuse.amps:g} A",
            wanted=f"at least {with_unit(least, 'A')}: {_SURELY:g} times its rating, from which it blows within 2 min",
            do="use a smaller fuse, or add one in the high-voltage winding",
            source=GATES_SOURCE,
        )  # fmt: skip
