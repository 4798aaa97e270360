"""Ticking work off in the log, and taking ticks back."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from lugwright.buildfile.mistakes import nearest, printable
from lugwright.buildfile.part_words import value_words
from lugwright.errors import FileAccessError, LogError, PlanError
from lugwright.layout.plan_file import wire_to_record
from lugwright.layout.results import Plan, Wire
from lugwright.log.events import JOB_CHECKED, LEAD_IN, NOTE, SOLDERED, TAKEN_OUT, Entry
from lugwright.log.exchange import from_text, to_csv, to_json_lines
from lugwright.log.measured_bodies import AS_BUILT, PHOTO, READING, SETTING, TAKEN_BACK, TUBE_FITTED
from lugwright.log.rescue import Rescued, rescued
from lugwright.log.state import Bench, wire_key
from lugwright.log.store import Draft
from lugwright.workflow.bench import BenchLog
from lugwright.workflow.files import write_whole
from lugwright.workflow.opened import Opened
from lugwright.workorder.progress import is_in, lead_name, progress, solders
from lugwright.workorder.results import Job, LeadIn, Progress

LEAST_LETTERS = 6  # of an identifier
MAY_BE_TAKEN_BACK = (NOTE, READING, AS_BUILT, TUBE_FITTED, SETTING, PHOTO)
SIGNS = {"+": "1", "-": "2"}


@dataclass(frozen=True)
class Ticked:
    """What was written into the log, and what was asked for that had been there already."""

    serial: str
    entries: tuple[Entry, ...]
    already: tuple[str, ...]


@dataclass
class _Sheet:
    """Entries to be written, collected; nothing is written twice."""

    opened: Opened
    undo: bool
    drafts: list[Draft] = field(default_factory=list)
    already: list[str] = field(default_factory=list)

    @property
    def bench(self) -> Bench:
        """Return what stands on the bench before any of this."""
        return self.opened.bench_log.bench

    def add(self, kind: str, subject: str, body: dict[str, object], *, there: bool) -> None:
        """Add an entry, or its undoing, unless it is so already."""
        draft = (TAKEN_OUT, subject, {"undone": kind, **body}) if self.undo else (kind, subject, body)
        if there != self.undo:
            self.already.append(subject)
        elif draft not in self.drafts:
            self.drafts.append(draft)


def tick(
    opened: Opened,
    *,
    cards: Sequence[int] = (),
    leads: Sequence[str] = (),
    terminals: Sequence[str] = (),
    undo: bool = False,
) -> Ticked:
    """Write into the log that cards are done, leads are in, terminals are soldered; or take that back.

    Raises
    ------
    LogError
        There is no such card, lead or terminal, the plan is not of this build, or the log cannot be written.
    """
    one_copy(opened)
    sheet = _Sheet(opened, undo)
    if cards or ((leads or terminals) and not undo):
        _raise_if_stale(opened)
    for number in cards:
        _card(sheet, _job(opened, number))
    for name in leads:
        _lead(sheet, name)
    for name in terminals:
        _terminal(sheet, name)
    entries = opened.bench_log.log.append(opened.bench_log.copy, sheet.drafts)
    return Ticked(opened.bench_log.copy, entries, tuple(dict.fromkeys(sheet.already)))


def progress_now(opened: Opened) -> Progress | None:
    """Return what is done after what has just been written; None where the plan is to be made again first."""
    try:
        _raise_if_stale(opened)
    except (PlanError, LogError):
        return None
    log = opened.bench_log
    return progress(opened.plan, opened.work_order, BenchLog(log.path, log.copy).bench, log.copy)


def where_it_stands(opened: Opened) -> Progress:
    """Return what is done, and what comes next.

    Raises
    ------
    LogError
        There is no plan, or the build file has changed since.
    """
    _raise_if_stale(opened)
    return opened.progress


def noted(opened: Opened, text: str, subject: str = "") -> Ticked:
    """Write a note into the log."""
    one_copy(opened)
    draft: Draft = (NOTE, printable(subject)[:200], {"text": text})
    return Ticked(opened.bench_log.copy, opened.bench_log.log.append(opened.bench_log.copy, [draft]), ())


def exported(opened: Opened, path: Path) -> int:
    """Write the whole log into a file, as CSV where it is called so, else as JSON lines; return how many entries.

    Raises
    ------
    FileAccessError
        The file cannot be written.
    """
    write_whole(path, log_text(opened, as_csv=_is_csv(path)).encode())
    return len(opened.bench_log.entries)


def rescued_into(opened: Opened, path: Path) -> Rescued:
    """Write what can still be read of a damaged log into a file that a new log takes in; the log stays as it is.

    Raises
    ------
    FileAccessError
        The file cannot be written, or the log cannot be opened.
    LogError
        There is no log, or nothing in it can be read.
    """
    log = opened.bench_log.path
    if not log.is_file():
        raise LogError(
            what=f"there is nothing to rescue beside {opened.path.name}",
            found=f"no {log.name}",
            wanted="the damaged log in its place",
            do=f"copy it there under the name {log.name}",
        )
    try:
        found = rescued(log)
    except OSError as error:
        raise FileAccessError(
            what=f"{log.name} cannot be opened",
            found=error.strerror or str(error),
            wanted="a file that may be read, and room for a copy of it in the folder for temporary files",
            do="copy the log, as far as it can be copied, to a sound disk, and try there",
        ) from error
    text = to_csv(found.entries) if _is_csv(path) else to_json_lines(found.entries)
    write_whole(path, text.encode())
    return found


def _is_csv(path: Path) -> bool:
    return path.suffix.casefold() == ".csv"


def log_text(opened: Opened, *, as_csv: bool) -> str:
    """Return the whole log as a text that another log takes in: CSV, or JSON lines."""
    entries = opened.bench_log.entries
    return to_csv(entries) if as_csv else to_json_lines(entries)


def taken_in(opened: Opened, path: Path) -> tuple[int, int]:
    """Take the entries of an export into the log; return how many were new, and how many the file holds.

    Raises
    ------
    FileAccessError
        The file cannot be read.
    LogError
        It is no export, or the log cannot be written.
    """
    try:
        text = path.read_text(encoding="utf-8-sig")
    except (OSError, UnicodeDecodeError) as error:
        raise FileAccessError(
            what=f"{path} cannot be read",
            found=str(getattr(error, "strerror", None) or error),
            wanted="an export of a log",
            do="check the name and the folder",
        ) from error
    entries = from_text(text, path.name)
    return opened.bench_log.log.take_in(entries), len(entries)


def taken_back(opened: Opened, ids: Sequence[str]) -> tuple[Entry, ...]:
    """Take back entries by their identifiers or the first letters of them; nothing is erased.

    Raises
    ------
    LogError
        There is no such entry, more than one, or one of work that is undone otherwise.
    """
    one_copy(opened)
    log = opened.bench_log
    drafts: list[Draft] = []
    for said in dict.fromkeys(ids):
        found = [entry for entry in log.entries if entry.id.startswith(said.casefold()) and entry.copy == log.copy]
        if len(found) != 1 or len(said) < LEAST_LETTERS:
            raise LogError(
                what=f"there is no entry {printable(said)[:40]}" if not found else f"{said} may be several entries",
                found=printable(said)[:40],
                wanted=f"at least {LEAST_LETTERS} letters of one identifier of copy {log.copy}",
                do="look it up: lugwright log FILE",
            )
        (entry,) = found
        if entry.kind not in MAY_BE_TAKEN_BACK:
            raise LogError(
                what=f"an entry of kind {entry.kind!r} is not taken back by its identifier",
                found=entry.subject,
                wanted=f"one of kind {', '.join(MAY_BE_TAKEN_BACK)}",
                do="undo work with lugwright tick FILE --undo: what comes out opens its joint",
            )
        drafts.append((TAKEN_BACK, entry.subject, {"entry": entry.id}))
    return log.log.append(log.copy, drafts)


def one_copy(opened: Opened) -> None:
    log = opened.bench_log
    if len(log.copies) > 1 and not log.serial:
        raise LogError(
            what="the log holds several copies of this build",
            found=f"copies {', '.join(sorted(log.copies))}",
            wanted="which one it is about",
            do=f"add --serial {log.copies[0]}, or another one's",
        )


def _raise_if_stale(opened: Opened) -> None:
    """Raise LogError when the cards the builder has seen are not those of the build file as it is."""
    stored = opened.stored_plan
    if stored is None:
        raise LogError(
            what="there is no plan to tick off",
            found=f"no {opened.plan_path.name}",
            wanted="the plan whose cards are done",
            do="plan first: lugwright plan FILE",
        )
    if opened.plan.fingerprint != stored.fingerprint:
        raise LogError(
            what=f"{opened.path.name} has changed since it was planned",
            found="cards and wires may have other numbers now",
            wanted="the plan of the build file as it is",
            do="plan again, and look at the new cards: lugwright plan FILE",
        )


def _job(opened: Opened, number: int) -> Job:
    jobs = opened.work_order.jobs
    found = next((job for job in jobs if job.number == number), None)
    if found is None:
        raise LogError(
            what=f"there is no card {number}",
            found=f"{len(jobs)} cards",
            wanted=f"1 to {len(jobs)}",
            do="look at the cards: lugwright jobs FILE",
        )
    return found


def _card(sheet: _Sheet, job: Job) -> None:
    plan = sheet.opened.plan
    for lead in job.leads:
        _lead_in(sheet, plan, lead)
    labels = {lead.terminal: lead.label for lead in job.leads}
    for key in solders(job):
        _soldered(sheet, key, labels[key])
    body: dict[str, object] = {"phase": job.phase, "title": job.title}
    checked = sheet.bench.cards.get((job.phase, job.title))
    there = checked is not None and (sheet.undo or set(job.text) <= set(checked[1]))
    sheet.add(JOB_CHECKED, f"card {job.title}", body if sheet.undo else {**body, "lines": list(job.text)}, there=there)


def _lead_in(sheet: _Sheet, plan: Plan, lead: LeadIn) -> None:
    """Add one lead of a card."""
    name = lead_name(plan, lead)
    there = is_in(plan, sheet.bench, lead)
    if name:
        _part_lead(sheet, plan, lead.what, name, there=there)
    else:
        wire = next(w for w in plan.wires if f"W{w.number}" == lead.what)
        _wire_end(sheet, plan, wire, lead.terminal, there=there)


def _part_lead(sheet: _Sheet, plan: Plan, part: str, lead: str, *, there: bool) -> None:
    seat = next(s for s in plan.seats if s.part == part)
    key = seat.terminals[seat.lead_names.index(lead)]
    label = plan.terminals[key].label
    body: dict[str, object] = {"terminal": key, "part": part, "lead": lead}
    if not sheet.undo:
        value = value_words(sheet.opened.build.part(part).values)
        body |= {"label": label, "value": value, "layer": seat.layer}
    sheet.add(LEAD_IN, f"{part} lead {lead} to {label}", body, there=there)


def _wire_end(sheet: _Sheet, plan: Plan, wire: Wire, key: str, *, there: bool) -> None:
    label = plan.terminals[key].label
    record = wire_to_record(wire)
    body: dict[str, object] = {"terminal": key}
    body |= {"wire_ends": record["terminals"]} if sheet.undo else {"label": label, "wire": record}
    sheet.add(LEAD_IN, f"W{wire.number} ({wire.joint}) to {label}", body, there=there)


def _soldered(sheet: _Sheet, key: str, label: str) -> None:
    body: dict[str, object] = {"terminal": key} if sheet.undo else {"terminal": key, "label": label}
    sheet.add(SOLDERED, label, body, there=key in sheet.bench.soldered)


def _lead(sheet: _Sheet, name: str) -> None:
    """Add what a name says: both leads of R3, R3.1, both ends of W12, W12.1."""
    if sheet.undo:
        _lead_out(sheet, name)
        return
    plan = sheet.opened.plan
    what, _, which = name.partition(".")
    seat = next((s for s in plan.seats if s.part == what), None)
    wire = next((w for w in plan.wires if f"W{w.number}" == what), None)
    if seat is not None and (lead := SIGNS.get(which, which)) in ("", *seat.lead_names):
        for each in [lead] if lead else seat.lead_names:
            at = seat.terminals[seat.lead_names.index(each)]
            _part_lead(sheet, plan, what, each, there=sheet.bench.is_in(what, each, at))
    elif wire is not None and which in ("", *wire_ends(wire)):
        for end, key in wire_ends(wire).items():
            if which in ("", end):
                there = sheet.bench.is_in("", "", key, wire_key(wire.terminals))
                _wire_end(sheet, plan, wire, key, there=there)
    else:
        known = [f"{s.part}.{lead}" for s in plan.seats for lead in s.lead_names]
        known += [f"W{w.number}.{end}" for w in plan.wires for end in wire_ends(w)]
        _no_such_lead(name, known)


def wire_ends(wire: Wire) -> dict[str, str]:
    """Return the ends of a wire by what they are called: 1, 2, and braid."""
    braid = {"braid": wire.shield} if wire.shield else {}
    return {"1": wire.terminals[0], "2": wire.terminals[1], **braid}


def _no_such_lead(name: str, known: Iterable[str]) -> None:
    close = nearest(name, known)
    raise LogError(
        what=f"there is no lead {name}",
        found=name,
        wanted="a part or wire of the plan, or one lead of it: R3, R3.1, W12, W12.2",
        do=f"write {close}" if close else "look it up: lugwright jobs FILE",
    )


def _lead_out(sheet: _Sheet, name: str) -> None:
    """Take out what a name says, from what the log says is in; the plan is not asked."""
    what, _, which = name.partition(".")
    which = SIGNS.get(which, which)
    found = False
    for lead in sheet.bench.leads.values():
        if lead.part == what and which in ("", lead.lead):
            found = True
            body: dict[str, object] = {"terminal": lead.terminal, "part": lead.part, "lead": lead.lead}
            sheet.add(LEAD_IN, f"{lead.part} lead {lead.lead} to {lead.label or lead.terminal}", body, there=True)
    for key, wire in sheet.bench.wires.items():
        if what != f"W{wire.record.get('number')}":
            continue
        ends = {"1": wire.record["terminals"][0], "2": wire.record["terminals"][1], "braid": wire.record.get("shield")}
        for terminal in wire.ends:
            if which in ("", next((end for end, at in ends.items() if at == terminal), "")):
                found = True
                body = {"terminal": terminal, "wire_ends": list(key)}
                sheet.add(LEAD_IN, f"{what} ({wire.record['joint']}) to {terminal}", body, there=True)
    if not found:
        sheet.already.append(name)


def _plainly(label: str) -> str:
    """Return a label without what stands in brackets behind it: the electrode of a pin, or that a lug is a foot."""
    return label.partition(" (")[0].casefold().strip()


def _terminal(sheet: _Sheet, name: str) -> None:
    """Add a terminal, soldered with all that is planned in it; undone, only its solder is opened."""
    plan = sheet.opened.stored_plan if sheet.undo else sheet.opened.plan
    terminals = plan.terminals if plan else {}
    labels = {_plainly(t.label): t.key for t in terminals.values()}
    key = name if name in terminals else labels.get(_plainly(name), "")
    if not key and sheet.undo and name in sheet.bench.soldered:
        key = name
    if not key or plan is None:
        close = nearest(name, [t.label for t in terminals.values()] + list(terminals))
        raise LogError(
            what=f"there is no terminal {name}",
            found=name,
            wanted='a terminal of the plan: "strip A lug 4", A.4, "V1 pin 3", V1.3',
            do=f"write {close!r}" if close else "look it up: lugwright plan FILE",
        )
    if not sheet.undo:
        for job in sheet.opened.work_order.jobs:
            for lead in job.leads:
                if lead.terminal == key:
                    _lead_in(sheet, plan, lead)
    _soldered(sheet, key, terminals[key].label if key in terminals else key)
