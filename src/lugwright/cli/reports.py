"""What each command answers with ``--json``: one record per command; its schema is read off these types."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from lugwright.bringup.idle_results import IdleMeasured
from lugwright.bringup.results import (
    AsBuiltRow,
    HeaterAtSocket,
    IdleSetting,
    JudgedReading,
    OhmsChart,
    PowerUp,
    Spread,
    Step,
)
from lugwright.bringup.trace_results import SignWords, Tracing
from lugwright.buildfile.changes import Changed
from lugwright.circuit.operating import Idle, Rating
from lugwright.circuit.rules.mains_swing import MainsRow
from lugwright.circuit.starting import FilterRow, Start
from lugwright.findings import Finding
from lugwright.layout.explain_results import LugCount, PlanFigures, TermShare, Why, WorstPlace
from lugwright.layout.results import BusUse, Move, Plan, StripUse
from lugwright.log.events import Entry
from lugwright.solve.power_results import Power
from lugwright.solve.response_results import AmplifierResponse
from lugwright.solve.results import Matching, PlateCurves, SpecimenFit
from lugwright.workorder.results import Job, Progress, WorkOrder


@dataclass(frozen=True)
class CheckReport:
    """Ratings of every part, and everything that was found."""

    build: str
    findings: tuple[Finding, ...]
    ratings: tuple[Rating, ...]


@dataclass(frozen=True)
class IdleReport:
    """Idle: joints, parts, tubes, windings, with the certificate that stands behind them."""

    build: str
    findings: tuple[Finding, ...]
    idle: Idle
    mains: tuple[MainsRow, ...]


@dataclass(frozen=True)
class StartReport:
    """The first minute; null without a mains inlet. ``others``: standby closed late, silicon rectifiers."""

    build: str
    findings: tuple[Finding, ...]
    start: Start | None
    others: tuple[Start, ...]
    filters: tuple[FilterRow, ...]
    files: tuple[str, ...]


@dataclass(frozen=True)
class OhmsReport:
    """What an ohmmeter reads; an expected value of null is over range."""

    build: str
    findings: tuple[Finding, ...]
    ohms: OhmsChart


@dataclass(frozen=True)
class PlanReport:
    """The plan, the file it was written to, and what is wrong with it."""

    build: str
    findings: tuple[Finding, ...]
    file: str
    plan: Plan
    heaters: tuple[HeaterAtSocket, ...]
    objective: tuple[TermShare, ...]
    lugs: LugCount
    worst_places: tuple[WorstPlace, ...]
    moves: tuple[Move, ...] = ()  # what is not as in the plan before
    to_unsolder: tuple[str, ...] = ()  # what has to come out first, with --unsolder


@dataclass(frozen=True)
class StripsReport:
    """Strips and buses with what they carry; ``cost`` of the plan on them is in millimeters of ordinary wire."""

    build: str
    findings: tuple[Finding, ...]
    strips: tuple[StripUse, ...]
    buses: tuple[BusUse, ...]
    lugs: LugCount
    cost: float


@dataclass(frozen=True)
class WhyReport:
    """Why parts, joints, wires and terminals of the plan are where they are; ``more`` is null where it cannot be."""

    build: str
    findings: tuple[Finding, ...]
    why: tuple[Why, ...]


@dataclass(frozen=True)
class CompareReport:
    """Several plans of a build in figures, the stored one first; ``dislikes`` are the builder's own weights."""

    build: str
    findings: tuple[Finding, ...]
    dislikes: Mapping[str, float]
    plans: tuple[PlanFigures, ...]


@dataclass(frozen=True)
class JobsReport:
    """Job cards and cut list."""

    build: str
    findings: tuple[Finding, ...]
    work_order: WorkOrder
    progress: Progress


@dataclass(frozen=True)
class TickReport:
    """What was written into the log; progress is null where the build has to be planned again first."""

    build: str
    findings: tuple[Finding, ...]
    file: str
    serial: str
    entries: tuple[Entry, ...]
    already: tuple[str, ...]
    progress: Progress | None


@dataclass(frozen=True)
class NextReport:
    """How far the work is, and the next card; null when every card is done."""

    build: str
    findings: tuple[Finding, ...]
    progress: Progress
    card: Job | None


@dataclass(frozen=True)
class LogReport:
    """The log, or what was done with it."""

    build: str
    findings: tuple[Finding, ...]
    file: str
    entries: tuple[Entry, ...]
    exported: int | None
    imported: int | None
    taken_back: tuple[Entry, ...] = ()
    lost: int | None = None  # with --rescue: entries that are known to have been there, and cannot be read


@dataclass(frozen=True)
class ReadReport:
    """Readings written down just now, or with --list all that count; null in ``value`` is over range."""

    build: str
    findings: tuple[Finding, ...]
    file: str
    serial: str
    readings: tuple[JudgedReading, ...]
    taken_back: tuple[Entry, ...] = ()


@dataclass(frozen=True)
class AsBuiltReport:
    """What was written down just now, and everything that counts as measured, fitted and set."""

    build: str
    findings: tuple[Finding, ...]
    file: str
    serial: str
    entries: tuple[Entry, ...]
    as_built: tuple[AsBuiltRow, ...]


@dataclass(frozen=True)
class PowerUpReport:
    """Where the first power-up of one copy stands, the next step or the one asked for, and whether it may be taken."""

    build: str
    findings: tuple[Finding, ...]
    file: str
    serial: str
    power_up: PowerUp


@dataclass(frozen=True)
class ChartsReport:
    """Power-up steps with what is read at each point; ``share`` of good builds reads inside its windows."""

    build: str
    findings: tuple[Finding, ...]
    steps: tuple[Step, ...]
    share: float


@dataclass(frozen=True)
class BiasReport:
    """Idle setting of the output tubes; null when there is nothing to set or read. ``measured``: with readings."""

    build: str
    findings: tuple[Finding, ...]
    idle_setting: IdleSetting | None
    measured: IdleMeasured | None = None


@dataclass(frozen=True)
class PowerReport:
    """Output power over drive, and what the heaviest drive makes of each tube's limits."""

    build: str
    findings: tuple[Finding, ...]
    power: Power
    ratings: tuple[Rating, ...]


@dataclass(frozen=True)
class ResponseReport:
    """Gain and impedances over frequency, stages, feedback, poles, hiss."""

    build: str
    findings: tuple[Finding, ...]
    response: AmplifierResponse


@dataclass(frozen=True)
class SpreadReport:
    """How far every reading moves among good builds, what moves it, worst corners, ratings exceeded by some."""

    build: str
    findings: tuple[Finding, ...]
    spread: Spread


@dataclass(frozen=True)
class BookReport:
    """The folder and the files written into it."""

    build: str
    findings: tuple[Finding, ...]
    folder: str
    files: tuple[str, ...]


@dataclass(frozen=True)
class PartRow:
    """One row of the parts list."""

    name: str
    kind: str
    value: str
    stage: str
    ends: tuple[str, ...]  # terminal = joint
    note: str


@dataclass(frozen=True)
class PartsReport:
    """Every part with its value and what it is joined to."""

    build: str
    findings: tuple[Finding, ...]
    parts: tuple[PartRow, ...]


@dataclass(frozen=True)
class ExpandReport:
    """The stages with every part written out, as they may be pasted into a build file."""

    build: str
    findings: tuple[Finding, ...]
    text: str


@dataclass(frozen=True)
class FitReport:
    """Measured tubes against the published average of their type, and how they match."""

    type: str
    findings: tuple[Finding, ...]
    fits: tuple[SpecimenFit, ...]
    matching: Matching | None
    files: tuple[str, ...]


@dataclass(frozen=True)
class Compared:
    """One reading as built and changed; null where a build has no such reading, or it is over range."""

    name: str
    unit: str
    as_built: float | None
    changed: float | None
    difference: float | None


@dataclass(frozen=True)
class WhatIfReport:
    """Of any command with --set: every reading as built and changed, and the findings of the changed build."""

    build: str
    findings: tuple[Finding, ...]
    changes: tuple[Changed, ...]
    new_findings: tuple[Finding, ...]
    gone_findings: tuple[Finding, ...]
    readings: tuple[Compared, ...]


@dataclass(frozen=True)
class CurvesReport:
    """Plate curves with load lines and limits, and the files written."""

    build: str
    findings: tuple[Finding, ...]
    curves: tuple[PlateCurves, ...]
    files: tuple[str, ...]


@dataclass(frozen=True)
class TraceReport:
    """Which faults explain the readings; ``left_out``: readings that could not be weighed, and why.

    ``tracing`` is null where only the signs were asked for.
    """

    build: str
    findings: tuple[Finding, ...]
    tracing: Tracing | None
    left_out: tuple[str, ...]
    drawing: str
    signs: tuple[SignWords, ...] = ()
