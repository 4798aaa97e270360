"""Cards of one sitting each: what goes in, where it is soldered, what stays open, what it covers."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, replace
from itertools import pairwise

from lugwright.buildfile.build import Build, Bus
from lugwright.buildfile.part_words import part_words
from lugwright.layout.results import Plan, SeatedPart
from lugwright.workorder.broken import card_notes
from lugwright.workorder.cautions import (
    CAUTIONS,
    CLOSING,
    EARTH_FIRST,
    FEEDBACK_LAST,
    GROUND_BOND,
    SECTION_CAUTION,
)
from lugwright.workorder.covers import CHEAP, Precedence
from lugwright.workorder.cut_list import cut_length_mm
from lugwright.workorder.in_words import in_bench_order, lead_words, terminal_words, wire_words
from lugwright.workorder.phases import (
    BIAS,
    EARTH_AND_MAINS,
    FEEDBACK,
    GROUND_BUS,
    TITLES,
    is_earth_bond,
    is_ground_bond,
    stage_phase,
)
from lugwright.workorder.precedence import Sequence
from lugwright.workorder.results import Job, LeadIn
from lugwright.workorder.units import Unit

LEADS_PER_CARD = 8
BUS_ENDS_MM = 20.0  # 10 mm to hold at either end
Slot = tuple[str, int, bool]  # phase, stage, whether it had to wait for a later phase


@dataclass(frozen=True)
class _Desk:
    """What every card is written from; ``left`` counts down as leads go in.

    Neither count knows the feedback lead: no joint may wait for it unsoldered while the amplifier is powered.
    """

    build: Build
    plan: Plan
    sequence: Sequence
    rules: tuple[Precedence, ...]
    broken: tuple[Precedence, ...]
    total: Counter[str]
    left: Counter[str]
    feedback: dict[str, Unit]  # terminal -> what joins it after the check


def wiring_cards(
    build: Build, plan: Plan, sequence: Sequence, *, rules: tuple[Precedence, ...], broken: tuple[Precedence, ...]
) -> list[Job]:
    """Return the cards from the earth lead to the feedback lead."""
    total = Counter(key for unit in sequence.units if unit.phase != FEEDBACK for _, _, key in unit.ends)
    last = {key: unit for unit in sequence.units if unit.phase == FEEDBACK for _, _, key in unit.ends}
    desk = _Desk(build, plan, sequence, rules, broken, total, total.copy(), last)
    groups = _groups(build, sequence)
    last_of = {slot[0]: index for index, (slot, _) in enumerate(groups)}
    cards = []
    for index, (slot, some) in enumerate(groups):
        card = _card(desk, slot, some)
        if last_of[slot[0]] == index:
            card = replace(card, text=(*card.text, *CLOSING.get(slot[0], ())))
        cards.append(card)
    return _numbered_titles(cards)


def _groups(build: Build, sequence: Sequence) -> list[tuple[Slot, list[Unit]]]:
    """Cut the sequence where the phase or stage changes and where a card is full."""
    groups: list[tuple[Slot, list[Unit]]] = []
    for unit in sequence.units:
        slot = _slot(build, unit, late=unit.name in sequence.waited_for)
        full = groups and sum(len(u.ends) for u in groups[-1][1]) + len(unit.ends) > LEADS_PER_CARD
        if groups and groups[-1][0] == slot and not full:
            groups[-1][1].append(unit)
        else:
            groups.append((slot, [unit]))
    return groups


def _slot(build: Build, unit: Unit, *, late: bool) -> Slot:
    """Return phase, stage, lateness as far as they part two cards: supplies, controls, late work are not split."""
    in_stage = 0 <= unit.stage < len(build.stages) and stage_phase(build.stages[unit.stage]) == unit.phase
    apart = in_stage or unit.stage < 0 or unit.stage > len(build.stages)
    return unit.phase, unit.stage if apart and not late else len(build.stages), late


def _late(some: Iterable[Unit], sequence: Sequence) -> tuple[str, ...]:
    """Return why units go in later than their phase."""
    return tuple(
        f"{unit.name} belongs to the {TITLES[unit.phase]} work and waited: {sequence.waited_for[unit.name].why}."
        for unit in some
        if unit.name in sequence.waited_for
    )


def _card(desk: _Desk, slot: Slot, some: list[Unit]) -> Job:
    names = {unit.name for unit in some}
    touched = list(dict.fromkeys(key for unit in some for _, _, key in unit.ends))
    to_solder = [key for key in touched if desk.plan.terminals[key].kind != "exit"]
    words = {key: terminal_words(desk.build, desk.plan, key) for key in touched}
    leads = tuple(_lead_in(desk, unit, end, words) for unit in some for end in unit.ends)
    hidden = [r.covered for r in desk.rules if r.then in names and r.cost > CHEAP and r not in desk.broken]
    return Job(
        number=0,
        phase=slot[0],
        title=_title(desk.build, slot),
        text=tuple(_sentences(desk, slot, some)),
        parts=tuple(name for unit in some for name in unit.parts),
        wires=tuple(number for unit in some for number in unit.wires),
        leads=leads,
        solder=tuple(words[key] for key in to_solder if not desk.left[key]),
        waits=tuple(f"{words[key]} ({desk.left[key]} still to come)" for key in to_solder if desk.left[key]),
        covers=tuple(in_bench_order(name for name in hidden if name)),
        cautions=(*CAUTIONS.get(slot[0], ()), *SECTION_CAUTION.get(slot[0], ())),
        notes=(*_late(some, desk.sequence), *card_notes(desk.broken, names)),
        buses=tuple(unit.name for unit in some if unit.kind == "bus"),
    )


def _title(build: Build, slot: Slot) -> str:
    phase, stage, late = slot
    if late:
        return f"{TITLES[phase]}, what had to wait"
    if phase == EARTH_AND_MAINS and stage < 0:
        return "Protective earth"
    if phase == GROUND_BUS and stage < 0:
        return "Ground bus"
    if phase == GROUND_BUS and stage > len(build.stages):
        return "Ground to chassis bond"
    name = build.stages[stage].title or build.stages[stage].name if 0 <= stage < len(build.stages) else ""
    return f"{TITLES[phase]}: {name}" if name and name != TITLES[phase] else TITLES[phase]


def _numbered_titles(cards: list[Job]) -> list[Job]:
    total, seen = Counter(card.title for card in cards), Counter[str]()
    named = []
    for card in cards:
        seen[card.title] += 1
        part = f" ({seen[card.title]} of {total[card.title]})" if total[card.title] > 1 else ""
        named.append(replace(card, title=card.title + part))
    return named


def _lead_in(desk: _Desk, unit: Unit, end: tuple[str, str, str], words: dict[str, str]) -> LeadIn:
    """Return one row of a card; a terminal is soldered at the row that brings its last lead."""
    what, lead, key = end
    if unit.phase != FEEDBACK:
        desk.left[key] -= 1
    if lead and what in desk.build.part_by_name:
        lead = lead_words(desk.build.part(what), lead)
    return LeadIn(what, lead, key, words[key], _solder_words(desk, unit, key))


def _solder_words(desk: _Desk, unit: Unit, key: str) -> str:
    kind = desk.plan.terminals[key].kind
    if kind == "exit":
        return "no solder (the part's own lead)"
    if unit.phase == FEEDBACK:
        return "melt the joint and add it" if desk.total[key] else "solder now"
    if desk.left[key]:
        return f"wait ({desk.left[key]} still to come)"
    verb = "bolt down now" if kind == "bolt" else "solder now"
    every = [] if desk.total[key] == 1 else [f"all {desk.total[key]} in"]
    later = [f"{desk.feedback[key].name} is added last"] if key in desk.feedback else []
    return f"{verb} ({', '.join([*every, *later])})" if every or later else verb


def _sentences(desk: _Desk, slot: Slot, some: list[Unit]) -> list[str]:
    build, plan = desk.build, desk.plan
    seats = {seat.part: seat for seat in plan.seats}
    wires = {wire.number: wire for wire in plan.wires}
    buses = {bus.name: bus for bus in build.buses}
    lines: list[str] = []
    for unit in some:
        if unit.kind == "part":
            lines += _part_sentences(build, plan, seats[unit.name], slot)
        elif unit.kind == "bus":
            lines += _bus_sentences(buses[unit.name])
        for number in unit.wires:
            lines.append(wire_words(build, plan, wires[number]))
        if unit.left_off:
            end = terminal_words(build, plan, unit.left_off)
            lines.append(f"Leave its end for {end} off, sleeved: it goes in last.")
        if unit.kind == "end":
            (what, _, key), *_ = unit.ends
            lines.append(f"{what}: the end left off so far, to {terminal_words(build, plan, key)}.")
    laid = [wires[number] for unit in some for number in unit.wires]
    if any(is_earth_bond(build, wire) for wire in laid):
        lines += EARTH_FIRST
    if any(is_ground_bond(build, wire) for wire in laid):
        lines += GROUND_BOND
    if any(unit.phase == FEEDBACK for unit in some):
        lines += FEEDBACK_LAST
    return lines


def _part_sentences(build: Build, plan: Plan, seat: SeatedPart, slot: Slot) -> list[str]:
    part = build.part(seat.part)
    places = [terminal_words(build, plan, key) for key in seat.terminals]
    leads = [lead_words(part, lead) for lead in seat.lead_names]
    plain = all(lead.isdigit() for lead in leads)
    ends = f"{places[0]} to {places[1]}" if plain else f"{leads[0]} to {places[0]}, {leads[1]} to {places[1]}"
    lines = [f"{part_words(part)}: {ends}, body {seat.z_mm:g} mm above the plate, layer {seat.layer}."]
    if not plain:
        lines.append(f"Mind the polarity of {seat.part}: its {leads[0]} lead goes to {places[0]}.")
    if not plain and slot[0] == BIAS:
        lines.append(f"{seat.part} belongs to a supply below ground: check it against the drawing twice.")
    return lines


def _bus_sentences(bus: Bus) -> list[str]:
    corners = " to ".join(f"({x:g}, {y:g})" for x, y in bus.points)
    length_mm = cut_length_mm(sum(math.dist(a, b) for a, b in pairwise(bus.points)) + BUS_ENDS_MM)
    return [
        f"{bus.name}: bare tinned wire, 16 AWG or thicker, cut {length_mm:g} mm, pulled straight; from {corners} mm, "
        f"{bus.height_mm:g} mm above the plate. It is carried where it is soldered and touches the metal nowhere."
    ]
