"""Every wire end and every lead of a part on the lug or pin beside the planned one."""

from __future__ import annotations

from collections.abc import Iterator

from lugwright.bringup.faults.case import FaultCase
from lugwright.bringup.faults.fault import Fault
from lugwright.bringup.faults.joined_danger import joined_danger


def wire_one_over(case: FaultCase) -> Iterator[Fault]:
    """Yield each end of each wire on either neighbor."""
    for name, wire in case.wires.items():
        if not wire.bond:
            for key in dict.fromkeys(wire.terminals):
                yield from _beside(case, name, key, "", (wire.number,))


def part_one_over(case: FaultCase) -> Iterator[Fault]:
    """Yield each lead of each part on either neighbor."""
    for seat in case.plan.seats:
        for lead, key in zip(seat.lead_names, seat.terminals, strict=True):
            yield from _beside(case, f"{seat.part}.{lead}", key, seat.part, ())


def _beside(case: FaultCase, piece: str, key: str, part: str, wires: tuple[int, ...]) -> Iterator[Fault]:
    for other in case.neighbors.get(key, ()):
        if case.terminal(other).joint == case.terminal(key).joint:
            continue
        effect = case.wired.shifted(piece, key, other)
        tone = case.roles.get(part) == "tone part"
        yield case.fault(
            f"{piece} on {other} for {key}", "F75" if tone else "F56",
            what=f"{case.piece_name(piece)} is on {case.label(other)} instead of {case.label(key)}",
            do=f"move it to {case.label(key)}", effect=effect, part=part, wires=wires, terminals=(key, other),
            danger=joined_danger(case, effect),
        )  # fmt: skip
