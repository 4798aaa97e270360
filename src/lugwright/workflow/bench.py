"""The log beside the build file: what is in, and a plan made around it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from pathlib import Path

from lugwright.buildfile.build import Build
from lugwright.buildfile.part_words import value_words
from lugwright.errors import LogError, NoWholePlan, PlanError
from lugwright.findings import Finding, Grade
from lugwright.layout.frozen import Against, Frozen, SolderedAgainst
from lugwright.layout.hardware import Hardware
from lugwright.layout.lug_plan import plan_lugs
from lugwright.layout.open_strips import planned_build
from lugwright.layout.plan_file import wire_from_record
from lugwright.layout.remedies import with_remedies
from lugwright.layout.results import Plan
from lugwright.log.events import Entry
from lugwright.log.state import PREDICTED, Bench, played
from lugwright.log.store import Log

FIRST_COPY = "1"


@dataclass(frozen=True)
class BenchLog:
    """The log of a build, as far as one copy goes. ``serial`` "": the copy last worked on.

    ``command`` names the order that what is written comes from; given twice, it is written once.
    """

    path: Path
    serial: str = ""
    command: str = ""

    @cached_property
    def log(self) -> Log:
        """Return the log."""
        return Log(self.path, command=self.command)

    @cached_property
    def entries(self) -> tuple[Entry, ...]:
        """Return everything that is in the log, of all copies."""
        return self.log.entries()

    @cached_property
    def copies(self) -> tuple[str, ...]:
        """Return the serial numbers in the log, the one last worked on first."""
        return self.log.copies()

    @property
    def copy(self) -> str:
        """Return the serial number that is meant."""
        return self.serial or next(iter(self.copies), FIRST_COPY)

    @cached_property
    def bench(self) -> Bench:
        """Return what stands on the bench."""
        return played(self.entries, self.copy)

    @cached_property
    def measured(self) -> Bench:
        """Return of the bench what predictions hold: not the readings, of which there may be very many."""
        return played(self.log.entries(PREDICTED), self.copy)

    @cached_property
    def frozen(self) -> Frozen:
        """Return what the planner must leave as it is.

        Raises
        ------
        LogError
            A wire in it is none.
        """
        bench = self.bench
        try:
            wires = tuple(wire_from_record(wire.record, self.path.name) for wire in bench.wires.values())
        except PlanError as error:
            raise LogError(
                what=f"a wire in {self.path.name} cannot be read",
                found=error.found,
                wanted="a wire as lugwright tick writes it",
                do="tick that wire off with lugwright tick FILE --undo --lead W..., and on again",
            ) from None
        leads = frozenset((lead.part, lead.lead, lead.terminal) for lead in bench.leads.values())
        return Frozen(leads, tuple(sorted(wires, key=lambda w: w.number)), frozenset(bench.soldered))


def log_path(build_path: Path) -> Path:
    """Return where the log of a build is kept."""
    return build_path.with_suffix(".log.sqlite")


def planned_around(
    build: Build,
    *,
    joint_volts: Mapping[str, float],
    hardware: Hardware,
    previous: Plan | None,
    frozen: Frozen,
    unsolder: bool,
) -> tuple[Build, Plan, tuple[Against, ...]]:
    """Return the build with its strips in place, the plan, and what has to be unsoldered for it, if that is allowed.

    Raises
    ------
    SolderedAgainst
        Something soldered does not fit the circuit.
    PlanError
        There is no plan.
    """
    against: tuple[Against, ...] = ()
    while True:
        try:
            placed, plan = _planned(build, joint_volts, previous, hardware, frozen)
        except SolderedAgainst as error:
            if not unsolder:
                raise
            against += error.against
            frozen = frozen.without(error.against)
        except NoWholePlan as error:
            if build.left_open:
                raise
            if not frozen:
                raise with_remedies(error, build, joint_volts=joint_volts, hardware=hardware) from None
            raise NoWholePlan(
                what=f"{error.what} around what is soldered",
                found=error.found,
                wanted=error.wanted,
                do=f"{error.do}; or unsolder what is near, and tick that off (lugwright tick FILE --undo)",
                parts=error.parts,
                joints=error.joints,
                lacks=error.lacks,
            ) from None
        else:
            return placed, plan, against


def _planned(
    build: Build, joint_volts: Mapping[str, float], previous: Plan | None, hardware: Hardware, frozen: Frozen
) -> tuple[Build, Plan]:
    if build.left_open:
        return planned_build(build, joint_volts=joint_volts, previous=previous, hardware=hardware, frozen=frozen)
    plan = plan_lugs(build, joint_volts=joint_volts, previous=previous, hardware=hardware, frozen=frozen)
    return build, replace(plan, strips=(), buses=())  # what was proposed once may be stated by now


def swapped_values(build: Build, log: BenchLog) -> tuple[Finding, ...]:
    """Return the parts that are in with another value than the build file has now."""
    found: list[Finding] = []
    for lead in log.bench.leads.values():
        part = build.part_by_name.get(lead.part)
        now = "" if part is None else value_words(part.values)
        if part is not None and lead.value and lead.value != now and part.name not in {f.part for f in found}:
            found.append(
                Finding(
                    rule="other-value-soldered",
                    grade=Grade.DOUBT,
                    part=part.name,
                    place=part.place,
                    what=f"{part.name} has another value now than when it was put in",
                    found=f"{lead.value}, put in on {lead.time[:10]}",
                    wanted=now,
                    do=f"swap it: lugwright tick FILE --undo --lead {part.name}, then tick it again",
                    source="the log of the build",
                )
            )
    return tuple(found)
