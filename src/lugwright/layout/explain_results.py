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
