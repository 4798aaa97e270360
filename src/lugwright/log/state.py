"""What stands on the bench now: the entries of one copy, played through."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

from lugwright.log.events import (
    JOB_CHECKED,
    LEAD_IN,
    SOLDERED,
    Entry,
    JobCheckedBody,
    LeadInBody,
    NoteBody,
    SolderedBody,
    TakenOutBody,
    body_of,
)
from lugwright.log.measured_bodies import (
    AS_BUILT,
    SETTING,
    TAKEN_BACK,
    TUBE_FITTED,
    AsBuiltBody,
    PhotoBody,
    ReadingBody,
    SettingBody,
    TakenBackBody,
    TubeFittedBody,
)

PREDICTED = (AS_BUILT, TUBE_FITTED, SETTING, TAKEN_BACK)  # kinds that change what is predicted
WireKey = tuple[str, str]  # its two terminals, in alphabetical order
CardKey = tuple[str, str]  # phase, title


@dataclass(frozen=True)
class PartLead:
    """A lead of a part that is in."""

    part: str
    lead: str
    terminal: str
    label: str
    value: str
    layer: int
    time: str


@dataclass(frozen=True)
class LaidWire:
    """A wire of which at least one end is in; ``record`` as it was planned then."""

    record: Mapping[str, Any]
    ends: Mapping[str, str]  # terminal -> time


@dataclass(frozen=True)
class TakenReading:
    """A reading that was not taken back."""

    id: str
    time: str
    subject: str
    body: ReadingBody

    @property
    def point(self) -> tuple[str, str, str, str, str]:
        """Return what was read: of several readings of the same the last one counts."""
        said = self.body
        return said.step, said.red, said.black, said.quantity, said.condition


@dataclass(frozen=True)
class Measured:
    """A value measured as built; the last one of a thing counts."""

    id: str
    time: str
    subject: str
    body: AsBuiltBody


@dataclass(frozen=True)
class FittedTube:
    """The tube that stands in a socket."""

    id: str
    time: str
    body: TubeFittedBody


@dataclass(frozen=True)
class Set:
    """Where a control stands."""

    id: str
    time: str
    body: SettingBody


@dataclass(frozen=True)
class Bench:
    """Everything that is in, soldered, checked, measured, fitted and set."""

    leads: Mapping[tuple[str, str], PartLead] = field(default_factory=dict)  # part, lead
    wires: Mapping[WireKey, LaidWire] = field(default_factory=dict)
    soldered: Mapping[str, str] = field(default_factory=dict)  # terminal -> time
    cards: Mapping[CardKey, tuple[str, tuple[str, ...]]] = field(default_factory=dict)  # time, lines
    notes: tuple[tuple[str, str, str], ...] = ()  # time, subject, words
    last: str = ""  # time of the last entry
    readings: tuple[TakenReading, ...] = ()  # every one, in order
    as_built: Mapping[str, Measured] = field(default_factory=dict)  # by subject
    tubes: Mapping[str, FittedTube] = field(default_factory=dict)  # by socket
    settings: Mapping[str, Set] = field(default_factory=dict)  # by control
    photos: tuple[tuple[str, str, str], ...] = ()  # time, file, words

    @property
    def counting(self) -> Mapping[tuple[str, str, str, str, str], TakenReading]:
        """Return the reading that counts of each point and step: the last one."""
        return {reading.point: reading for reading in self.readings}

    def __bool__(self) -> bool:
        """Return whether anything is in, soldered or checked."""
        return bool(self.leads or self.wires or self.soldered or self.cards)

    def is_in(self, what: str, lead: str, terminal: str, wire: WireKey | None = None) -> bool:
        """Return whether a part's lead, or the end of a wire, is in a terminal."""
        if wire is not None:
            return wire in self.wires and terminal in self.wires[wire].ends
        found = self.leads.get((what, lead))
        return found is not None and found.terminal == terminal


def wire_key(terminals: Iterable[str]) -> WireKey:
    """Return what a wire is known by whatever its number."""
    one, two = sorted(terminals)
    return one, two


def played(entries: Iterable[Entry], copy: str) -> Bench:
    """Return what stands after all entries of a copy.

    Raises
    ------
    LogError
        An entry does not say what one of its kind must.
    """
    mine = [entry for entry in entries if entry.copy == copy]
    tally = _Tally(frozenset(_taken_back(mine)))
    for entry in mine:
        tally.take(entry)
    return Bench(
        dict(tally.leads),
        {key: LaidWire(record, dict(ends)) for key, (record, ends) in tally.wires.items() if ends},
        dict(tally.soldered),
        dict(tally.cards),
        tuple(tally.notes),
        tally.last,
        tuple(tally.readings),
        dict(tally.as_built),
        dict(tally.tubes),
        dict(tally.settings),
        tuple(tally.photos),
    )


def _taken_back(entries: Iterable[Entry]) -> Iterator[str]:
    for entry in entries:
        if entry.kind == TAKEN_BACK and isinstance(body := body_of(entry), TakenBackBody):
            yield body.entry


class _Tally:
    def __init__(self, taken_back: frozenset[str] = frozenset()) -> None:
        self.taken_back = taken_back
        self.readings: list[TakenReading] = []
        self.as_built: dict[str, Measured] = {}
        self.tubes: dict[str, FittedTube] = {}
        self.settings: dict[str, Set] = {}
        self.photos: list[tuple[str, str, str]] = []
        self.leads: dict[tuple[str, str], PartLead] = {}
        self.wires: dict[WireKey, tuple[Mapping[str, Any], dict[str, str]]] = {}
        self.soldered: dict[str, str] = {}
        self.cards: dict[CardKey, tuple[str, tuple[str, ...]]] = {}
        self.notes: list[tuple[str, str, str]] = []
        self.last = ""

    def take(self, entry: Entry) -> None:
        """Let one entry happen."""
        self.last = entry.time
        body = body_of(entry)
        if isinstance(body, LeadInBody):
            self._lead_in(body, entry.time)
        elif isinstance(body, SolderedBody):
            self.soldered[body.terminal] = entry.time
        elif isinstance(body, JobCheckedBody):
            self.cards[body.phase, body.title] = entry.time, tuple(body.lines)
        elif isinstance(body, TakenOutBody):
            self._taken_out(body)
        elif entry.id not in self.taken_back:
            self._written_down(entry, body)

    def _written_down(self, entry: Entry, body: object) -> None:
        """Let happen what can be taken back as a whole."""
        if isinstance(body, NoteBody):
            self.notes.append((entry.time, entry.subject, body.text))
        elif isinstance(body, ReadingBody):
            self.readings.append(TakenReading(entry.id, entry.time, entry.subject, body))
        elif isinstance(body, AsBuiltBody):
            self.as_built.pop(entry.subject, None)
            self.as_built[entry.subject] = Measured(entry.id, entry.time, entry.subject, body)
        elif isinstance(body, TubeFittedBody):
            self.tubes[body.socket] = FittedTube(entry.id, entry.time, body)
        elif isinstance(body, SettingBody):
            self.settings[body.control] = Set(entry.id, entry.time, body)
        elif isinstance(body, PhotoBody):
            self.photos.append((entry.time, body.file, body.text))

    def _lead_in(self, body: LeadInBody, time: str) -> None:
        if body.wire is None:
            lead = PartLead(body.part, body.lead, body.terminal, body.label, body.value, body.layer, time)
            self.leads[body.part, body.lead] = lead
            return
        key = wire_key(body.wire.terminals)
        ends = self.wires[key][1] if key in self.wires else {}
        self.wires[key] = body.wire.model_dump(), {**ends, body.terminal: time}

    def _taken_out(self, body: TakenOutBody) -> None:
        """Undo; what leaves a soldered joint opens it."""
        if body.undone == SOLDERED:
            self.soldered.pop(body.terminal, None)
        elif body.undone == JOB_CHECKED:
            self.cards.pop((body.phase, body.title), None)
        elif body.undone == LEAD_IN and body.part:
            self.leads.pop((body.part, body.lead), None)
            self.soldered.pop(body.terminal, None)
        elif body.undone == LEAD_IN and len(body.wire_ends) == 2:
            self.wires.get(wire_key(body.wire_ends), ({}, {}))[1].pop(body.terminal, None)
            self.soldered.pop(body.terminal, None)
