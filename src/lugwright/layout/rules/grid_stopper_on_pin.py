"""A grid stopper sits on its pin."""

from __future__ import annotations

from collections.abc import Iterator

from lugwright.buildfile.build import Resistor, Tube
from lugwright.findings import Finding, Grade
from lugwright.layout.explain_results import WorstPlace
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
    return Judged(worst, tuple(_finding(*stopper) for stopper in off))


def _finding(seat: SeatedPart, pins: set[str], joint: str) -> Finding:
    return Finding(
        rule="grid-stopper-on-pin", grade=Grade.DOUBT, part=seat.part,
        what=f"grid stopper {seat.part} is not on the pin", found=f"{' to '.join(seat.terminals)}, joint {joint}",
        wanted=f"one lead on {' or '.join(sorted(pins))}", do="stand a free lug within reach of the socket",
        source="common practice: the stopper works against the pin's own capacitance",
    )  # fmt: skip


def _stoppers(case: Case) -> Iterator[tuple[SeatedPart, set[str], str]]:
    """Yield (seat, keys of its grid pins, joint) of every resistor that alone feeds a grid."""
    seats = {seat.part: seat for seat in case.plan.seats}
    for joint, terminals in case.build.joints.items():
        grids = [t for t in terminals if t.name == "grid" and isinstance(case.build.part(t.part).values, Tube)]
        stoppers = [t for t in terminals if isinstance(case.build.part(t.part).values, Resistor)]
        if len(terminals) == 2 and grids and stoppers and stoppers[0].part in seats:
            yield seats[stoppers[0].part], {f"{grids[0].part}.{pin}" for pin in grids[0].pins}, joint
