"""Job cards, cut list: what is done in which order. Records only."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field


@dataclass(frozen=True)
class LeadIn:
    """One lead or wire end that goes into a terminal in a job, and whether that terminal is soldered now."""

    what: str  # "W12", "R3"
    lead: str  # "1", "+", "red", or "" for a wire
    terminal: str  # key in the plan
    label: str  # "strip A lug 4"
    solder: str  # "solder now", "wait", "solder now (all 3 in)"


@dataclass(frozen=True)
class Job:
    """One bench task."""

    number: int
    phase: str  # one of `lugwright.workorder.phases.PHASES`, from metalwork to check
    title: str
    text: tuple[str, ...]  # one sentence a line
    parts: tuple[str, ...]
    wires: tuple[int, ...]
    leads: tuple[LeadIn, ...]
    solder: tuple[str, ...]  # labels of terminals soldered at the end of this job
    waits: tuple[str, ...]  # labels of terminals that stay open, with how many leads are still to come
    covers: tuple[str, ...]  # terminals and parts that a body of this job hides
    cautions: tuple[str, ...]
    notes: tuple[str, ...] = ()
    buses: tuple[str, ...] = ()  # bare ground wires


@dataclass(frozen=True)
class CutRow:
    """Wires of one type and color to cut to one length (rounded up to 5 mm)."""

    type: str
    color: str
    length_mm: float
    strip_mm: tuple[float, float]
    wires: tuple[int, ...]
    twist: str
    jacket_mm: tuple[float, float] = (0.0, 0.0)  # of shielded wire, at the same ends as ``strip_mm``


@dataclass(frozen=True)
class WorkOrder:
    """Everything in order."""

    jobs: tuple[Job, ...]
    cut_list: tuple[CutRow, ...]
    totals_mm: tuple[tuple[str, str, float], ...]  # type, color, total length
    broken_rules: tuple[str, ...]  # precedence that had to be given up, in words
    over: Mapping[int, tuple[str, ...]] = field(default_factory=dict)  # wire -> parts and wires it lies over at the end


@dataclass(frozen=True)
class CardProgress:
    """How far one card is."""

    number: int
    phase: str
    title: str
    state: str  # "done", "begun", "open"
    leads: tuple[bool, ...]  # of each lead of the card, whether it is in
    soldered: tuple[bool, ...]  # of each terminal it solders, whether it is soldered
    lines: tuple[bool, ...]  # of each line of a card without leads, whether it was there when the card was ticked


@dataclass(frozen=True)
class OpenJoint:
    """A terminal with leads in it that is not soldered yet."""

    label: str
    there: tuple[str, ...]
    to_come: tuple[str, ...]  # "R5.2 (card 20)"


@dataclass(frozen=True)
class Progress:
    """What is done and what is left; ``next_card`` is 0 when nothing is left."""

    serial: str
    last: str  # time of the last entry, UTC; "" before the first
    cards: tuple[CardProgress, ...]
    next_card: int
    leads_in: int
    leads: int
    soldered: int
    joints: int
    half_done: tuple[OpenJoint, ...]
    reopened: tuple[str, ...]  # soldered terminals that something still goes to: melt them again
