"""Everything a book is printed from; gathered by the caller, nothing is computed here."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from lugwright.bringup.idle_results import IdleMeasured
from lugwright.bringup.results import AsBuiltRow, HeaterAtSocket, IdleSetting, JudgedReading, OhmsChart, Spread, Step
from lugwright.buildfile.build import Build
from lugwright.circuit.operating import Idle, Rating
from lugwright.circuit.rules.mains_swing import MainsRow
from lugwright.circuit.starting import FilterRow, Start
from lugwright.documents.drawings.drill_plan import Hole
from lugwright.documents.drawings.plate_curves import PlateChart
from lugwright.findings import Finding
from lugwright.layout.explain_results import LugCount, TermShare, WorstPlace
from lugwright.layout.results import Plan
from lugwright.solve.power_results import NoPower, Power
from lugwright.solve.response_results import AmplifierResponse
from lugwright.sources import Source
from lugwright.workorder.results import WorkOrder


@dataclass(frozen=True)
class StageDrawing:
    """The circuit of one stage."""

    stage: str  # name of the stage
    title: str
    svg: str


@dataclass(frozen=True)
class WiringSheet:
    """One sheet of the wiring side and the paper it is made for: A4, A3, Letter, Tabloid; landscape."""

    paper: str
    svg: str


@dataclass(frozen=True)
class Unconfirmed:
    """Figures from memory that something in the build rests on, all of one thing and from one source."""

    group: str  # tubes, bodies, sockets, strips, panel parts, wire
    name: str  # "6V6GT", "film capacitor"
    used_by: tuple[str, ...]
    what: str
    source: Source


@dataclass(frozen=True)
class JobDone:
    """A job card that is ticked off; ``number`` is None where the work order no longer has it."""

    number: int | None
    phase: str
    title: str
    time: str


@dataclass(frozen=True)
class StepDone:
    """A step of the first power-up that is ticked off; ``number`` is None where the build no longer has it."""

    number: int | None
    title: str
    mains: str
    time: str


@dataclass(frozen=True)
class BenchRecord:
    """What the log of one copy holds; times are UTC."""

    serial: str
    file: str
    entries: int
    first: str
    last: str
    other_copies: tuple[str, ...] = ()
    cards_in_all: int = 0
    jobs: tuple[JobDone, ...] = ()
    steps: tuple[StepDone, ...] = ()
    held: int = 0  # measured values, tubes and settings that the figures of the book are computed with
    as_built: tuple[AsBuiltRow, ...] = ()
    fitted: tuple[AsBuiltRow, ...] = ()  # tubes and settings
    readings: tuple[JudgedReading, ...] = ()  # those that count
    notes: tuple[tuple[str, str, str], ...] = ()  # time, about, words
    photos: tuple[tuple[str, str, str], ...] = ()  # time, file, words


@dataclass(frozen=True)
class BookRecords:
    """A build with everything worked out. What is None or empty is left out of the book.

    ``wiring_sheets`` and ``drill_sheets`` are by paper of the book: A4, Letter.
    """

    build: Build
    findings: tuple[Finding, ...] = ()
    idle: Idle | None = None
    ratings: tuple[Rating, ...] = ()
    start: Start | None = None
    filter_rows: tuple[FilterRow, ...] = ()
    heaters: tuple[HeaterAtSocket, ...] = ()
    mains_rows: tuple[MainsRow, ...] = ()
    plan: Plan | None = None
    plan_terms: tuple[TermShare, ...] = ()
    lug_count: LugCount | None = None
    worst_places: tuple[WorstPlace, ...] = ()
    work_order: WorkOrder | None = None
    ohms_chart: OhmsChart | None = None
    before_mains: tuple[Step, ...] = ()
    steps: tuple[Step, ...] = ()
    taken: Mapping[tuple[str, str], JudgedReading] = field(default_factory=dict)  # by key of the step, point
    idle_setting: IdleSetting | None = None
    idle_measured: IdleMeasured | None = None
    response: AmplifierResponse | None = None
    spread: Spread | None = None
    power: Power | NoPower | None = None
    driven_ratings: tuple[Rating, ...] = ()
    stage_drawings: tuple[StageDrawing, ...] = ()
    wiring_sheets: Mapping[str, tuple[WiringSheet, ...]] = field(default_factory=dict)
    strip_drawings: Mapping[str, str] = field(default_factory=dict)  # strip name -> SVG
    socket_drawings: Mapping[str, str] = field(default_factory=dict)  # tube -> SVG
    card_drawings: Mapping[int, tuple[str, ...]] = field(default_factory=dict)  # job card -> SVGs, left to right
    drill_sheets: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    holes: tuple[Hole, ...] = ()
    unconfirmed: tuple[Unconfirmed, ...] = ()
    plate_charts: tuple[PlateChart, ...] = ()
    record: BenchRecord | None = None
