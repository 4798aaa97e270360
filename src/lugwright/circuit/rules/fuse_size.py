"""A fuse is slow, stands the idle current with ease, and still blows on a fault."""

from __future__ import annotations

from collections.abc import Iterator

from lugwright.buildfile.build import Fuse, Inlet, Part
from lugwright.circuit.operating import Rating
from lugwright.circuit.rules.case import Case, Checked
from lugwright.circuit.rules.mains_wiring import reached
from lugwright.findings import Grade
from lugwright.quantities import with_unit

RULE, SPEED_RULE = "fuse-size", "fuse-speed"
LEAST_RATIO, MOST_RATIO = 1.3, 2.5
SOURCE = "slow fuse of 1.5 times the working current, rounded up: builders' pages; band 1.3 to 2.5 is ours"


def fuse_size(case: Case) -> Iterator[Checked]:
    """Yield the current of every fuse, and a doubt where its size or speed does not fit."""
    if case.is_off:
        return
    live = case.of_build(_live)
    for part, fuse in case.parts(Fuse):
        amps = max(idle.parts[part.name].rms_a for _, idle in case.states)
        in_mains = bool(live & {t.joint for t in part.terminals})
        yield Rating(RULE, part.name, "current through the fuse, RMS", amps, fuse.amps, "A", SOURCE)
        yield from _size(case, part, fuse, amps, in_mains)
        if in_mains and fuse.speed == "fast":
            yield case.finding(
                SPEED_RULE, Grade.DOUBT, part,
                what=f"fuse {part.name} is a fast one before a transformer",
                found='speed = "fast"',
                wanted='speed = "slow": the transformer takes many times its current for some cycles at switch-on',
                do="use a slow fuse of the same amps",
                source=SOURCE,
            )  # fmt: skip


def _live(case: Case) -> set[str]:
    """Return the joints on the mains."""
    return {
        joint
        for inlet, _ in case.parts(Inlet)
        for side in ("line", "neutral")
        for joint in reached(case.build, inlet.terminal(side).joint, fuses=True)
    }


def _size(case: Case, part: Part, fuse: Fuse, amps: float, in_mains: bool) -> Iterator[Checked]:
    if amps > fuse.amps / LEAST_RATIO:
        blows, overloaded = amps > fuse.amps, _overloaded(case)
        yield case.finding(
            RULE, Grade.FAULT if blows else Grade.DOUBT, part,
            what=f"fuse {part.name} {'blows' if blows else 'may blow'} without a fault",
            found=f"{with_unit(amps, 'A')} RMS at idle through a fuse of {fuse.amps:g} A",
            wanted=f"a fuse of {with_unit(LEAST_RATIO * amps, 'A')} to {with_unit(MOST_RATIO * amps, 'A')}"
            if overloaded is None
            else "a load that the windings can carry",
            do="use the next size up, slow"
            if overloaded is None
            else f"find what overloads {overloaded} before any larger fuse goes in: it would carry the fault",
            source=SOURCE,
        )  # fmt: skip
    elif in_mains and amps < fuse.amps / MOST_RATIO:
        yield case.finding(
            RULE, Grade.DOUBT, part,
            what=f"fuse {part.name} is too large to protect",
            found=f"{with_unit(amps, 'A')} RMS at idle through a fuse of {fuse.amps:g} A",
            wanted=f"a fuse of {with_unit(LEAST_RATIO * amps, 'A')} to {with_unit(MOST_RATIO * amps, 'A')}",
            do="use a smaller one, slow",
            source=SOURCE,
        )  # fmt: skip


def _overloaded(case: Case) -> str | None:
    """Return the winding furthest above what the build file allows it, where there is one."""
    shares = {
        winding.name: winding.rms_a / winding.rated_a
        for _, idle in case.states
        for winding in idle.windings.values()
        if winding.rated_a
    }
    worst = max(sorted(shares), key=lambda name: shares[name], default=None)
    return worst if worst is not None and shares[worst] > 1.0 else None
