"""A build file opened, and everything worked out from it."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from pathlib import Path

from lugwright.bringup.as_built import MAINS, AsBuilt, as_built
from lugwright.bringup.before_mains import before_mains
from lugwright.bringup.charted import Charts, charted_steps
from lugwright.bringup.heater_volts import heater_findings, heaters_at_sockets
from lugwright.bringup.reading_points import ReadingPoints
from lugwright.bringup.results import HeaterAtSocket, IdleSetting, OhmsChart, Spread, Step
from lugwright.buildfile.build import ALL_OPEN, Build
from lugwright.buildfile.changes import Changed
from lugwright.buildfile.read import read_build
from lugwright.circuit.network import Circuit
from lugwright.circuit.operating import Idle, Rating
from lugwright.circuit.rules import ratings
from lugwright.circuit.rules.case import Case
from lugwright.circuit.rules.mains_swing import MainsRow, MainsSwing, high_mains_findings, mains_rows
from lugwright.circuit.rules.start_rows import filter_rows
from lugwright.circuit.rules.start_table import start_not_followed, start_ratings
from lugwright.circuit.starting import FilterRow, Start
from lugwright.errors import FileAccessError, LugwrightError, NoIdlePoint
from lugwright.findings import Finding, Grade, sorted_by_grade
from lugwright.layout.checker import check_plan
from lugwright.layout.explain_results import LugCount, TermShare, Why, WorstPlace
from lugwright.layout.frozen import Against
from lugwright.layout.hardware import Hardware, hardware_for
from lugwright.layout.joint_classes import joint_facts
from lugwright.layout.moves import moves
from lugwright.layout.open_strips import as_stored
from lugwright.layout.plan_file import plan_fingerprint, plan_from_text
from lugwright.layout.price import lug_count, term_shares
from lugwright.layout.results import BusUse, Move, Plan, StripUse
from lugwright.layout.rules.table import judged
from lugwright.layout.standing import Standing
from lugwright.layout.strip_use import bus_uses, strip_uses
from lugwright.layout.why import why
from lugwright.solve.power_limits import driven_findings, driven_ratings
from lugwright.solve.power_results import NoPower, Power, PowerWish
from lugwright.solve.response_results import AmplifierResponse, ResponseWish
from lugwright.solve.results import PlateCurves
from lugwright.solve.solved import Solved
from lugwright.solve.stability import stability_findings
from lugwright.workflow.bench import BenchLog, log_path, planned_around, swapped_values
from lugwright.workflow.computed import MAINS_HIGH, Computed
from lugwright.workorder.order import work_order
from lugwright.workorder.progress import progress
from lugwright.workorder.results import Progress, WorkOrder


def open_build(
    path: str | Path,
    *,
    changes: Sequence[str] = (),
    serial: str = "",
    unsolder: bool = False,
    as_stated: bool = False,
) -> Opened:
    """Return an opened build file; `Opened.readable` is None when it is too broken to work with.

    ``changes``, such as ``R17=220k``, replace values of parts for a what-if: nothing of it is written anywhere.
    ``serial`` says which copy is on the bench (the one last worked on), ``unsolder``, to plan as if everything were
    out that the circuit contradicts, ``as_stated``, to leave out what the log says was measured.

    Raises
    ------
    FileAccessError
        The file cannot be opened.
    ChangeError
        A value cannot be replaced so.
    """
    result = read_build(path, changes=changes)
    return Opened(Path(path), result.build, result.findings, result.changes, serial, unsolder, as_stated)


@dataclass(frozen=True, eq=False)
class Opened:
    """A build file and everything worked out from it; each answer is computed when it is first asked for."""

    path: Path
    readable: Build | None
    findings: tuple[Finding, ...]
    changes: tuple[Changed, ...] = ()
    serial: str = ""
    unsolder: bool = False
    as_stated: bool = False
    mains_as_stated: bool = False

    @property
    def written(self) -> Build:
        """Return the build as its file states it; LugwrightError when the file could not be read."""
        if self.readable is None:
            raise LugwrightError(
                what=f"{self.path.name} could not be read",
                found=f"{len(self.findings)} findings",
                wanted="a build file without faults",
                do="correct what is listed",
            )
        return self.readable

    @property
    def build(self) -> Build:
        """Return the build with every strip and bus in its place, proposed ones too.

        Raises
        ------
        PlanError
            Strips or the bus are left open, and there is no room for them or no plan on them.
        """
        return self._planned[0] if self.written.left_open else self.written

    @cached_property
    def as_built(self) -> AsBuilt:
        """Return the build with what the log says was measured, fitted and set, and what that is."""
        if self.as_stated or not self.bench_log.path.exists():
            return AsBuilt(self.written)
        keep = {c.part for c in self.changes} | ({MAINS} if self.mains_as_stated else set())
        return as_built(self.written, self.bench_log.measured, keep=frozenset(keep))

    @property
    def measured(self) -> Build:
        """Return the build as it stands on the bench: what predictions are made of. Plans are made of `written`."""
        return self.as_built.build

    @cached_property
    def stated(self) -> Opened:
        """Return the same build without what was measured."""
        return replace(self, as_stated=True) if self.as_built.used else self

    @cached_property
    def rated(self) -> Opened:
        """Return the same build at its stated mains where today's are lower: limits are not judged on a weak day."""
        return replace(self, mains_as_stated=True) if self.measured.mains_v < self.written.mains_v else self

    @cached_property
    def computed(self) -> Computed:
        """Return what follows from the circuit alone; the answers below that only pass it on are kept there."""
        return Computed(self.measured.without_metal(), self.written.mains_v)

    @property
    def circuit(self) -> Circuit:
        """Return the circuit of the build."""
        return self.computed.circuit

    @property
    def solved(self) -> Solved:
        """Return the solved circuit behind `idle`, for what is computed around that point."""
        return self.computed.solved

    @property
    def idle(self) -> Idle:
        """Return the idle of the build as described."""
        return self.computed.idle

    @property
    def cold_idle(self) -> Idle:
        """Return the idle with every amplifying tube cold: the first seconds, before the heaters are warm."""
        return self.computed.cold_idle

    @property
    def plate_curves(self) -> tuple[PlateCurves, ...]:
        """Return the plate curves of every tube section, with its load lines."""
        return self.computed.plate_curves

    @cached_property
    def ratings(self) -> tuple[tuple[Rating, ...], tuple[Finding, ...]]:
        """Return every rating that was checked, and the findings."""
        if self.rated is not self:
            return self.rated.ratings
        rows, findings = ratings(self.measured, self.idle, self.cold_idle)
        return tuple(rows), tuple(findings)

    @property
    def mains_swing(self) -> MainsSwing | None:
        """Return the idles with mains 10 percent low and high; None without mains, or where one has no idle."""
        return self.computed.mains_swing

    @property
    def mains_rows(self) -> tuple[MainsRow, ...]:
        """Return supply, heaters and warm tubes at low, nominal and high mains."""
        return mains_rows(Case(self.measured, self.idle, self.cold_idle), self.mains_swing) if self.mains_swing else ()

    @cached_property
    def mains_findings(self) -> tuple[Finding, ...]:
        """Return what high mains does to tubes that may never pass their limit."""
        return high_mains_findings(self.measured, self.mains_swing) if self.mains_swing else ()

    @property
    def start(self) -> Start | None:
        """Return the first minute after switch-on and the one after switch-off; None for a build without mains."""
        return self.computed.start

    @property
    def started(self) -> Start | None:
        """Return the start, None where it cannot be followed; then `start_ratings` says so."""
        return self.computed.started

    @cached_property
    def start_ratings(self) -> tuple[tuple[Rating, ...], tuple[Finding, ...]]:
        """Return every figure of the start that was checked, and the findings."""
        if self.rated is not self:
            return self.rated.start_ratings
        try:
            start = self.started or self.start
        except NoIdlePoint as error:
            return (), (start_not_followed(error),)
        return start_ratings(self.measured, self.idle, self.cold_idle, start) if start else ((), ())

    @property
    def filter_rows(self) -> tuple[FilterRow, ...]:
        """Return the filter capacitors with their volts while starting and their time to 60 V."""
        if self.rated is not self:
            return self.rated.filter_rows
        return filter_rows(self.measured, self.started, self.ratings[0]) if self.started else ()

    @cached_property
    def joint_volts(self) -> Mapping[str, float]:
        """Return the worst level of each joint, signed: cold or warm, high mains, with its ripple.

        Of the build as stated: no plan moves because something was measured.
        """
        if self.as_built.used:
            return self.stated.joint_volts
        worst = {}
        for joint, warm in self.idle.joints.items():
            levels = [(j.volts, j.ripple_peak_to_peak_v / 2.0) for j in (warm, self.cold_idle.joints[joint])]
            level, swing = max(levels, key=lambda pair: abs(pair[0]) + pair[1])
            worst[joint] = MAINS_HIGH * (level + swing if level >= 0 else level - swing)
        return worst

    @cached_property
    def hardware(self) -> Hardware:
        """Return the sockets, strips, panel parts and wires of the build."""
        return hardware_for(self.written)

    @property
    def plan_path(self) -> Path:
        """Return where the plan is kept, beside the build file."""
        return self.path.with_suffix(".plan.json")

    @property
    def plan(self) -> Plan:
        """Return the lug plan, started from the stored one where there is one."""
        return self._planned[1]

    @cached_property
    def bench_log(self) -> BenchLog:
        """Return the log beside the build file."""
        return BenchLog(log_path(self.path), self.serial)

    @cached_property
    def stored_plan(self) -> Plan | None:
        """Return the plan that is there, as it was written for this build or an earlier state of it."""
        if not self.plan_path.exists():
            return None
        return plan_from_text(_read_text(self.plan_path), self.plan_path.name)

    @cached_property
    def _planned(self) -> tuple[Build, Plan, tuple[Against, ...]]:
        return planned_around(
            self.written, joint_volts=self.joint_volts, hardware=self.hardware, previous=self.stored_plan,
            frozen=self.bench_log.frozen, unsolder=self.unsolder,
        )  # fmt: skip

    @property
    def to_unsolder(self) -> tuple[str, ...]:
        """Return what has to come out before the plan can be built, in words."""
        return tuple(f"{each.what}: {each.found}" for each in self._planned[2])

    @cached_property
    def moves(self) -> tuple[Move, ...]:
        """Return what has changed since the stored plan, and why."""
        return moves(self.build, self.stored_plan, self.plan) if self.stored_plan else ()

    @property
    def swapped(self) -> tuple[Finding, ...]:
        """Return the parts that are in with another value than they have now."""
        return () if self.changes else swapped_values(self.written, self.bench_log)

    @cached_property
    def plan_findings(self) -> tuple[Finding, ...]:
        """Return what the independent checker and the layout rules say of the plan."""
        checked = check_plan(self.build, self.plan, joint_volts=self.joint_volts, hardware=self.hardware)
        starved = heater_findings(self.build, self.heaters)
        return tuple(sorted_by_grade([*checked, *self._judged[1], *starved, *self.swapped]))

    @cached_property
    def _judged(self) -> tuple[tuple[WorstPlace, ...], tuple[Finding, ...]]:
        return judged(self.build, self.plan, joint_volts=self.joint_volts, hardware=self.hardware)

    @property
    def worst_places(self) -> tuple[WorstPlace, ...]:
        """Return for each layout rule where the plan comes nearest to breaking it."""
        return self._judged[0]

    @property
    def plan_terms(self) -> tuple[TermShare, ...]:
        """Return what the plan costs, term by term."""
        return term_shares(self.build, self.plan)

    @property
    def strip_uses(self) -> tuple[StripUse, ...]:
        """Return every strip with the lugs the plan uses and leaves on it."""
        return strip_uses(self.build, self.plan)

    @property
    def bus_uses(self) -> tuple[BusUse, ...]:
        """Return every bus with the number of leads on it."""
        return bus_uses(self.build, self.plan)

    @cached_property
    def lug_count(self) -> LugCount:
        """Return the lugs the plan uses and leaves, and the least that any plan needs."""
        return lug_count(self.build, self.plan, self.hardware)

    def why(self, subject: str) -> Why:
        """Return why a part, joint, wire or terminal of the plan is where it is.

        Raises
        ------
        NoSuchSubject
            The plan has no such thing.
        """
        return why(self._standing, subject, frozen=self.bench_log.frozen)

    @cached_property
    def _standing(self) -> Standing:
        return Standing(self.build, self.plan, self.joint_volts, self.hardware)

    @cached_property
    def heaters(self) -> tuple[HeaterAtSocket, ...]:
        """Return the heater volts of every tube with the drop in the planned wires."""
        return heaters_at_sockets(self.build, self.circuit, self.idle, self.plan)

    @cached_property
    def work_order(self) -> WorkOrder:
        """Return the order of work."""
        return work_order(self.build, self.plan)

    @cached_property
    def cards_mark(self) -> str:
        """Return letters that change when any card says something else: a tick is meant for the cards one has seen."""
        said = [(job.number, job.phase, job.title, job.text, job.leads) for job in self.work_order.jobs]
        return hashlib.sha256(repr(said).encode()).hexdigest()[:16]

    @property
    def progress(self) -> Progress:
        """Return what of the work is done."""
        return progress(self.plan, self.work_order, self.bench_log.bench, self.bench_log.copy)

    @property
    def ohms_chart(self) -> OhmsChart:
        """Return the power-off chart."""
        return self.computed.ohms_chart

    @property
    def steps(self) -> tuple[Step, ...]:
        """Return the steps of the first power-up with the plug in."""
        return self.computed.steps

    def steps_for(self, share: float) -> tuple[Step, ...]:
        """Return `steps` with windows that another share of good builds falls in."""
        return self.computed.steps_for(share)

    @cached_property
    def before_mains(self) -> tuple[Step, ...]:
        """Return the steps before the plug goes in; with places where a plan has been made."""
        plan = self.plan if "_planned" in self.__dict__ else self.fresh_plan
        return before_mains(
            self.measured, self.circuit, self.idle, self.ohms_chart, plan=plan, joint_volts=self.joint_volts
        )

    @property
    def fresh_plan(self) -> Plan | None:
        """Return the stored plan if it is of this build as it is now."""
        stored = self.stored_plan
        if stored is None:
            return None
        build = as_stored(self.written, stored, self.hardware) if self.written.left_open else self.written
        if build is None:
            return None
        now = plan_fingerprint(build, joint_facts(build, self.joint_volts))
        return stored if stored.fingerprint == now else None

    @property
    def power_up(self) -> tuple[Step, ...]:
        """Return every step of the first power-up, from the first look on."""
        return (*self.before_mains, *self.steps)

    @cached_property
    def charts(self) -> Charts:
        """Return the charts of every step, found by where the meter is held."""
        return Charts(ReadingPoints(self.written, self.stored_plan), charted_steps(self.power_up))

    @property
    def idle_setting(self) -> IdleSetting | None:
        """Return how the idle of the output tubes is set."""
        return self.computed.idle_setting

    @property
    def response(self) -> AmplifierResponse | None:
        """Return what small signals tell of the build; None when it has no input jack or no speaker."""
        return self.computed.response

    def response_to(self, wish: ResponseWish) -> AmplifierResponse:
        """Return what small signals tell between points and at knobs of one's own; raises as `Computed` does."""
        return self.computed.response_to(wish)

    @property
    def power_answer(self) -> Power | NoPower | None:
        """Return the output power, or why there is none; None when there is no input jack or no speaker."""
        return self.computed.power_answer

    def power_to(self, wish: PowerWish) -> Power:
        """Return the output power into a load and at a frequency of one's own; raises as `Computed` does."""
        return self.computed.power_to(wish)

    def driven_ratings_of(self, power: Power | NoPower | None) -> tuple[Rating, ...]:
        """Return what the heaviest drive makes of each tube's limits."""
        return tuple(driven_ratings(self.measured, power)) if isinstance(power, Power) else ()

    def driven_findings_of(self, power: Power | NoPower | None) -> tuple[Finding, ...]:
        """Return the limits that a steady drive exceeds."""
        return tuple(driven_findings(self.measured, power)) if isinstance(power, Power) else ()

    def stability_of(self, response: AmplifierResponse | None) -> tuple[Finding, ...]:
        """Return what is wrong with the amplifier's coming to rest and its feedback."""
        return () if response is None else stability_findings(self.measured, response)

    @property
    def spread(self) -> Spread:
        """Return how far readings move among good builds."""
        return self.computed.spread

    @property
    def all_findings(self) -> tuple[Finding, ...]:
        """Return every finding, worst first."""
        return tuple(
            sorted_by_grade(
                [
                    *self.findings,
                    *self.as_built.findings,
                    *self.ratings[1],
                    *self.start_ratings[1],
                    *self.mains_findings,
                    *self.stability_of(self.response),
                    *self.driven_findings_of(self.rated.power_answer),
                    *self.plan_findings,
                ]
            )
        )


def without_strips(opened: Opened) -> Opened:
    """Return the same build with every strip and the ground bus left open; it has no stored plan."""
    bare = replace(opened.written, strips=(), buses=(), left_open=ALL_OPEN)
    return replace(opened, path=opened.path.with_name(f"{opened.path.name} without strips"), readable=bare)


def worst_grade(findings: tuple[Finding, ...]) -> Grade | None:
    """Return the worst grade among findings."""
    return min((f.grade for f in findings), key=lambda g: g.rank, default=None)


def _read_text(path: Path) -> str:
    try:
        return path.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise FileAccessError(
            what=f"{path.name} cannot be read",
            found=str(error),
            wanted="a plan this program has written",
            do="delete it to have the wiring planned afresh",
        ) from error
