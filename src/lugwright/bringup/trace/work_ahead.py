"""What the next reading will ask for, worked out while somebody walks to it with the probe."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from lugwright.bringup.reading_words import SIGN
from lugwright.bringup.trace.ahead import Ahead
from lugwright.bringup.trace.named_slips import NamedSlips
from lugwright.bringup.trace.records import Array, Predictions, Probe

AT_ONCE = 100  # hypotheses: a piece of work takes some tenths of a second at the most
LIKELY = 400  # of them: what is solved for these is kept, of the others only what they read
CLOSE = 300  # looked at closely, at what seemed most worth reading


class Working(Protocol):
    """What is asked of `Predictor`."""

    @property
    def slips(self) -> NamedSlips:
        """Return the ways to take a reading wrongly, and what each would show."""
        ...

    def predictions(self, probes: Sequence[Probe], some: NDArray[np.int_] | None = None) -> Predictions:
        """Return what hypotheses (all, where none are named) say of probes."""
        ...

    def lumped(self, probes: Sequence[Probe], some: NDArray[np.int_], *, in_passing: bool = False) -> Ahead:
        """Return the same with all spread of a reading in one figure; ``in_passing``: what is solved is not kept."""
        ...

    def by_circuit(self, probes: Sequence[Probe]) -> list[list[Probe]]:
        """Return probes in groups that ask for the same solutions."""
        ...

    def forget(self, probes: Sequence[Probe]) -> None:
        """Drop what all hypotheses say of probes."""
        ...


@dataclass(eq=False)
class WorkAhead:
    """What an answer makes likely to be asked next: the readings it proposes, and the faults that were likely."""

    working: Working
    proposed: tuple[Probe, ...] = ()
    offered: tuple[Probe, ...] = ()  # what seemed most worth reading
    fresh: tuple[Probe, ...] = ()  # everything that may be read next
    order: NDArray[np.int_] = field(default_factory=lambda: np.zeros(0, dtype=int))  # hypotheses, the likeliest first
    _told: list[Probe] = field(default_factory=list)  # proposed before, and worked out for all hypotheses

    def note(
        self, chance: Array, taken: Sequence[Probe], fresh: Sequence[Probe], offered: Sequence[Probe],
        proposed: Sequence[Probe],
    ) -> None:  # fmt: skip
        """Take note of an answer; what an earlier one proposed and nobody read is not kept for ever."""
        self.proposed = tuple(p for p in proposed if p.quantity != SIGN)
        self.offered, self.fresh = tuple(offered), tuple(fresh)
        self.order = np.argsort(-chance, kind="stable")
        self.working.forget([p for p in self._told if p not in taken and p not in self.proposed])
        self._told = [p for p in self._told if p in self.proposed]

    def pieces(self, later: Sequence[Probe] = ()) -> Iterator[None]:
        """Work, a piece at a time: the readings proposed, then the likely faults, then the ``later`` probes."""
        for probe in self.proposed:
            self._told.append(probe)
            yield from self._solved(probe)
            self.working.predictions([probe])
            yield
        yield from self._lumped(self.fresh)
        for own in self.working.by_circuit(self.offered):
            self.working.predictions(own, np.sort(self.order[:CLOSE]))
            yield
        for probe in self.proposed:
            self.working.slips.of(0, probe)
            yield
        yield from self._lumped(later)

    def _solved(self, probe: Probe) -> Iterator[None]:
        """Solve every hypothesis in the step of a probe, some at a time."""
        for first in range(0, len(self.order), 2 * AT_ONCE):
            self.working.lumped([probe], np.sort(self.order[first : first + 2 * AT_ONCE]))
            yield

    def _lumped(self, probes: Sequence[Probe]) -> Iterator[None]:
        circuits = self.working.by_circuit(probes)
        for first in range(0, len(self.order), AT_ONCE):
            some = np.sort(self.order[first : first + AT_ONCE])
            for own in circuits:
                self.working.lumped(own, some, in_passing=first >= LIKELY)
                yield
