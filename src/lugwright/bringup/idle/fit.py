"""This amplifier as its readings have it: tubes, mains and controls fitted to them.

Readings and what is known beforehand (spread of the tubes' type, the mains as stated, where the control was left)
are weighed by their uncertainties: the least sum of squares. The circuit is solved
whole at each step, its slopes come from a batch of small changes around it.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lugwright.bringup.bias_control import turned
from lugwright.bringup.good_builds import MAINS
from lugwright.bringup.idle.at_edit import AtEdit
from lugwright.bringup.idle.ohms import EVEN, SCREEN_SPREAD, ohms_of
from lugwright.bringup.idle.readings import IdleReading
from lugwright.bringup.idle.stage import Stage
from lugwright.buildfile.build import Part, Pot
from lugwright.circuit.edits import Edit, ScaleValue
from lugwright.solve.many import ManyIdles, many_at

Array = NDArray[np.float64]
Bools = NDArray[np.bool_]

CONTROL_OFF = 0.3  # nobody notes where a control was left
NOTED_CONTROL_OFF = 0.03
PART_SHARE = 0.01  # of a reading: what parts that are not fitted move it
FITTED = ("adapter",)  # what is fitted besides volts
STEPS = 10
MOVE = 1e-3  # of an unknown, for the slopes
SETTLED = 2e-3
LONGEST = 0.35  # step of one unknown


@dataclass(frozen=True)
class Unknown:
    """One thing the readings may move away from what the build file says."""

    name: str
    kind: str  # "tube", "mains", "control"
    edit: Callable[[float], Edit]
    before: float
    off: float  # one standard deviation
    low: float
    high: float


@dataclass(frozen=True)
class Fitted:
    """The circuit that explains the readings best."""

    at: AtEdit
    unknowns: tuple[Unknown, ...]
    values: Mapping[str, float]
    left: Mapping[str, float]  # reading as said -> what is left over, in standard deviations
    settled: bool

    def strength(self, tube: str) -> float:
        """Return a tube's current against the average of its type at the same volts. [-]"""
        return math.exp(self.values[tube])

    @property
    def mains_share(self) -> float:
        """Return the mains against what the build file states. [-]"""
        return math.exp(self.values.get("mains", 0.0))


def unknowns_of(stage: Stage, controls: Sequence[Part], noted: Mapping[str, float]) -> tuple[Unknown, ...]:
    """Return what is fitted: every output tube, the mains, the controls."""
    # Without a control only the tube is left to explain a current: its band must not hold it back.
    share = EVEN if controls else 2.0
    found = [_scaled(t.name, "tube", (t.name, "on"), t.spread * share) for t in stage.tubes]
    if MAINS[0] in stage.circuit.by_name:
        found.append(_scaled("mains", "mains", MAINS, stage.build.mains_spread * EVEN))
    for part in controls:
        before = noted.get(part.name, part.values.setting if isinstance(part.values, Pot) else 0.5)
        off = NOTED_CONTROL_OFF if part.name in noted else CONTROL_OFF
        found.append(Unknown(part.name, "control", _turning(part), before, off, 0.0, 1.0))
    return tuple(found)


def as_measured(stage: Stage, readings: Sequence[IdleReading]) -> Edit:
    """Return the edit that gives what was read over the ohms it was measured with, and windings their warm ones."""
    changes = []
    for path in stage.paths:
        read = any((r.red, r.black) == (path.high, path.low) for r in readings)
        factor = ohms_of(path, readings).value / path.ohm
        if read and factor != 1.0:
            changes += [ScaleValue(element, "ohm", factor) for element in path.elements]
    return Edit("", tuple(changes))


def _scaled(name: str, kind: str, of: tuple[str, str], off: float) -> Unknown:
    def edit(x: float) -> Edit:
        return Edit("", (ScaleValue(*of, math.exp(x)),))

    return Unknown(name, kind, edit, 0.0, max(off, 1e-4), -2.5, 1.5)


def _turning(part: Part) -> Callable[[float], Edit]:
    return lambda x: turned(part, rotation=min(max(x, 0.0), 1.0))


def fitted(stage: Stage, at: AtEdit, unknowns: Sequence[Unknown], readings: Sequence[IdleReading]) -> Fitted:
    """Return the circuit that explains the readings best.

    Parameters
    ----------
    stage : Stage
        The output stage.
    at : AtEdit
        The circuit as drawn.
    unknowns : sequence of Unknown
        What may differ from it.
    readings : sequence of IdleReading
        Those in volts are fitted.

    Returns
    -------
    Fitted
        Its values, and what is left of each reading.

    Raises
    ------
    NoIdlePoint
        On the way there the circuit has no certified point.

    Source
    ------
    Gauss-Newton with prior knowledge as further readings: textbook least squares.
    """
    read = [r for r in readings if r.what in FITTED or r.unit == "V"]
    sigma = np.array([_off(stage, r, readings) for r in read])
    before, weight = np.array([u.before for u in unknowns]), np.array([1.0 / u.off for u in unknowns])
    lowest, highest = np.array([u.low for u in unknowns]), np.array([u.high for u in unknowns])
    x, now, missing, settled = before.copy(), at, np.zeros(0), False
    for _ in range(STEPS):
        now = _solved(at, unknowns, x)
        missing = np.array([r.value - _predicted(now, r) for r in read])
        rows = np.vstack([_slopes(now, at, unknowns, x, read) / sigma[:, None], np.diag(weight)])
        right = np.concatenate([missing / sigma, weight * (before - x)])
        after = np.clip(x + _step(rows, right, x <= lowest, x >= highest), lowest, highest)
        settled = bool(np.abs(after - x).max(initial=0.0) < SETTLED)
        if settled:
            break
        x = after
    left = {r.said: float(m / s) for r, m, s in zip(read, missing, sigma, strict=True)}
    values = {u.name: float(value) for u, value in zip(unknowns, x, strict=True)}
    return Fitted(now, tuple(unknowns), values, left, settled)


def _step(rows: Array, right: Array, at_low: Bools, at_high: Bools) -> Array:
    """Return the step of least squares; what stands at its end and would go beyond stays, and the others make up."""
    free = np.ones(rows.shape[1], dtype=bool)
    step = np.zeros(rows.shape[1])
    while free.any():
        step[:] = 0.0
        step[free] = np.linalg.lstsq(rows[:, free], right, rcond=None)[0]
        beyond = free & ((at_low & (step < 0.0)) | (at_high & (step > 0.0)))
        if not beyond.any():
            break
        free &= ~beyond
    return np.asarray(np.clip(step, -LONGEST, LONGEST))


def _predicted(at: AtEdit, reading: IdleReading) -> float:
    """Return what a reading should show. [V], [A]"""
    return at.idle.tubes[reading.tube].cathode_a if reading.unit == "A" else at.volts(reading.red, reading.black)


def _off(stage: Stage, reading: IdleReading, readings: Sequence[IdleReading]) -> float:
    """Return one standard deviation of a reading: its meter, and the parts that are not fitted."""
    path = stage.path_between(reading.red, reading.black)
    share = PART_SHARE if path is None or reading.unit == "A" else ohms_of(path, readings).share_off / 2.0
    if reading.what == "grid":
        share = 0.0  # the control stands for every part of the bias supply
    if reading.what == "screen resistor":
        share = SCREEN_SPREAD * EVEN
    return math.hypot(reading.off * EVEN, share * reading.value)


def _changes(unknowns: Sequence[Unknown], x: Array) -> Edit:
    return Edit("", tuple(c for u, value in zip(unknowns, x, strict=True) for c in u.edit(float(value)).changes))


def _solved(at: AtEdit, unknowns: Sequence[Unknown], x: Array) -> AtEdit:
    rotations = {u.name: float(v) for u, v in zip(unknowns, x, strict=True) if u.kind == "control"}
    further = at.further(_changes(unknowns, x))
    return AtEdit(further.solved, further.idle, further.edit, rotations)


def _slopes(now: AtEdit, at: AtEdit, unknowns: Sequence[Unknown], x: Array, readings: Sequence[IdleReading]) -> Array:
    """Return what each unknown does to each reading (reading, unknown)."""
    system = now.solved.system
    moves = np.where(x < 0.5, MOVE, -MOVE)
    edits = [Edit("", (*at.edit.changes, *_changes(unknowns, row).changes)) for row in x + np.diag(moves)]
    # What the solve itself has set (a lamp's ohms, a choke's henries) stays as it is there.
    many = many_at(now.solved, now.solved.values + system.values(edits) - system.values([now.edit]))
    slopes = [(_predicted_of(many, r) - _predicted(now, r)) / moves for r in readings]
    return np.array(slopes).reshape(len(readings), len(x))


def _predicted_of(many: ManyIdles, reading: IdleReading) -> Array:
    if reading.unit != "A":
        return many.level_at(reading.red) - many.level_at(reading.black)
    row = next(k for k, tube in enumerate(many.base.system.pentodes) if tube.name == reading.tube)
    return np.asarray(sum(amps[row] for amps in many.tubes.pentode_a))
