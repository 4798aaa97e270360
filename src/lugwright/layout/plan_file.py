"""The plan as text and back: machine-written JSON, one record a line, stable order, millimeters to 0.1."""

from __future__ import annotations

import hashlib
import json
import math
from collections.abc import Mapping
from dataclasses import MISSING, fields
from typing import Any, TypeVar, get_type_hints

from lugwright.buildfile.build import Build, Bus, Part, Pot, Resistor, Strip, Tube
from lugwright.errors import PlanError
from lugwright.layout.board import body_size
from lugwright.layout.joint_classes import JointFacts
from lugwright.layout.results import Plan, PlanTerminal, SeatedPart, Wire

FORMAT = "lugwright plan"
VERSION = 2
_SCALARS: tuple[type, ...] = (str, int, float, bool)
_Record = TypeVar("_Record", PlanTerminal, SeatedPart, Wire, Strip, Bus)


def plan_fingerprint(build: Build, facts: Mapping[str, JointFacts]) -> str:
    """Return a short text that changes when anything does that a plan depends on: joints, bodies, places, volts."""
    seen = [
        [p.name, p.kind, _what_counts(p), [[str(t), t.joint, list(t.pins)] for t in p.terminals], list(body_size(p))]
        for p in build.parts
    ]
    places = {name: [list(p.at), p.turn, p.panel] for name, p in build.placements.items()}
    strips = [[s.name, s.lugs, list(s.feet), list(s.at), s.turn, s.type] for s in build.strips]
    buses = [[b.name, b.joint, [list(p) for p in b.points], b.height_mm] for b in build.buses]
    size = [build.chassis.width_mm, build.chassis.depth_mm, build.chassis.height_mm] if build.chassis else []
    levels = {joint: [fact.name, round(fact.dc_v), round(fact.ac_v)] for joint, fact in facts.items()}
    wishes = [build.wishes.between, build.wishes.on, build.wishes.keep_off, build.wishes.weights, build.wishes.shield]
    told: list[object] = [wishes] if build.wishes else []
    told += [[[s.name, s.joint, list(s.at), s.lugs, s.height_mm] for s in build.stars]] if build.stars else []
    every = [VERSION, build.title, seen, places, strips, buses, size, levels, *told]
    text = json.dumps(every, sort_keys=True, default=dict)
    return hashlib.sha256(text.encode()).hexdigest()[:16]


def _what_counts(part: Part) -> str:
    """Return what a plan may depend on in a part besides its body: not the ohms of a resistor."""
    if isinstance(part.values, Resistor | Pot):
        return ""
    return part.values.type.name if isinstance(part.values, Tube) else repr(part.values)


def plan_to_text(plan: Plan) -> str:
    """Return a plan as text; the same plan always gives the same bytes."""
    head = {"format": FORMAT, "version": VERSION, "build": plan.build, "fingerprint": plan.fingerprint}
    lines = [f" {json.dumps(name)}: {_text(value)}" for name, value in head.items()]
    for name, records in (("terminals", plan.terminals.values()), ("seats", plan.seats), ("wires", plan.wires)):
        rows = ",\n".join(f"  {_text(_row(record))}" for record in records)
        lines.append(f" {json.dumps(name)}: [\n{rows}\n ]" if rows else f" {json.dumps(name)}: []")
    for name, proposed in (("strips", plan.strips), ("buses", plan.buses)):
        rows = ",\n".join(f"  {_text(_without_line(record))}" for record in proposed)
        lines.append(f" {json.dumps(name)}: [\n{rows}\n ]" if rows else f" {json.dumps(name)}: []")
    rest = {"spare_lugs": list(plan.spare_lugs), "cost": dict(plan.cost), "notes": list(plan.notes)}
    lines += [f" {json.dumps(name)}: {_text(value)}" for name, value in rest.items()]
    return "{\n" + ",\n".join(lines) + "\n}\n"


def _text(value: object) -> str:
    return json.dumps(value, ensure_ascii=False, allow_nan=False)


def _row(record: PlanTerminal | SeatedPart | Wire) -> dict[str, object]:
    return {f.name: getattr(record, f.name) for f in fields(record)}


def _without_line(record: Strip | Bus) -> dict[str, object]:
    """Return a proposed strip or bus as a row; it stands on no line of the build file."""
    return {f.name: getattr(record, f.name) for f in fields(record) if f.name != "place"}


def wire_to_record(wire: Wire) -> dict[str, Any]:
    """Return a wire as plain lists, numbers and texts, as a plan file has it."""
    record: dict[str, Any] = json.loads(_text(_row(wire)))
    return record


def wire_from_record(record: Mapping[str, Any], file: str) -> Wire:
    """Return the wire of a record; what an earlier version did not write is as it was then.

    Raises
    ------
    PlanError
        The record is none of a wire.
    """
    known = {
        f.name: record.get(f.name, f.default) for f in fields(Wire) if f.name in record or f.default is not MISSING
    }
    return _record(json.loads(json.dumps(known)), Wire, f"wire {record.get('number')}", file)


def plan_from_text(text: str, file: str) -> Plan:
    """Return the plan a text holds; PlanError names the first thing that is not as this program writes it."""
    data = _parsed(text, file)
    wanted = {
        "format", "version", "build", "fingerprint", "terminals", "seats", "wires", "strips", "buses", "spare_lugs",
        "cost", "notes",
    }  # fmt: skip
    if set(data) != wanted:
        odd = sorted(wanted ^ set(data))
        raise _broken(file, f"entries missing or unknown: {', '.join(odd)}", f"exactly {', '.join(sorted(wanted))}")
    terminals = [
        _record(row, PlanTerminal, f"terminals[{i}]", file) for i, row in enumerate(_list(data, "terminals", file))
    ]
    plan = Plan(
        build=_checked(data["build"], str, "build", file),
        terminals={t.key: t for t in terminals},
        seats=tuple(_record(row, SeatedPart, f"seats[{i}]", file) for i, row in enumerate(_list(data, "seats", file))),
        wires=tuple(_record(row, Wire, f"wires[{i}]", file) for i, row in enumerate(_list(data, "wires", file))),
        spare_lugs=_checked(data["spare_lugs"], tuple[str, ...], "spare_lugs", file),
        cost={k: _checked(v, float, f"cost.{k}", file) for k, v in _checked_map(data["cost"], file).items()},
        notes=_checked(data["notes"], tuple[str, ...], "notes", file),
        fingerprint=_checked(data["fingerprint"], str, "fingerprint", file),
        strips=tuple(_record(row, Strip, f"strips[{i}]", file) for i, row in enumerate(_list(data, "strips", file))),
        buses=tuple(_record(row, Bus, f"buses[{i}]", file) for i, row in enumerate(_list(data, "buses", file))),
    )
    if len(plan.terminals) != len(terminals):
        raise _broken(file, "a terminal is listed twice", "each terminal once")
    _whole(plan, file)
    return plan


def _parsed(text: str, file: str) -> dict[str, Any]:
    try:
        data = json.loads(text, object_pairs_hook=_no_doubles, parse_constant=_no_constant)
    except (ValueError, RecursionError) as error:
        raise _broken(file, str(error) or "nested too deep", "the text as it was written") from None
    if not isinstance(data, dict) or data.get("format") != FORMAT:
        raise _broken(file, "no plan of this program", f'"format": "{FORMAT}"')
    if data.get("version") not in (1, VERSION) or data["version"] is True:
        raise _broken(file, f"version {data.get('version')!r}", f"version {VERSION}, or 1")
    return _from_version_1(data) if data["version"] == 1 else data


def _from_version_1(data: dict[str, Any]) -> dict[str, Any]:
    """Return an old plan in the new form: it knows no shielded wire, and everything of it that fits is kept."""
    if isinstance(data.get("wires"), list):
        new = {"shield": "", "jacket_mm": [0.0, 0.0]}
        data["wires"] = [row | new if isinstance(row, dict) else row for row in data["wires"]]
    return data | {"version": VERSION}


def _no_doubles(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found = dict(pairs)
    if len(found) != len(pairs):
        raise ValueError("an entry is written twice")
    return found


def _no_constant(name: str) -> float:
    raise ValueError(f"{name} is not a number")


def _broken(file: str, found: str, wanted: str) -> PlanError:
    return PlanError(
        what=f"{file} cannot be read as a plan",
        found=found[:200],
        wanted=wanted,
        do="delete the file and plan again; it is written by the program and not meant to be edited",
    )


def _list(data: Mapping[str, Any], name: str, file: str) -> list[Any]:
    rows = data[name]
    if not isinstance(rows, list):
        raise _broken(file, f"{name} is no list", "a list of records")
    return rows


def _checked_map(value: Any, file: str) -> dict[str, Any]:
    if not isinstance(value, dict):
        raise _broken(file, "cost is no table", "a table of numbers")
    return value


def _record(row: Any, kind: type[_Record], where: str, file: str) -> _Record:
    hints = {name: hint for name, hint in get_type_hints(kind).items() if name != "place"}
    if not isinstance(row, dict) or set(row) != set(hints):
        raise _broken(file, f"{where} has other entries than it should", f"exactly {', '.join(hints)}")
    return kind(**{name: _checked(row[name], hint, f"{where}.{name}", file) for name, hint in hints.items()})


def _checked(value: Any, hint: Any, where: str, file: str) -> Any:
    """Return a value as the type it must have; lists become tuples."""
    found = _as_type(value, hint)
    if found is None:
        raise _broken(file, f"{where} = {json.dumps(value)[:60]}", _in_words(hint))
    return found


def _as_type(value: Any, hint: Any) -> Any:
    if hint is float:
        number = isinstance(value, int | float) and not isinstance(value, bool) and math.isfinite(value)
        return float(value) if number else None
    if hint in _SCALARS:
        return value if type(value) is hint else None
    if not isinstance(value, list):
        return None
    inner = hint.__args__
    if len(inner) == 2 and inner[1] is Ellipsis:
        items = [_as_type(item, inner[0]) for item in value]
    elif len(inner) == len(value):
        items = [_as_type(item, kind) for item, kind in zip(value, inner, strict=True)]
    else:
        return None
    return None if any(item is None for item in items) else tuple(items)


def _in_words(hint: Any) -> str:
    return {str: "a text", int: "a whole number", float: "a number"}.get(hint, "a list as this program writes it")


def _whole(plan: Plan, file: str) -> None:
    """Raise PlanError when a record names a terminal that is not there."""
    users: list[tuple[str, tuple[str, ...]]] = [(s.part, s.terminals) for s in plan.seats]
    users += [(f"W{w.number}", w.terminals) for w in plan.wires]
    users += [("spare lugs", plan.spare_lugs)]
    for user, keys in users:
        for key in keys:
            if key not in plan.terminals:
                raise _broken(file, f"{user} uses terminal {key}, which is not listed", "every terminal listed")
    if len({w.number for w in plan.wires}) != len(plan.wires):
        raise _broken(file, "two wires have one number", "each wire its own number")
