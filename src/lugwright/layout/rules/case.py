"""What every layout rule looks at, and what it answers."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

from lugwright.buildfile.build import Build
from lugwright.findings import Finding, Grade
from lugwright.layout.explain_results import WorstPlace
from lugwright.layout.hardware import Hardware, hardware_for
from lugwright.layout.joint_classes import JointFacts, joint_facts
from lugwright.layout.results import Plan, PlanTerminal


@dataclass(frozen=True, eq=False)
class Case:
    """One plan to be judged."""

    build: Build
    plan: Plan
    facts: Mapping[str, JointFacts]
    hardware: Hardware

    @cached_property
    def classes(self) -> Mapping[str, str]:
        """Return the class of every joint."""
        return {joint: fact.name for joint, fact in self.facts.items()}

    @cached_property
    def leads(self) -> Mapping[str, tuple[str, ...]]:
        """Return what is soldered at every terminal in use: ``R3.1``, ``W12`` ..."""
        found: dict[str, list[str]] = {}
        for seat in self.plan.seats:
            for key, lead in zip(seat.terminals, seat.lead_names, strict=True):
                found.setdefault(key, []).append(f"{seat.part}.{lead}")
        for wire in self.plan.wires:
            for key in wire.terminals:
                found.setdefault(key, []).append(f"W{wire.number}")
            if wire.shield:
                found.setdefault(wire.shield, []).append(f"W{wire.number} braid")
        return {key: tuple(leads) for key, leads in found.items()}

    def label(self, key: str) -> str:
        """Return a terminal as it is printed."""
        terminal: PlanTerminal | None = self.plan.terminals.get(key)
        return terminal.label if terminal else key


@dataclass(frozen=True)
class Judged:
    """What a rule says: its worst place, None where the plan has nothing it looks at, and the findings."""

    worst: WorstPlace | None = None
    findings: tuple[Finding, ...] = ()


def told(
    worst: WorstPlace, grade: Grade, *, what: str, found: str, do: str, source: str, part: str = "", wanted: str = ""
) -> Judged:
    """Return what a rule with one worst place says: a finding of that place where its limit is not met."""
    if worst.met:
        return Judged(worst)
    finding = Finding(
        rule=worst.rule, grade=grade, part=part, what=what, found=found, wanted=wanted or worst.limit, do=do,
        source=source,
    )  # fmt: skip
    return Judged(worst, (finding,))


def case_of(build: Build, plan: Plan, joint_volts: Mapping[str, float], hardware: Hardware | None = None) -> Case:
    """Return a plan as the rules look at it; catalogue entries are looked up when not given."""
    return Case(build, plan, joint_facts(build, joint_volts), hardware or hardware_for(build))
