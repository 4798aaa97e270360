"""What a plan says of itself: worst places, price, why something sits where it does. Records only."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class WorstPlace:
    """Where a plan comes nearest to breaking a rule, or breaks it."""

    rule: str  # stable name, as in findings
    what: str  # "longest grid lead"
    place: str
    found: str
    limit: str
    met: bool


@dataclass(frozen=True)
class TermShare:
    """One term of what a plan costs; the unit is a millimeter of ordinary wire."""

    name: str
    cost: float
    share: float  # of the whole, 0 to 1
    dislike: float  # by which the builder multiplied its weight, 1 when not
    weight: str
    reason: str


@dataclass(frozen=True)
class LugCount:
    """Strip lugs in a plan; ``least`` is what any plan of this build needs, free pins of sockets included."""

    used: int
    spare: int
    spare_wanted: int
    least: int
