"""What a page tries on a build: changes in the words of ``--set``, and how an idle differs from another."""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import Field

from lugwright.buildfile.build import Build
from lugwright.circuit.operating import Levels
from lugwright.documents.book.mains_side import mains_joints
from lugwright.quantities import with_unit
from lugwright.web.asked.asked import Args

Change = Annotated[str, Field(min_length=3, max_length=80)]
MOST_CHANGES = 60
MOST_ROWS = 60
LEAST_V, LEAST_SHARE = 0.01, 2e-3  # what moves by less is not worth a line


class TriedArgs(Args):
    """Changes such as ``R17=220k``."""

    changes: list[Change] = Field(default=[], max_length=MOST_CHANGES)


def moved_rows(build: Build, before: Levels, after: Levels) -> list[dict[str, Any]]:
    """Return what of an idle has moved, what moved most first; joints on the mains are left out."""
    mains = mains_joints(build)
    found = []
    for name, tube in after.tubes.items():
        was = before.tubes.get(name)
        if was is not None:
            found.append((f"{name} plate current", was.plate_a, tube.plate_a, "A"))
            found.append((f"{name} plate heat", was.plate_w, tube.plate_w, "W"))
    for joint, volts in after.volts.items():
        known = before.volts.get(joint)
        if known is not None and joint not in mains and abs(volts - known) > LEAST_V:
            found.append((joint, known, volts, "V"))
    moved = [(_share(was, now), name, was, now, unit) for name, was, now, unit in found]
    moved = sorted((row for row in moved if row[0] > LEAST_SHARE), key=lambda row: -row[0])
    return [
        {"name": name, "was": with_unit(was, unit), "now": with_unit(now, unit)}
        for _, name, was, now, unit in moved[:MOST_ROWS]
    ]


def _share(was: float, now: float) -> float:
    return abs(now - was) / max(abs(was), abs(now), 1e-12)
