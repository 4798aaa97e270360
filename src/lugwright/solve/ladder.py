"""Drive levels climbed one by one, and the level at which the distortion reaches a share."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from lugwright.solve.power_readout import Load, Reading, shares
from lugwright.solve.sustained import Sustained, SustainedPoint, Tone
from lugwright.solve.system import Array

_CLOSE = 0.01  # of a distortion looked for
_HALVINGS = 3
_SECANTS = 8


@dataclass
class Ladder:
    """Drive levels climbed one by one, each started from the one before."""

    driven: Sustained
    load: Load
    points: dict[float, SustainedPoint] = field(default_factory=dict)  # by peak volts
    stopped_at: str = ""

    def solve(self, peak_v: float) -> SustainedPoint | None:
        """Return the point at a drive, by way of halves of the step where it cannot be reached at once."""
        below = max((v for v in self.points if v < peak_v), default=None)
        near = None if below is None else self.points[below]
        before = self._beside(peak_v, below)
        for halving in range(_HALVINGS + 1):
            steps = np.geomspace(below, peak_v, 2**halving + 1)[1:] if below else np.array([peak_v])
            reached = near
            for volts in steps:
                reached = self.driven.drive([Tone(1, float(volts))], reached, before=None if halving else before)
                if not reached.closed:
                    break
            if reached is not None and reached.closed:
                self.points[peak_v] = reached
                return reached
        return None

    def _beside(self, peak_v: float, below: float | None) -> SustainedPoint | None:
        """Return another point that says where a drive lies: the next one above, or else the one before the last."""
        others = sorted(v for v in self.points if v != below)
        above = next((v for v in others if v > peak_v), None)
        nearest = above if above is not None else next(reversed(others), None)
        return None if nearest is None else self.points[nearest]

    def distortion(self, peak_v: float) -> float:
        """Return the distortion of a solved drive."""
        found: Array = shares(Reading(self.driven, self.points[peak_v]), self.load)
        return float(np.sqrt(np.sum(found[1:] ** 2)))

    def crossing(self, target: float) -> float | None:
        """Return the lowest drive at which the distortion reaches a share, solved; None where it does not."""
        levels = sorted(self.points)
        found = [self.distortion(v) for v in levels]
        above = next((k for k, share in enumerate(found) if share >= target), None)
        if above is None or above == 0:
            return None
        low, high = levels[above - 1], levels[above]
        at_low, at_high = (float(np.log(found[k] / target)) for k in (above - 1, above))
        for _ in range(_SECANTS):
            share = np.clip(at_low / (at_low - at_high), 0.1, 0.9)
            middle = float(low * (high / low) ** share)
            if self.solve(middle) is None:
                return None
            at_middle = float(np.log(self.distortion(middle) / target))
            if abs(at_middle) < _CLOSE:
                return middle
            if at_middle < 0.0:
                low, at_low = middle, at_middle
            else:
                high, at_high = middle, at_middle
        return None
