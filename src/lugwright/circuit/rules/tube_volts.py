"""Plates and screens stay below their volts, with current and in the seconds without."""

from __future__ import annotations

from collections.abc import Iterator

from lugwright.buildfile.build import Part, Tube
from lugwright.catalogue.records import Figure
from lugwright.circuit.operating import Rating, TubeIdle
from lugwright.circuit.rules.case import MAINS_HIGH, Case, Checked
from lugwright.findings import Grade
from lugwright.quantities import with_unit

RULE, COLD_RULE = "tube-volts", "tube-volts-cold"


def tube_volts(case: Case) -> Iterator[Checked]:
    """Yield plate and screen volts of every section at idle, and a fault above a limit."""
    for part, tube, letter, idle in case.sections():
        # A design-center limit holds for nominal mains, the others for the worst.
        scale = 1.0 if tube.type.rating_system == "design-center" else MAINS_HIGH
        mains = ", mains +10 %" if scale > 1.0 else ""
        for where, volts in _electrodes(idle):
            limit = tube.type.limits.get(f"{where}_v")
            if limit is not None:
                yield from _judged(case, part, f"{part.name}{letter}", where, f" at idle{mains}", volts * scale, limit)


def tube_volts_cold(case: Case) -> Iterator[Checked]:
    """Yield plate and screen volts of every section before it conducts, and a fault above a limit."""
    for part, tube, letter, _ in case.sections():
        name = f"{part.name}{letter}"
        for where, volts in _electrodes(case.cold.tubes[name]):
            limit = cold_limit(tube, where, volts)
            if limit is not None:
                yield from _judged(case, part, name, where, ", tubes cold", volts, limit, COLD_RULE)


def cold_limit(tube: Tube, where: str, volts: float) -> Figure | None:
    """Return the limit without current; the one with current serves where it is kept anyway."""
    limits = tube.type.limits
    warm = limits.get(f"{where}_v")
    return limits.get(f"{where}_cold_v") or (warm if warm is not None and volts <= warm.value else None)


def _electrodes(idle: TubeIdle) -> Iterator[tuple[str, float]]:
    yield "plate", idle.plate_to_cathode_v
    if idle.screen_to_cathode_v is not None:
        yield "screen", idle.screen_to_cathode_v


def _judged(
    case: Case, part: Part, name: str, where: str, state: str, volts: float, limit: Figure, rule: str = RULE
) -> Iterator[Checked]:
    yield Rating(rule, name, f"{where} volts{state}", volts, limit.value, "V", str(limit.source))
    if volts > limit.value:
        yield case.finding(
            rule, Grade.FAULT, part,
            what=f"the {where} of {name} stands too high{state}",
            found=f"{with_unit(volts, 'V')} {where} to cathode",
            wanted=f"at most {with_unit(limit.value, 'V')}",
            do="lower its supply, or use a type that stands more",
            source=str(limit.source),
        )  # fmt: skip
