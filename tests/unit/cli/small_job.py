"""An opened build with everything computed by hand: what the commands print is checked against it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

from lugwright.bringup.as_built import AsBuilt
from lugwright.bringup.idle_results import (
    Advice,
    Figure,
    IdleMeasured,
    Match,
    OtherWay,
    SetTo,
    Target,
    TubeAtIdle,
    TubeState,
    TurnRow,
)
from lugwright.bringup.reading_words import judged_sign
from lugwright.bringup.results import (
    AsBuiltRow,
    Corner,
    HeaterAtSocket,
    IdleRow,
    IdleSetting,
    JudgedReading,
    Mover,
    OhmsChart,
    PowerUp,
    RatingChance,
    Reading,
    Spread,
    SpreadRow,
    Step,
    StepState,
)
from lugwright.bringup.trace_results import (
    FaultWords,
    NextWords,
    OutcomeWords,
    SignWords,
    SuspectWords,
    TracedReading,
    Tracing,
)
from lugwright.buildfile.build import Build
from lugwright.buildfile.changes import Changed
from lugwright.circuit.operating import (
    Certificate,
    Idle,
    JointIdle,
    Rating,
    TubeIdle,
    WindingIdle,
)  # fmt: skip
from lugwright.circuit.rules.mains_swing import MainsRow
from lugwright.circuit.starting import (
    CapacitorCourse,
    FilterRow,
    FuseInrush,
    Inrush,
    Line,
    Start,
    WarmingTube,
)
from lugwright.errors import NoSteadyState
from lugwright.findings import Finding
from lugwright.layout.explain_results import Choice, LugCount, PlanFigures, TermShare, Why, WorstPlace
from lugwright.layout.results import BusUse, Move, Plan, StripUse
from lugwright.log.events import Entry
from lugwright.log.state import Bench
from lugwright.solve.power_results import NoPower, Power, PowerWish
from lugwright.solve.response_results import AmplifierResponse, ResponseWish
from lugwright.solve.results import CurveLine, PlateCurves
from lugwright.workflow.measuring import Photo
from lugwright.workflow.readings import SaidReading
from lugwright.workflow.seeing import SaidSign
from lugwright.workflow.ticking import Ticked
from lugwright.workorder.order import work_order
from lugwright.workorder.progress import progress
from lugwright.workorder.results import Progress, WorkOrder

from ...sample_power import POWER
from ...sample_power import RATING as DRIVEN_RATING
from ...sample_response import RESPONSE
from ..workorder.small_build import small_build, small_plan

CERTIFICATE = Certificate(True, "B+1", 2e-13, 1e-11, 1e-9, 20.0, 20.0, 7, "Newton")
TUBE = TubeIdle("V1", "V1", 150.0, -1.5, None, 1e-3, 0.0, 0.0, 0.15, 0.0, 1.6e-3, 62e3)
IDLE = Idle(
    {"B+1": JointIdle(251.3, 0.5, 1.41)}, {}, {"V1": TUBE},
    {"T1.hv": WindingIdle("T1.hv", 220.0, 0.031, 0.2, 0.1)}, 0.21, 19.8, None, None, CERTIFICATE,
)  # fmt: skip
CHART = OhmsChart(
    "a digital meter", (Reading("V1 pin 1", "V1.plate", "ohms to ground", float("inf"), 1e6, float("inf"), "ohm"),)
)
STEP = Step(
    1, "No tubes", "through the 60 W lamp", ("Plug in",), ("the lamp stays bright",), ("One hand",),
    (Reading("V1 pin 1", "V1.plate", "V dc", 312.0, 290.0, 330.0, "V"),), 0.1, "dark",
)  # fmt: skip
TAKEN = JudgedReading(
    "all tubes", "step 1: No tubes", "V1 pin 1 to ground", "V1.1", "ground", "V dc", 312.0, "V", 1.0, "312 V dc", "ok",
    312.0, 290.0, 330.0, "290 V to 330 V",
)  # fmt: skip
TRACING = Tracing(
    "found", "R12 is open", "", 0.01, 0.02,
    (SuspectWords(0.9, "", (FaultWords("open R12", "F31", "R12 is open", "swap it", "card 9", ""),)),), (),
    (
        NextWords("ohms", "Ohms chart", "R12 lead 1 to R12 lead 2", "R12.1", "R12.2", "ohm", 1.2, 20.0, "",
                  (OutcomeWords(None, 500.0, "under 500 Ω", ("nothing is wrong",), 0),)),
    ),
    (TracedReading("all tubes", "V2 pin 8 to ground", "V dc", 0.0, "0 V dc", 0.05),), 3, (), 600,
)  # fmt: skip
SETTING = IdleSetting(
    "fixed bias", (IdleRow("V5", "R41", 32.0, 32e-3, 30e-3, 2e-3, 420.0, 12.6, 30.0, 0.42, 0.35, 0.5, 0.032),),
    (("R49", 0.5, -42.0, 30.1),), "60 to 70 % of the plate's limit", ("Bias before output tubes",),
)  # fmt: skip
AT = TubeState("V5", -41.0, 0.0444, 42e-3, 405.0, 17.0, 0.57)
ADVICE = Advice(
    Target("fixed bias, push-pull", 0.5, 0.7, 0.6, "50 to 70 percent"),
    (SetTo("R49 Bias (V5)", 0.7, 0.73, True, "clockwise by 0.3 hours on the clock (3% of its travel)", (AT,)),),
    (TurnRow("R49 Bias (V5)", "as it stands", 0.7, 408.3, (AT,)),), (), 0.75, ("Volts are no amperes.",),
)  # fmt: skip
MEASURED = IdleMeasured(
    (), (
        TubeAtIdle(
            "V5", Figure(0.0521, 8e-4), "volts over R41", Figure(2.6e-3, 1.2e-3), "the type's law",
            Figure(0.0495, 1.5e-3), "cathode current less the screen's", Figure(401.0, 5.0), "read to ground",
            Figure(19.8, 0.6), 30.0, Figure(0.66, 0.02), 1.05, 5.0, 1.066, True, True,
        ),
    ),
    (OtherWay("V5", "volts over T2 primary", Figure(0.0454, 4.5e-3)),),
    Match(("V5", "V6"), (0.0495, 0.044), 0.117, 5.5e-3, "good enough to play"),
    0.997, (("R49 Bias", 0.77),), ADVICE, (),
)  # fmt: skip
START = Start(
    how="everything switched on together",
    inrush=(
        Inrush("as the mains passes zero", 4.2, 0.003, 2.1, 0.4),
        Inrush("at the peak of the mains", 6.3, 0.0001, 2.2, 0.4),
    ),
    saturated_a=60.0, saturated_a2s=15.0,
    fuses=(FuseInrush("F1", 6.3, 0.12, ((0.01, 2.5), (60.0, 0.25)), 0.21, 3.1, 0.5),),
    tubes=(WarmingTube("V1", False, False, 3.8, 9.8, 13.9), WarmingTube("V2", True, True, 3.6, 1.7, None)),
    capacitors=(CapacitorCourse("C1", 330.0, 4.2, 251.3, 3.1, 0.01),),
    lines=(Line("B+1", (0.1, 1.0, 60.0), (100.0, 330.0, 251.3)),),
    decay=(Line("B+1", (0.0, 3.1, 120.0), (251.3, 60.0, 0.01)),),
    duration_s=60.0, decay_s=120.0, off_idle_v=0.01, off_idle_joint="B+1", steps=90,
)  # fmt: skip
FILTER = FilterRow("C1", 251.3, 330.0, 4.2, 363.0, 350.0, 385.0, 3.1, None)
RATING = Rating("resistor-watts", "R3", "heat", 0.1, 1.0, "W")
CURVES = PlateCurves(
    ("V1",), "12AX7", None, (CurveLine("0 V", (0.0, 300.0), (0.0, 6e-3)),), 150.0, 1e-3, -1.5, 111e3,
    CurveLine("DC load", (261.0, 0.0), (0.0, 2.35e-3)), 91e3, None, CurveLine("AC load", (241.0, 0.0), (0.0, 2.6e-3)),
    80.0, 1.8e-3, 2.5e-3, 1.0, 300.0,
)  # fmt: skip

SPREAD = Spread(
    1000, 1, 200,
    (SpreadRow("V1 plate heat", "W", 9.5, 8.0, 8.5, 9.4, 10.2, 10.9, (Mover("V1", 0.25, 0.5, 0.8),)),),
    (Corner("V1 plate heat", "W", 9.5, 7.0, 12.0, ("V1 -25 %",), ("V1 +25 %",)),),
    (RatingChance("plate-watts", "V1", "plate heat", "W", 10.5, 9.5, 10.9, 0.02),),
    ("copper",),
)  # fmt: skip


STRIP_USE = StripUse(
    "A", 6, (3,), (57.0, 102.0), 90.0, "strip 6.4", True, 4, 1, ("B+1", "in", "ground", "V1.plate", "drive")
)
BUS_USE = BusUse("zero", "ground", ((35.0, 43.0), (212.0, 43.5)), 14.0, False, 9)


ENTRY = Entry(
    "0" * 32, "2026-11-18T20:15:00.000000Z", "1", "lead in", "R3 lead 1 to strip A lug 1",
    {"terminal": "A.1", "part": "R3", "lead": "1"},
)  # fmt: skip


@dataclass
class BenchLog:
    """The log, read."""

    path: Path = Path("small.log.sqlite")
    copy: str = "1"
    entries: tuple[Entry, ...] = (ENTRY,)
    bench: Bench = field(default_factory=Bench)


@dataclass
class Opened:
    """Stands where the workflow's own object stands."""

    build: Build | None = field(default_factory=small_build)

    @property
    def written(self) -> Build:
        assert self.build is not None
        return self.build

    @property
    def readable(self) -> Build | None:
        return self.build

    strip_uses: tuple[StripUse, ...] = (STRIP_USE,)
    bus_uses: tuple[BusUse, ...] = (BUS_USE,)
    plan_path: Path = Path("nowhere/small.plan.json")
    findings: tuple[Finding, ...] = ()
    idle: Idle = IDLE
    cold_idle: Idle = IDLE
    ratings: tuple[tuple[Rating, ...], tuple[Finding, ...]] = ((RATING,), ())
    start: Start | None = START
    start_ratings: tuple[tuple[Rating, ...], tuple[Finding, ...]] = ((), ())
    filter_rows: tuple[FilterRow, ...] = (FILTER,)
    plan: Plan = field(default_factory=small_plan)
    plan_findings: tuple[Finding, ...] = ()
    mains_rows: tuple[MainsRow, ...] = (MainsRow("B+1", "V", 226.2, 251.3, 276.4, None),)
    mains_findings: tuple[Finding, ...] = ()
    plan_terms: tuple[TermShare, ...] = (TermShare("wires", 40.0, 1.0, {}, "1 a mm", "wire picks up hum"),)
    lug_count: LugCount = field(default_factory=lambda: LugCount(3, 2, 2, 1))
    bench_log: BenchLog = field(default_factory=BenchLog)
    moves: tuple[Move, ...] = ()
    to_unsolder: tuple[str, ...] = ()
    swapped: tuple[Finding, ...] = ()
    worst_places: tuple[WorstPlace, ...] = (WorstPlace("busy-lug", "busiest lug", "A.1", "2 leads", "3", met=True),)
    heaters: tuple[HeaterAtSocket, ...] = (HeaterAtSocket("V1", 6.3, 6.2, 0.04),)
    ohms_chart: OhmsChart = CHART
    steps: tuple[Step, ...] = (STEP,)

    @property
    def power_up(self) -> tuple[Step, ...]:
        return self.steps

    idle_setting: IdleSetting | None = SETTING
    changes: tuple[Changed, ...] = ()
    as_built: AsBuilt = field(default_factory=lambda: AsBuilt(small_build()))
    plate_curves: tuple[PlateCurves, ...] = (CURVES,)
    response: AmplifierResponse | None = RESPONSE
    unstable: tuple[Finding, ...] = ()
    wishes: list[ResponseWish] = field(default_factory=list)
    answer: AmplifierResponse = RESPONSE

    def response_to(self, wish: ResponseWish) -> AmplifierResponse:
        self.wishes.append(wish)
        return self.answer

    def stability_of(self, response: AmplifierResponse | None) -> tuple[Finding, ...]:
        return self.unstable

    power: Power = POWER
    overdriven: tuple[Finding, ...] = ()
    refusal: NoSteadyState | None = None
    power_wishes: list[PowerWish] = field(default_factory=list)

    def power_to(self, wish: PowerWish) -> Power:
        self.power_wishes.append(wish)
        if self.refusal is not None:
            raise self.refusal
        return self.power

    def driven_ratings_of(self, power: Power | NoPower | None) -> tuple[Rating, ...]:
        return (DRIVEN_RATING,)

    def driven_findings_of(self, power: Power | NoPower | None) -> tuple[Finding, ...]:
        return self.overdriven

    def why(self, subject: str) -> Why:
        return Why(
            subject, (f"{subject} lies there.",), (), (Choice("A.2", 12.0, "wires +12"), Choice("A.3", None, "full"))
        )

    @property
    def progress(self) -> Progress:
        return progress(self.plan, self.work_order, self.bench_log.bench, self.bench_log.copy)

    @property
    def work_order(self) -> WorkOrder:
        assert self.build is not None
        return work_order(self.build, self.plan)


@dataclass
class FaultBench:
    """Stands where the build ready for tracing stands."""

    left_out: tuple[str, ...] = ("bias: V5.5: read with R49 full clockwise",)

    def take_logged(self) -> None:
        """Take what the log holds: nothing here."""

    def tracing(self, *, at: str, count: int, helper: object = None) -> Tracing:
        return TRACING

    def see(self, sign: str, *, seen: bool) -> None:
        """Take a sign: nothing here."""

    def signs(self) -> tuple[SignWords, ...]:
        return (SignWords("hum", "listen", "all tubes", "mains on, every tube fitted", seen=True, harm=""),)


class Workflow:
    """Stands where ``lugwright.workflow`` stands."""

    SaidReading = SaidReading
    SaidSign = SaidSign
    Photo = Photo

    def __init__(self, opened: Opened) -> None:
        self.opened = opened
        self.changed = opened
        self.written: list[Path] = []
        self.chosen: list[str] = []
        self.ticked: list[dict[str, object]] = []
        self.wishes: list[str] = []
        self.between: tuple[str, ...] = ()
        self.now: Callable[[Opened], Progress | None] = lambda opened: opened.progress

    def open_build(
        self,
        path: Path,
        *,
        changes: Sequence[str] = (),
        serial: str = "",
        unsolder: bool = False,
        as_stated: bool = False,
    ) -> Opened:
        return self.changed if changes else self.opened

    def ohms_at(self, opened: Opened, points: Sequence[str]) -> OhmsChart:
        self.between = tuple(points)
        row = opened.ohms_chart.readings[0]
        return OhmsChart(opened.ohms_chart.meter, tuple(replace(row, point=point) for point in points))

    def setting_for(self, opened: Opened, wish: str) -> IdleSetting | None:
        self.wishes.append(wish)
        return opened.idle_setting

    def measured_idle(self, opened: Opened, texts: Sequence[str], wish: str) -> IdleMeasured | None:
        return replace(MEASURED, readings=tuple(texts))

    def tick(self, opened: Opened, **done: object) -> Ticked:
        self.ticked.append(done)
        return Ticked("1", (ENTRY,), ("R4 lead 1 to A 2",))

    def noted(self, opened: Opened, text: str) -> Ticked:
        return Ticked("1", (replace(ENTRY, kind="note", subject="", body={"text": text}),), ())

    def step_number(self, opened: Opened, said: str) -> int:
        return int(said)

    def power_up_now(self, opened: Opened, *, number: int | None = None) -> PowerUp:
        state = StepState(
            1, "no tubes, lamp", "No tubes", "through the 60 W lamp", 1, 0, (), ticked=False, passed=False
        )
        return PowerUp((state,), 1, STEP, (None,), (), ())

    def readings_now(self, opened: Opened, *, step: str) -> tuple[JudgedReading, ...]:
        return (TAKEN,)

    def read_in(self, opened: Opened, said: object, *, step: str, meter: str) -> tuple[JudgedReading, ...]:
        return (TAKEN,)

    def check_signs(self, opened: Opened, said: object) -> None:
        """Find every sign in order."""

    def signs_in(self, opened: Opened, said: Sequence[SaidSign]) -> tuple[JudgedReading, ...]:
        return tuple(judged_sign(each.sign, float(each.seen)) for each in said)

    def take_signs_back(self, opened: Opened, names: Sequence[str]) -> tuple[Entry, ...]:
        return tuple(replace(ENTRY, kind="taken back", subject=name) for name in names)

    def take_readings_back(self, opened: Opened, points: Sequence[str], *, step: str) -> tuple[Entry, ...]:
        return (ENTRY,)

    def stirred_up(self, opened: Opened, just: Sequence[JudgedReading]) -> tuple[JudgedReading, ...]:
        return ()

    def reading_findings(self, readings: Sequence[JudgedReading]) -> tuple[Finding, ...]:
        return ()

    def measured_in(
        self, opened: Opened, said: Sequence[tuple[str, str]], *, accuracy: float | None
    ) -> tuple[Entry, ...]:
        return (replace(ENTRY, kind="as built", subject="R3"),)

    def as_built_rows(self, opened: Opened) -> tuple[tuple[AsBuiltRow, ...], tuple[Finding, ...]]:
        return (AsBuiltRow("R3", "98.70 kΩ", "100 kΩ 1 W", "", ENTRY.id, ENTRY.time),), ()

    def take_as_built_back(self, opened: Opened, whats: Sequence[str]) -> tuple[Entry, ...]:
        return (replace(ENTRY, kind="taken back", subject="R3"),)

    def photographed(self, opened: Opened, photos: Sequence[Photo]) -> tuple[Entry, ...]:
        return tuple(replace(ENTRY, kind="photo", subject=f"{photo.file}: {photo.text}", body={}) for photo in photos)

    def fault_bench(self, opened: Opened) -> FaultBench:
        return FaultBench()

    def write_suspects(self, bench: FaultBench, found: Tracing, path: Path) -> None:
        self.written.append(path)

    def progress_now(self, opened: Opened) -> Progress | None:
        return self.now(opened)

    def where_it_stands(self, opened: Opened) -> Progress:
        return opened.progress

    def exported(self, opened: Opened, path: Path) -> int:
        return 1

    def taken_back(self, opened: Opened, ids: Sequence[str]) -> tuple[Entry, ...]:
        return tuple(replace(ENTRY, kind="taken back", subject="", body={"entry": each}) for each in ids)

    def taken_in(self, opened: Opened, path: Path) -> tuple[int, int]:
        return 2, 3

    def without_strips(self, opened: Opened) -> Opened:
        return opened

    def write_plan(self, opened: Opened) -> Path:
        return Path("small.plan.json")

    def compared_plans(self, opened: Opened, progress: Callable[[str], None]) -> tuple[PlanFigures, ...]:
        stored = PlanFigures("stored", "as it is", {"wires": 4.0}, {"grid": 2.0}, 1, 0, 0, 3, 2, (), 2.0, 0.0, 0, 0.0)
        return stored, replace(stored, name="tidiest", words="tidy", empty_strips=("A",))

    def choose_plan(self, opened: Opened, name: str) -> Opened:
        self.chosen.append(name)
        return opened

    def plan_afresh(self, opened: Opened) -> Opened:
        self.chosen.append("afresh")
        return opened

    def planning_words(self) -> str:
        return "planning lugs and wires"

    def start_standing_by(self, opened: Opened, closed_at_s: float) -> Start:
        return replace(START, how=f"S2 closed after {closed_at_s:g} s")

    def start_with_silicon(self, opened: Opened) -> Start:
        return replace(START, how="silicon in place of the rectifier tube")

    def write_start(self, start: Start, others: Sequence[Start], out: Path) -> list[Path]:
        return [out / "start.svg"]

    def write_book(self, opened: Opened, out: Path, *, paper: str, progress: object) -> tuple[Path, ...]:
        self.written = [out / f"book_{paper}.pdf"]
        return tuple(self.written)

    def write_drawing(self, path: Path, svg: str) -> None:
        path.write_text(svg, encoding="utf-8")

    def spread_of_builds(self, opened: Opened, *, draws: int, seed: int, cluster: str | None) -> Spread:
        return replace(SPREAD, draws=draws, seed=seed)

    def write_plate_curves(self, found: Sequence[PlateCurves], out: Path) -> list[Path]:
        return [out / f"plate_{curves.together[0]}.svg" for curves in found]


UNCERTIFIED = replace(IDLE, certificate=replace(CERTIFICATE, passed=False, worst_joint="V1.plate", left_over_a=3.1e-3))
