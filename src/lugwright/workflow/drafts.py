"""A plan tried out by hand: things dragged elsewhere, the rest planned around them and around what is soldered.

Nothing of it is written until it is kept.
"""

from __future__ import annotations

import difflib
import hashlib
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from lugwright.buildfile.build import Build
from lugwright.buildfile.read import read_text
from lugwright.buildfile.write import with_strips_at
from lugwright.documents.drawings.wiring_side import WiringSide
from lugwright.errors import ChangeError, PlanError
from lugwright.findings import Finding, Grade
from lugwright.layout.check_places import check_places
from lugwright.layout.checker import check_plan
from lugwright.layout.drop import ends_near, is_put, put_down
from lugwright.layout.joint_classes import joint_facts
from lugwright.layout.lug_plan import plan_lugs
from lugwright.layout.moves import moves
from lugwright.layout.open_strips import as_stored
from lugwright.layout.plan_file import plan_fingerprint, plan_to_text
from lugwright.layout.price import term_shares
from lugwright.layout.results import Move, Plan, Put, PutPart, PutStrip
from lugwright.layout.rules.table import layout_findings
from lugwright.workflow.files import write_whole
from lugwright.workflow.opened import Opened
from lugwright.workflow.wiring import side_of_plan
from lugwright.workorder.order import work_order
from lugwright.workorder.results import WorkOrder

MOST_KEPT = 24
Tell = Callable[[float, str], None]


@dataclass(frozen=True)
class TermChange:
    """One term of what a plan costs, before and after."""

    name: str
    before: float
    after: float
    reason: str


@dataclass(frozen=True)
class FileChange:
    """What has to be changed in the build file. ``was`` names the text that it was made from."""

    was: str
    text: str
    lines: tuple[str, ...]  # as a diff: "-A = ...", "+A = ..."


@dataclass(frozen=True)
class Draft:
    """A plan tried out, with what it moves and costs against the stored one."""

    puts: tuple[Put, ...]
    build: Build
    plan: Plan
    order: WorkOrder
    moves: tuple[Move, ...]
    terms: tuple[TermChange, ...]
    new: tuple[Finding, ...]  # findings that the stored plan does not have
    gone: tuple[Finding, ...]  # and those that only it has


_KEPT: list[tuple[tuple[object, ...], Draft]] = []


def part_put(opened: Opened, puts: Sequence[Put], part: str, by_mm: tuple[float, float]) -> PutPart:
    """Return where a part comes to hang that is dragged by so much, in the draft as it is so far."""
    plan = drafted(opened, tuple(puts)).plan if puts else opened.plan
    return PutPart(part, ends_near(plan, part, by_mm))


def drafted(opened: Opened, puts: tuple[Put, ...], tell: Tell = lambda share, words: None) -> Draft:
    """Return the plan with these things put elsewhere, one after the other.

    Raises
    ------
    PlanError
        It cannot be: it says why.
    """
    stored = hashlib.sha256(plan_to_text(opened.plan).encode()).hexdigest()
    key = (opened.path, stored, opened.bench_log.frozen, puts)
    for kept, draft in _KEPT:
        if kept == key:
            return draft
    if len(puts) > 1:
        before = drafted(opened, puts[:-1], tell)
        build, plan = before.build, before.plan
    else:
        build, plan = opened.build, opened.plan
    tell(0.1, f"planning around {puts[-1].part if isinstance(puts[-1], PutPart) else 'strip ' + puts[-1].strip}")
    draft = _made(opened, puts, put_down(build, puts[-1], opened.bench_log.frozen), plan)
    _KEPT.append((key, draft))
    del _KEPT[:-MOST_KEPT]
    tell(0.9, "drawing")
    return draft


def _made(opened: Opened, puts: tuple[Put, ...], build: Build, before: Plan) -> Draft:
    volts, hardware, frozen = opened.joint_volts, opened.hardware, opened.bench_log.frozen
    standing = {_known(f) for f in check_places(opened.build, hardware)}
    _raise_if_broken([f for f in check_places(build, hardware) if _known(f) not in standing])
    plan = plan_lugs(build, joint_volts=volts, previous=before, hardware=hardware, frozen=frozen)
    stored = opened.plan
    old = _findings(opened, opened.build, stored)
    now = _findings(opened, build, plan)
    known, still = {_known(f) for f in old}, {_known(f) for f in now}
    new = tuple(f for f in now if _known(f) not in known)
    _raise_if_broken(new)
    _raise_if_cannot_stand(opened, build, puts[-1])
    moved = moves(build, replace(stored, fingerprint=""), plan)
    gone = tuple(f for f in old if _known(f) not in still)
    return Draft(puts, build, plan, work_order(build, plan), moved, _terms(opened, build, plan), new, gone)


def _terms(opened: Opened, build: Build, plan: Plan) -> tuple[TermChange, ...]:
    """Return the terms of the objective that are not what they were, in the order of the planner's table."""
    before = {term.name: term for term in term_shares(opened.build, opened.plan)}
    after = {term.name: term for term in term_shares(build, plan)}
    found = []
    for name in dict.fromkeys([*before, *after]):
        was, now = (term.cost if (term := terms.get(name)) else 0.0 for terms in (before, after))
        if round(was, 1) != round(now, 1):
            found.append(TermChange(name, was, now, (before.get(name) or after[name]).reason))
    return tuple(found)


def _known(finding: Finding) -> tuple[str, str, str]:
    return finding.rule, finding.part, finding.what


def _findings(opened: Opened, build: Build, plan: Plan) -> list[Finding]:
    volts, hardware = opened.joint_volts, opened.hardware
    return [
        *check_plan(build, plan, joint_volts=volts, hardware=hardware),
        *layout_findings(build, plan, joint_volts=volts, hardware=hardware),
    ]


def _raise_if_broken(new: Sequence[Finding]) -> None:
    """Raise PlanError where the plan cannot be built as it is now, and could be before."""
    for finding in new:
        if finding.grade in (Grade.DANGER, Grade.FAULT):
            raise PlanError(what=finding.what, found=finding.found, wanted=finding.wanted, do=finding.do)


def _raise_if_cannot_stand(opened: Opened, build: Build, put: Put) -> None:
    """Raise PlanError where a strip that the build file leaves open stands where the program would not have it."""
    if not opened.written.left_open or not isinstance(put, PutStrip):
        return
    stated = {strip.name for strip in opened.written.strips}, {bus.name for bus in opened.written.buses}
    proposed = replace(
        opened.plan,
        strips=tuple(strip for strip in build.strips if strip.name not in stated[0]),
        buses=tuple(bus for bus in build.buses if bus.name not in stated[1]),
    )
    if as_stored(opened.written, proposed, opened.hardware) is None:
        raise PlanError(
            what=f"strip {put.strip} cannot stand there",
            found=f"lug 1 at {put.at[0]:g}, {put.at[1]:g} mm, turned {put.turn:g} degrees",
            wanted="room beside sockets, screws, panels and other strips",
            do="put it down somewhere else",
        )


def draft_side(opened: Opened, draft: Draft) -> WiringSide:
    """Return the wiring side of a draft."""
    return side_of_plan(draft.build, draft.plan, opened, draft.order)


def file_change(opened: Opened, puts: Sequence[Put]) -> FileChange | None:
    """Return what the build file has to say for this draft; None where the plan alone holds it."""
    stated = {strip.name for strip in opened.written.strips}
    places = {put.strip: (put.at, put.turn) for put in puts if isinstance(put, PutStrip) and put.strip in stated}
    if not places:
        return None
    before = opened.path.read_text(encoding="utf-8-sig")
    after = with_strips_at(before, places, opened.path.name)
    lines = difflib.unified_diff(before.splitlines(), after.splitlines(), n=0, lineterm="")
    changed = tuple(line for line in lines if not line.startswith(("---", "+++", "@@")))
    return FileChange(hashlib.sha256(before.encode()).hexdigest(), after, changed)


def keep_draft(opened: Opened, puts: tuple[Put, ...], seen: str) -> bool:
    """Write a draft down as the plan of the build; return whether there was anything to write.

    ``seen`` names the text of the build file that the change to it was shown for, "" where none was.

    Raises
    ------
    PlanError
        The draft is not possible any more.
    ChangeError
        The build file is not the one that the change was shown for.
    FileAccessError
        A file cannot be written; what was there before is untouched.
    """
    if all(is_put(opened.build, opened.plan, put) for put in puts):
        return False
    draft, change = drafted(opened, puts), file_change(opened, puts)
    if change is not None and change.was != seen:
        raise ChangeError(
            what=f"{opened.path.name} was not changed",
            found="it is not the text any more that the change was shown for" if seen else "the change was not shown",
            wanted="a look at the change before it is written",
            do="look at the change again, then keep the plan",
        )
    written = _written(opened, change)
    plan = _as_plan_of(opened, written, draft)
    if change is not None:
        write_whole(opened.path, change.text.encode())
    write_whole(opened.plan_path, plan_to_text(plan).encode())
    return True


def _written(opened: Opened, change: FileChange | None) -> Build:
    """Return the build as its file states it once the change is in it."""
    if change is None:
        return opened.written
    build = read_text(change.text, opened.path.name).build
    if build is None:
        raise ChangeError(
            what=f"{opened.path.name} was not changed",
            found="with that change it could not be read any more",
            wanted="a build file without faults",
            do="move the strip in the file by hand",
        )
    return build


def _as_plan_of(opened: Opened, written: Build, draft: Draft) -> Plan:
    """Return the draft as the stored plan: what was put by hand stays because it is stored, not because it is asked."""
    stated = {strip.name for strip in written.strips}
    strips = tuple(strip for strip in draft.build.strips if strip.name not in stated)
    buses = tuple(bus for bus in draft.build.buses if bus.name not in {each.name for each in written.buses})
    whole = replace(written, strips=draft.build.strips, buses=draft.build.buses, left_open=draft.build.left_open)
    facts = joint_facts(whole, opened.joint_volts)
    return replace(draft.plan, strips=strips, buses=buses, fingerprint=plan_fingerprint(whole, facts))
