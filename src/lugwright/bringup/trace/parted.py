"""A step solved for hypotheses as they are asked for, some at a time: what has been solved once is not solved again."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from lugwright.bringup.trace.hypotheses import Hypothesis
from lugwright.bringup.trace.step_answers import StepAnswers

Chosen = NDArray[np.int_]
SetUp = Callable[[tuple[Hypothesis, ...]], StepAnswers]


@dataclass(frozen=True)
class Part:
    """One step, for some hypotheses (in rising order) only."""

    chosen: Chosen
    step: StepAnswers


@dataclass(frozen=True)
class Share:
    """Some of the hypotheses that were asked for: their rows there, and what answers for them."""

    rows: Chosen
    step: StepAnswers
    places: Chosen  # in the step


@dataclass(frozen=True, eq=False)
class PartedStep:
    """One step; ``hypotheses`` may grow at its end."""

    hypotheses: Sequence[Hypothesis]
    set_up: SetUp
    parts: list[Part] = field(default_factory=list)

    def shares(self, some: Chosen) -> list[Share]:
        """Return who answers for some hypotheses; a part of its own is set up for those that none has."""
        found, left = [], np.ones(len(some), dtype=bool)
        for part in self.parts:
            rows = np.flatnonzero(left & np.isin(some, part.chosen))
            if len(rows):
                found.append(Share(rows, part.step, np.searchsorted(part.chosen, some[rows])))
                left[rows] = False
        rows = np.flatnonzero(left)
        if len(rows):
            chosen = np.unique(some[rows])
            part = Part(chosen, self.set_up(tuple(self.hypotheses[h] for h in chosen)))
            self.parts.append(part)
            found.append(Share(rows, part.step, np.searchsorted(chosen, some[rows])))
        return found
