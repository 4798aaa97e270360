"""Cathode bias is set by its resistor: what the preferred values around it would make of the tubes."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

from lugwright.bringup.idle.at_edit import AtEdit
from lugwright.bringup.idle.stage import Path, Stage
from lugwright.bringup.idle.turning import hottest
from lugwright.bringup.idle_results import ResistorRow, Target
from lugwright.circuit.edits import Edit, ScaleValue
from lugwright.quantities import E24, nearest_preferred

NEIGHBORS = 2  # preferred values shown on either side
FARTHEST = 12  # preferred values from the one that is in
SAME = 0.02


def resistor_rows(stage: Stage, at: AtEdit, target: Target) -> tuple[ResistorRow, ...]:
    """Return the cathode resistor with its neighbors and the preferred value that comes nearest to the target.

    Where each tube has a resistor of its own all are changed alike.
    """
    paths = tuple({t.bias.name: t.bias for t in stage.tubes if t.bias is not None}.values())
    if not paths:
        return ()
    now = _row(stage, at, paths, 1.0)
    rows = {now.ohm: now}
    for ohm in _neighbors(paths[0].ohm):
        rows[ohm] = _row(stage, at, paths, ohm / paths[0].ohm)
    wanted = now
    for _ in range(4):  # each round starts from the value found so far
        ohm = _nearest(stage, at, paths, wanted, target)
        if ohm in rows:
            break
        rows[ohm] = wanted = _row(stage, at, paths, ohm / paths[0].ohm)
    best = min(rows.values(), key=lambda row: (row.share > target.most, abs(row.share - target.aim)))
    return tuple(_marked(row, row is now, row is best) for _, row in sorted(rows.items()))


def _neighbors(ohm: float) -> Iterator[float]:
    """Yield the preferred values next to one, on either side."""
    decade = 10.0 ** math.floor(math.log10(ohm))
    values = [float(f"{n * d:.3g}") for d in (decade / 10.0, decade, decade * 10.0) for n in E24]
    below = [v for v in values if v < ohm * (1.0 - SAME)]
    above = [v for v in values if v > ohm * (1.0 + SAME)]
    yield from (*below[-NEIGHBORS:], *above[:NEIGHBORS])


def _nearest(stage: Stage, at: AtEdit, paths: tuple[Path, ...], row: ResistorRow, target: Target) -> float:
    """Return the preferred value that may meet the target, by the slope at a value that is solved."""
    near = _row(stage, at, paths, row.ohm * 1.02 / paths[0].ohm)
    slope = math.log(near.share / row.share) / math.log(1.02)
    factor = (target.aim / row.share) ** (1.0 / slope) if slope < -0.05 else 1.0
    return nearest_preferred(row.ohm * min(max(factor, 0.4), 2.5))


def _row(stage: Stage, at: AtEdit, paths: tuple[Path, ...], factor: float) -> ResistorRow:
    changes = tuple(ScaleValue(name, "ohm", factor) for path in paths for name in path.elements)
    there = at if factor == 1.0 else at.further(Edit("", changes))
    hot = hottest([there.state(tube) for tube in stage.tubes])
    path = stage.tube(hot.tube).bias or paths[0]
    return ResistorRow(
        float(f"{paths[0].ohm * factor:.4g}"), tuple(p.name for p in paths), False, False,
        there.volts(path.high, path.low), hot.plate_a, hot.share, there.idle.parts[path.name].watts,
    )  # fmt: skip


def _marked(row: ResistorRow, now: bool, best: bool) -> ResistorRow:
    return replace(row, now=now, best=best)
