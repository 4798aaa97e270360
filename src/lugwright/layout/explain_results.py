"""What a plan says of itself: worst places, price, why something sits where it does. Records only."""

from __future__ import annotations

from collections.abc import Mapping
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
    dislikes: Mapping[str, float]  # by what the builder multiplied its weight, by the name in [plan.dislike]
    weight: str
    reason: str


@dataclass(frozen=True)
class LugCount:
    """Strip lugs in a plan; ``least`` is what any plan of this build needs, free pins of sockets included."""

    used: int
    spare: int
    spare_wanted: int
    least: int


@dataclass(frozen=True)
class Choice:
    """Another place for something: what the plan would cost more with it there, or why it cannot be there."""

    place: str
    more: float | None  # in millimeters of ordinary wire; None when it cannot be
    because: str


@dataclass(frozen=True)
class Why:
    """Why something of a plan sits where it does."""

    subject: str  # as it was asked for
    here: tuple[str, ...]  # sentences: where it sits, what it costs there
    pulls: tuple[str, ...]  # what holds or draws it
    choices: tuple[Choice, ...]  # the next best places, then those that tempt and cannot be


@dataclass(frozen=True)
class PlanFigures:
    """One of several plans of a build, in figures that stand side by side."""

    name: str  # stored, shortest, tidiest, fewest
    words: str
    cost: Mapping[str, float]  # term -> cost at the builder's own weights, whatever this plan was made for
    wire_mm: Mapping[str, float]  # kind of wire -> cut length in all
    wires: int
    crossings: int  # of a wire over another or over a body
    upper_bodies: int  # above the first layer
    lugs_used: int
    lugs_spare: int
    empty_strips: tuple[str, ...]
    longest_grid_mm: float
    longest_signal_mm: float
    doubts: int  # findings of grade doubt
    seconds: float  # it took to plan, 0 for the stored one
