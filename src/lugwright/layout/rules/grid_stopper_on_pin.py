"""A grid stopper sits on its pin."""

from __future__ import annotations

import math
from collections.abc import Iterator

from lugwright.buildfile.build import Resistor, Tube
from lugwright.findings import Finding, Grade
from lugwright.layout.explain_results import WorstPlace
from lugwright.layout.objective import MAX_LEAD_MM, MIN_LEAD_MM
from lugwright.layout.results import SeatedPart
from lugwright.layout.rules.case import Case, Judged


def grid_stopper_on_pin(case: Case) -> Judged:
    """Return the grid stopper that is not soldered to its pin, or the first of those that are."""
    stoppers = list(_stoppers(case))
    if not stoppers:
        return Judged()
    off = [stopper for stopper in stoppers if not stopper[1] & set(stopper[0].terminals)]
    seat, pins, _ = (off or stoppers)[0]
    labels = " or ".join(case.label(pin) for pin in sorted(pins))
    worst = WorstPlace(
        "grid-stopper-on-pin", "grid stopper farthest from its pin", f"{seat.part} of {labels}",
        f"not on the pin ({len(off)} of {len(stoppers)})" if off else f"on the pin (all {len(stoppers)})",
        "on the pin", not off,
    )  # fmt: skip
    return Judged(worst, tuple(_finding(case, *stopper) for stopper in off))


def _finding(case: Case, seat: SeatedPart, pins: set[str], joint: str) -> Finding:
    low, high = (seat.body_length_mm + 2.0 * lead for lead in (MIN_LEAD_MM, MAX_LEAD_MM))
    reach = f"{math.ceil(low)} to {math.floor(high)} mm"
    return Finding(
        rule="grid-stopper-on-pin", grade=Grade.DOUBT, part=seat.part,
        what=f"grid stopper {seat.part} is not on the pin", found=f"{' to '.join(seat.terminals)}, joint {joint}",
        wanted=f"one lead on {' or '.join(sorted(pins))}",
        do=f"stand a free lug {reach} from the pin{_nearest_words(case, pins)}",
        source="common practice: the stopper works against the pin's own capacitance",
    )  # fmt: skip


def _nearest_words(case: Case, pins: set[str]) -> str:
    """Return which lug of a strip stands nearest to one of the pins, and how far away."""
    there = case.plan.terminals
    at = [(t.x_mm, t.y_mm, t.z_mm) for key, t in there.items() if key in pins]
    lugs = [(min(math.dist(pin, (t.x_mm, t.y_mm, t.z_mm)) for pin in at), key)
            for key, t in there.items() if t.kind == "lug" and at]  # fmt: skip
    if not lugs:
        return ""
    apart, key = min(lugs)
    return f"; the nearest lug now is {case.label(key)}, {apart:.0f} mm away"


def _stoppers(case: Case) -> Iterator[tuple[SeatedPart, set[str], str]]:
    """Yield (seat, keys of its grid pins, joint) of every resistor that alone feeds a grid."""
    seats = {seat.part: seat for seat in case.plan.seats}
    for joint, terminals in case.build.joints.items():
        grids = [t for t in terminals if t.name == "grid" and isinstance(case.build.part(t.part).values, Tube)]
        stoppers = [t for t in terminals if isinstance(case.build.part(t.part).values, Resistor)]
        if len(terminals) == 2 and grids and stoppers and stoppers[0].part in seats:
            yield seats[stoppers[0].part], {f"{grids[0].part}.{pin}" for pin in grids[0].pins}, joint
