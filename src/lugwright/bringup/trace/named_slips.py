"""Readings taken wrongly in a way that has a name: what each way would have shown under every hypothesis."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property, partial

import numpy as np
from numpy.typing import NDArray

from lugwright.bringup.faults.neighbors import neighbors
from lugwright.bringup.faults.wrong_readings import WrongReading, wrong_readings
from lugwright.bringup.lamp_reading import LAMP
from lugwright.bringup.trace.ahead import Ahead
from lugwright.bringup.trace.bench import OHMS, TraceBench
from lugwright.bringup.trace.even_scale import even, plain, slope
from lugwright.bringup.trace.evidence import Slip
from lugwright.bringup.trace.records import Array, Probe
from lugwright.workorder.in_words import terminal_words

Lumped = Callable[[Sequence[Probe], NDArray[np.int_]], Ahead]

FREE_SPREAD = 0.5  # on the even scale: a tip on a free lug shows what it picks up
UNSAID_SPREAD = 5.0  # on the even scale: where a hypothesis says nothing of a point, a slip to it may show anything


@dataclass(frozen=True, eq=False)
class NamedSlips:
    """The ways to take readings of one build wrongly, worked out for a reading when it is first doubted."""

    bench: TraceBench
    lumped: Lumped
    hypotheses: int
    kept: dict[Probe, tuple[tuple[WrongReading, Array, Array], ...]] = field(default_factory=dict)

    @cached_property
    def beside(self) -> Mapping[str, tuple[str, ...]]:
        """Return the lugs and pins beside each lug and pin."""
        return neighbors(self.bench.plan)

    def ways(self, probe: Probe) -> tuple[WrongReading, ...]:
        """Return the ways in which a reading may have been taken wrongly."""
        if probe.quantity == LAMP:
            return ()  # nobody takes another lamp for it
        labels = partial(terminal_words, self.bench.build, self.bench.plan)
        return tuple(wrong_readings(probe.red, probe.quantity, beside=self.beside, labels=labels))

    def of(self, place: int, probe: Probe) -> list[Slip]:
        """Return what each wrong way to take a reading would have shown.

        Parameters
        ----------
        place : int
            Of the reading among those that are weighed.
        probe : Probe
            What was to be read.

        Returns
        -------
        list of Slip
            On the even scale of the reading's quantity.

        Valid
        -----
        A lug that the plan leaves free is free under every hypothesis.

        Source
        ------
        `lugwright.bringup.faults.wrong_readings`; first order of the even scale for a reading off by a factor.
        """
        if probe not in self.kept:
            self.kept[probe] = tuple(self._worked_out(probe))
        return [Slip(place, way.odds, mean, sd, way.key) for way, mean, sd in self.kept[probe]]

    def _worked_out(self, probe: Probe) -> list[tuple[WrongReading, Array, Array]]:
        ways = self.ways(probe)
        if not ways:
            return []
        really = [replace(probe, red=way.red, quantity=way.quantity) for way in ways]
        wired = [p for p in dict.fromkeys(really) if not self._free(p)]
        told = self.lumped(wired, np.arange(self.hypotheses))
        column = {p: k for k, p in enumerate(wired)}
        return [
            (way, *_shown(probe.quantity, way, told, column[p]))
            if p in column
            else (way, *self._at_a_free_lug(probe))
            for way, p in zip(ways, really, strict=True)
        ]  # fmt: skip

    def _free(self, probe: Probe) -> bool:
        """Return whether the tip is on a lug that nothing is joined to."""
        known = {*self.bench.circuit.joints, self.bench.circuit.ground}
        return self.bench.joint_of(probe.red) not in known

    def _at_a_free_lug(self, probe: Probe) -> tuple[Array, Array]:
        """Return nothing at all: no volts, and no end of ohms."""
        value = np.inf if probe.step == OHMS else 0.0
        return np.full(self.hypotheses, even(probe.quantity, value)), np.full(self.hypotheses, FREE_SPREAD)


def _shown(quantity: str, way: WrongReading, told: Ahead, column: int) -> tuple[Array, Array]:
    """Return what a meter that is read by the words of another quantity shows, and its spread."""
    mean, sd, known = told.mean[:, column], told.sd[:, column], told.known[:, column]
    value = plain(way.quantity, mean)
    off = way.factor * value
    with np.errstate(invalid="ignore"):
        ratio = np.where(np.isfinite(value), way.factor * slope(quantity, off) / slope(way.quantity, value), 1.0)
    return np.where(known, even(quantity, off), 0.0), np.where(known, sd * ratio, UNSAID_SPREAD)
