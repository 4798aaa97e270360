"""What must keep away from grids: plates on the next lug, heater and mains wires alongside."""

from __future__ import annotations

from collections.abc import Iterator

from lugwright.findings import Finding, Grade
from lugwright.layout.rules.case import Case, run_beside_mm

TUBE_PLATES = ("plate", "output plate")
HUM_WITHIN_MM, HUM_RUN_MM = 10.0, 30.0  # our own: three times the distance between the two
MAINS_WITHIN_MM = 20.0


def plate_beside_grid(case: Case) -> Iterator[Finding]:
    """Yield the first pair of neighboring lugs that carry a plate and a grid."""
    pairs = [
        (one, two)
        for one, two in case.neighbors()
        if any(
            case.classes.get(a.joint) in TUBE_PLATES and case.classes.get(b.joint) == "grid"
            for a, b in ((one, two), (two, one))
        )
    ]
    if pairs:
        one, two = pairs[0]
        yield Finding(
            rule="plate-beside-grid", grade=Grade.DOUBT, part=one.owner,
            what=f"a plate and a grid are neighbors: {one.label} and {two.label}",
            found=f"{one.joint} beside {two.joint} ({len(pairs)} such places), about 0.25 pF",
            wanted="a lug between them, or a joint that does not swing", do="move one of the two joints",
            source="parallel-lug estimate; 0.05 pF already matters across two stages",
        )  # fmt: skip


def heater_beside_grid(case: Case) -> Iterator[Finding]:
    """Yield the grid or signal wire that runs longest beside a heater pair."""
    yield from _beside(case, "heater", HUM_WITHIN_MM, "heater-near-grid")


def mains_beside_signal(case: Case) -> Iterator[Finding]:
    """Yield the grid or signal wire that runs longest beside mains wiring."""
    yield from _beside(case, "mains", MAINS_WITHIN_MM, "mains-near-signal")


def _beside(case: Case, kind: str, within_mm: float, rule: str) -> Iterator[Finding]:
    clean = [w for w in case.plan.wires if w.kind in ("grid", "signal")]
    dirty = [w for w in case.plan.wires if w.kind == kind]
    runs = [(run_beside_mm(w, d, within_mm=within_mm), -w.number, -d.number) for w in clean for d in dirty]
    if not runs:
        return
    length, wire, other = max(runs)
    if length > HUM_RUN_MM:
        yield Finding(
            rule=rule, grade=Grade.DOUBT, part=f"W{-wire}", what=f"W{-wire} runs beside {kind} wire W{-other}",
            found=f"{length:.0f} mm nearer than {within_mm:.0f} mm", wanted=f"{HUM_RUN_MM:.0f} mm or less",
            do="cross it at a right angle, or use shielded wire", source="common practice; the numbers are our own",
        )  # fmt: skip
