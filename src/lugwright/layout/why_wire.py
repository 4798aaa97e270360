"""Why a wire runs between its two terminals: what it joins, and the next shortest ways to join the same."""

from __future__ import annotations

from lugwright.layout.explain_results import Choice, Why
from lugwright.layout.objective import WIRE_WEIGHT
from lugwright.layout.results import PlanTerminal, Wire
from lugwright.layout.standing import Standing
from lugwright.layout.why_words import listed

SHOWN = 3


def why_wire(standing: Standing, number: int) -> Why:
    """Return why a wire of the plan runs as it does."""
    wire = next(w for w in standing.plan.wires if w.number == number)
    subject = f"W{number}"
    here, decided = _here(standing, wire), _decided(standing, wire)
    if decided:
        return Why(subject, (*here, decided), _over(wire), ())
    choices = _choices(standing, wire)
    alone = () if choices else ("No other two terminals would join the same.",)
    return Why(subject, (*here, *alone), _over(wire), choices)


def _here(standing: Standing, wire: Wire) -> tuple[str, ...]:
    a, b = (standing.plan.terminals[key] for key in wire.terminals)
    weight = WIRE_WEIGHT.get(standing.board.facts[standing.joint[wire.joint]].name, 1.0)
    along = abs(a.x_mm - b.x_mm) + abs(a.y_mm - b.y_mm)
    return (
        f"W{wire.number} joins {a.label} and {b.label} ({wire.joint}), {wire.length_mm:.0f} mm of {wire.type}, "
        f"{wire.color}.",
        f"The two stand {along:.0f} mm apart along and across the plate; at {weight:g} a mm that counts "
        f"{along * weight:.0f}.",
    )


def _over(wire: Wire) -> tuple[str, ...]:
    return (f"It lies over {listed(wire.lies_over)}.",) if wire.lies_over else ()


def _decided(standing: Standing, wire: Wire) -> str:
    """Return what decided a wire before the search began, "" for nothing."""
    if wire.bond:
        return f"It is the bond {wire.bond} of the build file."
    ends = {standing.place[key] for key in wire.terminals}
    if any({a, b} == ends for _, a, b in standing.bench.chain):
        if wire.kind == "heater":
            return "It is part of the heater chain, which runs from tube to tube, the input tube last."
        return "It closes the loop of charging current on its capacitor before anything else meets there."
    return ""


def _choices(standing: Standing, wire: Wire) -> tuple[Choice, ...]:
    """Return the shortest other pairs of terminals that would join the same two pieces of the joint."""
    one, two = _pieces(standing, wire)
    weight = WIRE_WEIGHT.get(standing.board.facts[standing.joint[wire.joint]].name, 1.0)
    here = standing.board.distance[standing.place[wire.terminals[0]], standing.place[wire.terminals[1]]]
    pairs = sorted(
        (float(standing.board.distance[standing.place[a.key], standing.place[b.key]]), a.key, b.key)
        for a in one
        for b in two
        if {a.key, b.key} != set(wire.terminals)
    )
    found = []
    for apart, a, b in pairs[:SHOWN]:
        full = [key for key in (a, b) if key not in wire.terminals and _is_full(standing, key)]
        place = f"{standing.plan.terminals[a].label} and {standing.plan.terminals[b].label}"
        if full:
            key = full[0]
            held = listed(standing.plan.leads_at(key))
            found.append(Choice(place, None, f"{standing.plan.terminals[key].label} is full: {held}"))
        else:
            found.append(Choice(place, (apart - here) * weight, f"{apart:.0f} mm apart in place of {here:.0f} mm"))
    return tuple(found)


def _is_full(standing: Standing, key: str) -> bool:
    return len(standing.plan.leads_at(key)) >= standing.plan.terminals[key].capacity


def _pieces(standing: Standing, wire: Wire) -> tuple[list[PlanTerminal], list[PlanTerminal]]:
    """Return the terminals on either side of a wire, joined by the joint's other wires and by metal."""
    at = {t.key for t in standing.plan.terminals.values() if t.joint == wire.joint and t.capacity}
    links = [set(w.terminals) for w in standing.plan.wires if w.joint == wire.joint and w.number != wire.number]
    links += [{standing.board.terminals[t].key for t in bundle} for bundle in standing.board.bundles]
    sides = []
    for start in wire.terminals:
        reached, grew = {start}, True
        while grew:
            new = {key for link in links if link & reached for key in link} - reached
            reached |= new
            grew = bool(new)
        sides.append([standing.plan.terminals[key] for key in sorted(reached & at)])
    return sides[0], sides[1]
