"""What an entry of the log is, and what each kind of it must say."""

from __future__ import annotations

import hashlib
import json
import re
import uuid
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from pydantic import ConfigDict, Field, ValidationError, model_validator
from pydantic_core import PydanticCustomError

from lugwright.errors import LogError
from lugwright.log.measured_bodies import MEASURED_BODIES, EntryBody

LEAD_IN, SOLDERED, JOB_CHECKED, TAKEN_OUT, NOTE = "lead in", "soldered", "job checked", "taken out", "note"
MOST_LETTERS = 100_000  # of a body
MOST_DEEP = 20
_TIME = re.compile(r"\d{4}-\d{2}-\d{2}T\d{2}:\d{2}:\d{2}\.\d{6}Z")
Body = Mapping[str, Any]


@dataclass(frozen=True)
class Entry:
    """One thing that happened. Entries are added, never changed; what was wrong is followed by its correction."""

    id: str  # 32 hexadecimal digits, chosen once
    time: str  # UTC, 2026-11-25T22:10:21.000000Z
    copy: str  # serial number of the copy it happened to
    kind: str  # "lead in", "soldered", "reading", ...: see `BODIES`; others are kept as they are
    subject: str  # what a person would call it: "R3 lead 1", "strip A lug 4"
    body: Body

    @cached_property
    def said(self) -> EntryBody | None:
        """Return what it says, checked; None for a kind that this version does not know.

        Raises
        ------
        LogError
            It does not say what one of its kind must.
        """
        return _said(self)


class WireBody(EntryBody):
    """A wire as it was planned: these two keys, and whatever else a plan says of a wire."""

    model_config = ConfigDict(strict=True, extra="allow", frozen=True)
    joint: str
    terminals: list[str] = Field(min_length=2, max_length=2)
    shield: str = ""  # where its braid is soldered


class LeadInBody(EntryBody):
    """A part's lead or one end of a wire is in a terminal."""

    terminal: str
    label: str = ""
    part: str = ""
    lead: str = ""
    value: str = ""  # of the part, as it was written then
    layer: int = 1
    wire: WireBody | None = None

    @model_validator(mode="after")
    def _one_thing(self) -> LeadInBody:
        if bool(self.part and self.lead) == (self.wire is not None):
            raise PydanticCustomError("one_thing", "a lead of a part, or a wire")
        if self.wire is not None and self.terminal not in (*self.wire.terminals, self.wire.shield):
            raise PydanticCustomError("not_its_end", "terminal is no end of the wire")
        return self


class SolderedBody(EntryBody):
    """A terminal is soldered."""

    terminal: str
    label: str = ""


class JobCheckedBody(EntryBody):
    """A card is done. Cards are known by phase and title, their lines by their words; numbers change."""

    phase: str
    title: str
    lines: list[str] = Field(default=[])


class TakenOutBody(EntryBody):
    """Something is undone: a lead, a wire's end, a solder joint, a card."""

    undone: str  # LEAD_IN, SOLDERED or JOB_CHECKED
    terminal: str = ""
    part: str = ""
    lead: str = ""
    wire_ends: list[str] = Field(default=[])
    phase: str = ""
    title: str = ""


class NoteBody(EntryBody):
    """Words."""

    text: str


BODIES: dict[str, type[EntryBody]] = {
    LEAD_IN: LeadInBody,
    SOLDERED: SolderedBody,
    JOB_CHECKED: JobCheckedBody,
    TAKEN_OUT: TakenOutBody,
    NOTE: NoteBody,
    **MEASURED_BODIES,
}


def new_id() -> str:
    """Return an identifier no other entry has."""
    return uuid.uuid4().hex


def id_of_command(command: str, number: int) -> str:
    """Return the identifier of one of the entries that a command writes: the same each time it is given."""
    return hashlib.sha256(f"{number} {command}".encode()).hexdigest()[:32]


def body_of(entry: Entry) -> EntryBody | None:
    """Return what an entry says, checked; None for a kind that this version does not know.

    Raises
    ------
    LogError
        The entry does not say what one of its kind must.
    """
    return entry.said


def _said(entry: Entry) -> EntryBody | None:
    model = BODIES.get(entry.kind)
    if model is None:
        return None
    try:
        return model.model_validate(dict(entry.body))
    except ValidationError as error:
        first = error.errors(include_url=False)[0]
        key = ".".join(str(piece) for piece in first["loc"])
        found = f"{key}: {first['msg'].lower()}" if key else first["msg"]
        raise _bad(f"{entry.kind} {entry.id}", found, f"what an entry of kind {entry.kind!r} says") from None


def checked(raw: object, where: str) -> Entry:
    """Return an entry read from outside; LogError when it is none."""
    names = ("id", "time", "copy", "kind", "subject", "body")
    if not isinstance(raw, dict) or set(raw) != set(names):
        raise _bad(where, "other keys than an entry has", ", ".join(names))
    for name in names[:5]:
        if not isinstance(raw[name], str) or len(raw[name]) > 500 or not raw[name].isprintable():
            raise _bad(where, f"{name} = {str(raw[name])[:60]!r}", "a printable text of at most 500 letters")
    if not re.fullmatch(r"[0-9a-f]{32}", raw["id"]):
        raise _bad(where, f"id = {raw['id'][:60]!r}", "32 hexadecimal digits")
    if not _TIME.fullmatch(raw["time"]):
        raise _bad(where, f"time = {raw['time'][:60]!r}", "a time such as 2026-11-25T22:10:21.000000Z")
    if not isinstance(raw["body"], dict):
        raise _bad(where, "body is no table", "a table of keys")
    if _depth(raw["body"]) > MOST_DEEP:
        raise _bad(where, "body is nested too deep", f"at most {MOST_DEEP} levels")
    try:
        letters = len(json.dumps(raw["body"], ensure_ascii=False, allow_nan=False).encode())
    except ValueError:
        raise _bad(where, "body holds what is no number or no text", "finite numbers and plain text") from None
    if letters > MOST_LETTERS:
        raise _bad(where, f"body of {letters} bytes", f"at most {MOST_LETTERS}")
    entry = Entry(**raw)
    body_of(entry)
    return entry


def _depth(value: object) -> int:
    """Return how deep lists and tables stand in each other; deeper than is allowed is not looked into."""
    layer, depth = [value], 0
    while layer and depth <= MOST_DEEP:
        depth += 1
        layer = [x for v in layer for x in (v.values() if isinstance(v, dict) else v if isinstance(v, list) else ())]
    return depth


def _bad(where: str, found: str, wanted: str) -> LogError:
    return LogError(
        what=f"this is no entry of a log: {where}", found=found, wanted=wanted, do="take it from an export of a log"
    )
