"""How high each body lies above the plate once everything has its seat."""

from __future__ import annotations

from lugwright.layout.bodies import in_the_way
from lugwright.layout.search import Bench, Seat

PLATE_AIR_MM = 3.0  # least air between a body and the plate
BODY_RISE_MM = 1.5  # between a body and the one that lies over it
LUG_RISE_MM = 4.0  # between a lug and the body that passes over it


def seat_heights_mm(bench: Bench) -> dict[int, float]:
    """Return the height of each seated body's axis, lowest layer first.

    Parameters
    ----------
    bench : Bench
        The finished plan.

    Returns
    -------
    dict of int to float
        By part number. [mm]

    Source
    ------
    Derived below: leads run straight between the two terminals; a body over others rises until it clears them.
    """
    found: dict[int, float] = {}
    seated = [(index, seat) for index, seat in enumerate(bench.seats) if seat is not None]
    for index, seat in sorted(seated, key=lambda item: (item[1].layer, item[0])):
        part = bench.board.parts[index]
        ends = [bench.board.terminals[end] for end in seat.lying.ends]
        radius = part.diameter_mm / 2.0
        height = max((ends[0].z_mm + ends[1].z_mm) / 2.0, radius + PLATE_AIR_MM)
        if int(bench.board.seats[index].min_layer[seat.row]) > 1:
            height = max(height, max(t.z_mm for t in ends) + LUG_RISE_MM + radius)
        for other in _below(bench, seat, seated):
            height = max(height, found[other] + bench.board.parts[other].diameter_mm / 2.0 + BODY_RISE_MM + radius)
        found[index] = round(height, 1)
    return found


def _below(bench: Bench, seat: Seat, seated: list[tuple[int, Seat]]) -> list[int]:
    return [
        other
        for other, lower in seated
        if lower.layer < seat.layer and not bench.board.parts[other].is_bond and in_the_way(seat.lying, lower.lying)
    ]
