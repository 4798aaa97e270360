"""Small doors from Python into the tables; each is compiled when it is first used."""

from __future__ import annotations

from lugwright.layout.kernel import insert, place, wiring
from lugwright.layout.kernel import search as searching
from lugwright.layout.kernel.compiled import entry
from lugwright.layout.kernel.geometry import lay
from lugwright.layout.kernel.tables import LENGTH, RADIUS, Tables, Whole


@entry
def may_carry(w: Tables, terminal: int, joint: int, also: int, also_joint: int) -> bool:
    """Return whether a terminal may carry a joint, ``also`` being a terminal set with it."""
    return place.may_carry(w, terminal, joint, also, also_joint)


@entry
def allowed(w: Tables, part: int, row: int) -> bool:
    """Return whether room, joints and insulation let a part sit on a row (layers not looked at)."""
    return place.allowed(w, part, row)


@entry
def free_layer(w: Tables, part: int, row: int) -> int:
    """Return the lowest layer with room on a row, 0 when there is none."""
    line = w.line[len(w.part)]
    line[LENGTH], line[RADIUS] = w.line[part, LENGTH], w.line[part, RADIUS]
    lay(w, row, line)
    return place.free_layer(w, part, row, line)


@entry
def put(w: Tables, part: int, row: int, layer: int) -> None:
    """Seat a part; the caller has checked that it may."""
    place.put(w, part, row, layer)


@entry
def take(w: Tables, part: int) -> None:
    """Unseat a part."""
    place.take(w, part)


@entry
def add_tie(w: Tables, lug: int, joint: int) -> None:
    """Give a free lug to a joint for its wires alone."""
    place.add_tie(w, lug, joint)


@entry
def drop_ties(w: Tables, joint: int) -> None:
    """Take the tie lugs of a joint away."""
    place.drop_ties(w, joint)


@entry
def rewire(w: Tables, joint: int) -> None:
    """Make the wires of a joint anew."""
    wiring.rewire(w, joint)


@entry
def crowded(w: Tables, joint: int) -> int:
    """Return the price of crowded terminals of a joint."""
    return wiring.crowded(w, joint)


@entry
def lay_out(w: Tables, kept: Whole) -> None:
    """Make the plan the copy that a search has kept."""
    searching.recall(w, kept)


@entry
def put_best(w: Tables, part: int) -> bool:
    """Put a part on its cheapest seat; return whether it has one."""
    return insert.seat_part(w, part, insert.NEVER)
