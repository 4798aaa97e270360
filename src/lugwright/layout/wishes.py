"""The builder's wishes, obeyed or refused with the reason."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from lugwright.buildfile.build import Build
from lugwright.layout.holds import (
    Ends,
    Hold,
    Holds,
    Refusal,
    held_joint,
    raise_refusals,
    spread_out,
    unsuited,
)
from lugwright.layout.results import PlanTerminal


def wished(build: Build, terminals: Mapping[str, PlanTerminal], soldered: Holds) -> Holds:
    """Return everything that holds parts and lugs: what is soldered, and the wishes beside it.

    Raises
    ------
    PlanError
        A wish that cannot be obeyed, or several.
    """
    raise_refusals(list(_no_such_terminals(build, terminals)))
    refusals: list[Refusal] = []
    lugs = dict(soldered.lugs)
    for joint, keys in build.wishes.on.items():
        for key in keys:
            carried = held_joint(terminals, lugs, key)
            if carried not in ("", joint):
                refusals.append(_lug_taken(build, terminals, lugs, joint, key))
            elif not carried:
                lugs[key] = joint, wish_place(build, "on", joint)
    parts = {**soldered.parts}
    for name, pair in build.wishes.between.items():
        ends = _agreed(parts.get(name), pair)
        if not ends:
            refusals.append(_soldered_elsewhere(build, terminals, parts[name], name))
            continue
        parts[name] = Hold(ends, f"{name}, {wish_place(build, 'between', name)}")
    holds = Holds(parts, lugs)
    spread, unhappy = spread_out(build, terminals, holds)
    refusals += [_does_not_meet(build, terminals, spread, name) for name in unhappy if name in build.wishes.between]
    refusals += _kept_off(build, terminals, spread)
    raise_refusals(refusals)
    return Holds(parts, spread)


def wish_place(build: Build, table: str, key: str) -> str:
    """Return where a wish is written; one that no file says was put by hand, on the drawing."""
    line = wish_line(build, table, key)
    return f"[plan.{table}], {line}" if line else "put there by hand"


def wish_line(build: Build, table: str, key: str) -> str:
    """Return the line of the build file that a wish is on, "" where none is."""
    place = build.wishes.places.get(f"{table} {key}")
    return f"line {place.line}" if place else ""


def _no_such_terminals(build: Build, terminals: Mapping[str, PlanTerminal]) -> Iterator[Refusal]:
    wishes: list[tuple[str, str, tuple[str, ...]]] = [
        ("between", name, pair) for name, pair in build.wishes.between.items()
    ]
    wishes += [("on", joint, keys) for joint, keys in build.wishes.on.items()]
    for table, name, keys in wishes:
        for key in keys:
            if key in terminals and terminals[key].capacity > 0:
                continue
            owner = key.partition(".")[0]
            there = [t.key for t in terminals.values() if t.owner == owner and t.capacity > 0]
            yield Refusal(
                what=f"{name} cannot go to {key} ({wish_place(build, table, name)})",
                found=f"{terminals[key].label} must stay empty" if key in terminals else f"there is no {key}",
                wanted=f"one of {', '.join(there)}" if there else "a terminal of the plan",
                do="choose another terminal",
            )


def _lug_taken(
    build: Build, terminals: Mapping[str, PlanTerminal], lugs: Mapping[str, tuple[str, str]], joint: str, key: str
) -> Refusal:
    why = f" ({lugs[key][1]})" if key in lugs else ""
    return Refusal(
        what=f"{joint} cannot be on {terminals[key].label} ({wish_place(build, 'on', joint)})",
        found=f"it carries {held_joint(terminals, lugs, key)}{why}",
        wanted=f"a free lug, or a terminal of {joint}",
        do="choose another lug",
    )


def _agreed(soldered: Hold | None, pair: Ends) -> tuple[Ends, ...]:
    """Return both ways round, as far as solder allows."""
    ways = (pair, (pair[1], pair[0]))
    if soldered is None:
        return ways
    return tuple(
        way for way in ways if any(all(a in ("", b) for a, b in zip(ends, way, strict=True)) for ends in soldered.ends)
    )


def _soldered_elsewhere(build: Build, terminals: Mapping[str, PlanTerminal], hold: Hold, name: str) -> Refusal:
    at = " and ".join(terminals[key].label for key in hold.ends[0] if key)
    return Refusal(
        what=f"{name} cannot be moved ({wish_place(build, 'between', name)})",
        found=f"it is soldered to {at}",
        wanted="a part that is not in yet",
        do=f"unsolder {name}, tick that off, and plan again; or take the wish out",
    )


def _does_not_meet(
    build: Build, terminals: Mapping[str, PlanTerminal], lugs: Mapping[str, tuple[str, str]], name: str
) -> Refusal:
    pair = build.wishes.between[name]
    one, two = build.part(name).terminals[:2]
    between = " and ".join(terminals[key].label for key in pair)
    others = {key: held for key, held in lugs.items() if not held[1].startswith(f"{name}, ")}
    return Refusal(
        what=f"{name} cannot hang between {between} ({wish_place(build, 'between', name)})",
        found="; ".join(unsuited(build, terminals, others, name, pair)),
        wanted=f"one end on {one.joint}, the other on {two.joint}, or free lugs",
        do="choose two terminals of its joints, or free lugs",
    )


def _kept_off(
    build: Build, terminals: Mapping[str, PlanTerminal], lugs: Mapping[str, tuple[str, str]]
) -> Iterator[Refusal]:
    """Yield wishes that contradict each other: on a strip and off it."""
    for name, strips in build.wishes.keep_off.items():
        pinned = [key for key in build.wishes.between.get(name, ()) if terminals[key].owner in strips]
        pinned += [key for key, (joint, _) in lugs.items() if joint == name and terminals[key].owner in strips]
        for key in pinned[:1]:
            why = lugs[key][1] if key in lugs else wish_place(build, "between", name)
            yield Refusal(
                what=f"{name} cannot keep off strip {terminals[key].owner} ({wish_place(build, 'keep_off', name)})",
                found=f"it is on {terminals[key].label}: {why}",
                wanted="one of the two",
                do="take one of the two out",
            )
