"""What was written into the log last, and taking any of it back."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby
from operator import attrgetter

from lugwright.log.events import (
    JOB_CHECKED,
    LEAD_IN,
    SOLDERED,
    TAKEN_OUT,
    Entry,
    JobCheckedBody,
    LeadInBody,
    SolderedBody,
    body_of,
)
from lugwright.log.measured_bodies import TAKEN_BACK
from lugwright.log.state import Bench, wire_key
from lugwright.log.store import Draft
from lugwright.log.words import entry_words
from lugwright.workflow.opened import Opened
from lugwright.workflow.ticking import MAY_BE_TAKEN_BACK, one_copy

TICKS = (LEAD_IN, SOLDERED, JOB_CHECKED)


@dataclass(frozen=True)
class Happening:
    """Entries that were written together. ``counts``: identifiers of those that still count and may be taken back."""

    time: str
    kind: str
    words: tuple[str, ...]
    leads: int
    joints: int
    counts: tuple[str, ...]


def happenings(opened: Opened, *, most: int) -> tuple[Happening, ...]:
    """Return what was written into the log of this copy, the latest first.

    Raises
    ------
    LogError
        The log is damaged, or none of ours.
    """
    log = opened.bench_log
    mine = [entry for entry in log.entries if entry.copy == log.copy]
    gone = {str(entry.body.get("entry")) for entry in mine if entry.kind == TAKEN_BACK}
    together = [tuple(group) for _, group in groupby(mine, key=attrgetter("time"))]
    return tuple(_happening(log.bench, group, gone) for group in reversed(together[-most:]))


def undone(opened: Opened, ids: Sequence[str]) -> tuple[Entry, ...]:
    """Take back entries by their identifiers: work comes out again, the rest does not count. What is so is left so.

    Raises
    ------
    LogError
        The log cannot be read or written.
    """
    one_copy(opened)
    log = opened.bench_log
    wanted = set(ids)
    gone = {str(entry.body.get("entry")) for entry in log.entries if entry.kind == TAKEN_BACK}
    drafts: list[Draft] = []
    for entry in log.entries:
        if entry.copy != log.copy or entry.id not in wanted:
            continue
        if entry.kind in TICKS and _stands(log.bench, entry):
            drafts.append((TAKEN_OUT, entry.subject, {"undone": entry.kind, **_what_comes_out(entry)}))
        elif entry.kind in MAY_BE_TAKEN_BACK and entry.id not in gone:
            drafts.append((TAKEN_BACK, entry.subject, {"entry": entry.id}))
    return log.log.append(log.copy, drafts)


def _happening(bench: Bench, group: tuple[Entry, ...], gone: set[str]) -> Happening:
    kinds = [str(entry.body["undone"]) if entry.kind == TAKEN_OUT else entry.kind for entry in group]
    small = {LEAD_IN, SOLDERED}
    told = [entry for entry, kind in zip(group, kinds, strict=True) if kind not in small] or list(group)
    return Happening(
        group[0].time,
        told[0].kind,
        tuple(dict.fromkeys(entry_words(entry) for entry in told)),
        kinds.count(LEAD_IN),
        kinds.count(SOLDERED),
        tuple(_counting(bench, group, gone)),
    )


def _counting(bench: Bench, group: tuple[Entry, ...], gone: set[str]) -> Iterator[str]:
    for entry in group:
        kept = entry.kind in MAY_BE_TAKEN_BACK and entry.id not in gone
        if kept or (entry.kind in TICKS and _stands(bench, entry)):
            yield entry.id


def _stands(bench: Bench, entry: Entry) -> bool:
    """Return whether work that an entry tells of is still there, and as it was put there then."""
    body = body_of(entry)
    if isinstance(body, LeadInBody) and body.wire is not None:
        laid = bench.wires.get(wire_key(body.wire.terminals))
        return laid is not None and laid.ends.get(body.terminal) == entry.time
    if isinstance(body, LeadInBody):
        lead = bench.leads.get((body.part, body.lead))
        return lead is not None and lead.time == entry.time
    if isinstance(body, SolderedBody):
        return bench.soldered.get(body.terminal) == entry.time
    return isinstance(body, JobCheckedBody) and bench.cards.get((body.phase, body.title), ("",))[0] == entry.time


def _what_comes_out(entry: Entry) -> dict[str, object]:
    body = body_of(entry)
    if isinstance(body, LeadInBody) and body.wire is not None:
        return {"terminal": body.terminal, "wire_ends": list(body.wire.terminals)}
    if isinstance(body, LeadInBody):
        return {"terminal": body.terminal, "part": body.part, "lead": body.lead}
    if isinstance(body, JobCheckedBody):
        return {"phase": body.phase, "title": body.title}
    return {"terminal": entry.body["terminal"]}
