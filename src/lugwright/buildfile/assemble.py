"""From the tables of a build file to a `Build`: parts, ready-made stages, joints, metalwork."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from lugwright.buildfile import build as b
from lugwright.buildfile import records as w
from lugwright.buildfile.checks import check_build
from lugwright.buildfile.consistency import consistent
from lugwright.buildfile.fitted import Ends, fitted_part, fitted_tube
from lugwright.buildfile.joints import Joints, looks_like_terminal, plain_terminal
from lugwright.buildfile.kinds import kind_of
from lugwright.buildfile.locate import KeyPath
from lugwright.buildfile.metalwork import buses_of, chassis_of, left_open_of, placements_of, stars_of, strips_of
from lugwright.buildfile.mistakes import Mistakes
from lugwright.buildfile.ready_made.maker import DESIGNATOR
from lugwright.buildfile.stages import StageParts, stage_parts
from lugwright.buildfile.tables import table_of, validated
from lugwright.buildfile.torn import TornParts
from lugwright.buildfile.wishes import wishes_of
from lugwright.catalogue.records import TubeType, adjustments_of
from lugwright.errors import CatalogueError, LugwrightError
from lugwright.findings import Grade

FORMAT = 1
TOP_KEYS = ("format", "build", "tubes", "stage", "ready", "joints", "chassis", "place", "strips", "bus", "star", "plan")


@dataclass
class _Piece:
    """One part on its way: its record, its terminals as written, where it stands."""

    name: str
    kind: str
    stage: str
    path: KeyPath
    values: b.Fitted
    ends: Ends
    note: str
    unused: tuple[str, ...] = field(default=())


def assemble(data: Mapping[str, Any], mistakes: Mistakes) -> b.Build | None:
    """Return the build, or None when its frame (title, mains) cannot be read; mistakes are collected."""
    _check_top(data, mistakes)
    head = validated(data.get("build", {}), ("build",), w.HeadWritten, "[build]", mistakes)
    stages = _stages(data, mistakes)
    pieces = [*_tubes(data, mistakes), *_parts(stages, mistakes)]
    pieces = _without_doubles(pieces, mistakes)
    torn = _torn(data, stages, {piece.name for piece in pieces}, mistakes)
    broken = set(torn.written)
    joints = _joined(data, stages, pieces, broken, mistakes)
    if head is None:
        return None
    parts = _finished(pieces, stages, joints, mistakes)
    strips, open_strips = strips_of(data, mistakes)
    buses, open_buses = buses_of(data, joints, mistakes)
    build = b.Build(
        title=head.title,
        file=mistakes.file,
        mains_v=float(head.mains.volts),
        mains_hz=float(head.mains.hertz),
        parts=parts,
        stages=tuple(
            b.Stage(s.name, s.title, s.duty, tuple(p.name for p in parts if p.stage == s.name)) for s in stages
        ),
        joints=_by_joint(parts),
        chassis=chassis_of(data, mistakes),
        placements=placements_of(data, {p.name for p in pieces} | broken, mistakes),
        strips=strips,
        buses=buses,
        stars=stars_of(data, joints, [*(bus.joint for bus in buses), *(bus.joint for bus in open_buses)], mistakes),
        left_open=left_open_of(data, open_strips, open_buses),
    )
    build = replace(build, wishes=wishes_of(data, build, joints, broken, mistakes))
    paths, unused = {p.name: p.path for p in pieces}, {p.name: p.unused for p in pieces}
    check_build(build, joints, paths, unused, mistakes, torn)
    return build


def _torn(data: Mapping[str, Any], stages: list[StageParts], read: set[str], mistakes: Mistakes) -> TornParts:
    """Return the parts that the file writes and that could not be read."""
    tubes = data.get("tubes")
    written: dict[str, tuple[Any, KeyPath]] = {}
    if isinstance(tubes, dict):
        written.update((name, (raw, ("tubes", name))) for name, raw in tubes.items())
    for stage in stages:
        written.update(stage.parts)
    torn = {name: part for name, part in written.items() if name not in read}
    grave = [f for f in mistakes.findings if f.grade in (Grade.FAULT, Grade.DANGER)]
    return TornParts(torn, all(f.part in torn for f in grave))


def _check_top(data: Mapping[str, Any], mistakes: Mistakes) -> None:
    for key in data:
        if key not in TOP_KEYS:
            close = mistakes.nearest(key, TOP_KEYS)
            mistakes.add(
                "unknown-key",
                (key,),
                what=f"unknown section {key!r}",
                found=key,
                wanted=f"one of {', '.join(TOP_KEYS)}",
                do=f"write {close!r}" if close else "take it out, or correct its name",
            )
    if data.get("format") != FORMAT or isinstance(data.get("format"), bool):
        found = repr(data["format"]) if "format" in data else "no format line"
        mistakes.add(
            "format",
            ("format",),
            what="this program reads build files of format 1",
            found=found,
            wanted="format = 1",
            do="write format = 1 as the first line",
        )


def _stages(data: Mapping[str, Any], mistakes: Mistakes) -> list[StageParts]:
    tables = table_of(data, "stage", mistakes)
    if not tables:
        mistakes.add(
            "no-stage",
            ("stage",),
            what="the build has no stage",
            found="no [stage.NAME]",
            wanted="at least one stage with parts",
            do="group the parts under [stage.NAME]",
        )
    ready = table_of(data, "ready", mistakes)
    return [stage_parts(name, raw, 100 * k, ready, mistakes) for k, (name, raw) in enumerate(tables.items(), start=1)]


def _tubes(data: Mapping[str, Any], mistakes: Mistakes) -> list[_Piece]:
    pieces = []
    for name, raw in table_of(data, "tubes", mistakes).items():
        path: KeyPath = ("tubes", name)
        if not DESIGNATOR.fullmatch(name) or not name.startswith("V"):
            mistakes.add(
                "bad-designator",
                path,
                part=name,
                what=f"{name!r} is no designator of a tube",
                found=name,
                wanted="V and a number, e.g. V1",
                do="rename it",
            )
            continue
        table = {"type": raw} if isinstance(raw, str) else raw
        written = validated(table, path, w.TubeWritten, name, mistakes, name)
        if written is None:
            continue
        try:
            values, ends = fitted_tube(written)
        except CatalogueError as error:
            _refuse(error, "unknown-tube", path, name, mistakes)
            continue
        _check_measured(written, values.type, path, mistakes)
        pieces.append(_Piece(name, "tube", "", path, values, ends, written.note, tuple(written.unused)))
    return pieces


def _check_measured(written: w.TubeWritten, kind: TubeType, path: KeyPath, mistakes: Mistakes) -> None:
    """Tell of a section the tube does not have, and of figures that mean nothing for its kind."""
    letters = [section.letter for section in kind.sections]
    for key, letter in (("measured_a", "a"), ("measured_b", "b")):
        if getattr(written, key) is not None and letter not in letters:
            mistakes.add(
                "bad-value",
                (*path, key),
                part=str(path[-1]),
                what=f"{path[-1]}: the {kind.name} has no section {letter}",
                found=key,
                wanted="measured",
                do="write it under measured",
            )
    useful = adjustments_of(kind.law) if kind.law is not None else ()
    for key in ("measured", "measured_a", "measured_b"):
        table = getattr(written, key)
        for figure in sorted(table.model_fields_set) if table is not None else ():
            if figure not in useful:
                mistakes.add(
                    "bad-value",
                    (*path, key, figure),
                    part=str(path[-1]),
                    what=f"{path[-1]}: {figure} means nothing for the {kind.name}",
                    found=f"{figure} = {getattr(table, figure):g}",
                    wanted=f"one of {', '.join(useful)}" if useful else "no measured figures",
                    do="take it out",
                )


def _refuse(error: LugwrightError, rule: str, path: KeyPath, part: str, mistakes: Mistakes) -> None:
    mistakes.add(
        rule, path, part=part, what=f"{part}: {error.what}", found=error.found, wanted=error.wanted, do=error.do
    )


def _parts(stages: list[StageParts], mistakes: Mistakes) -> list[_Piece]:
    pieces = []
    for stage in stages:
        for name, (raw, path) in stage.parts.items():
            piece = _part(name, raw, stage.name, path, mistakes)
            if piece is not None:
                pieces.append(piece)
    return pieces


def _part(name: str, raw: Any, stage: str, path: KeyPath, mistakes: Mistakes) -> _Piece | None:
    if not isinstance(raw, dict):
        validated(raw, path, w.PartWritten, name, mistakes, name)
        return None
    kind = kind_of(name, raw)
    if kind not in w.PART_KINDS:
        close = mistakes.nearest(str(kind), w.PART_KINDS)
        where = (*path, "kind") if "kind" in raw else path
        mistakes.add(
            "unknown-kind",
            where,
            part=name,
            what=f"{name}: unknown kind of part",
            found=str(kind),
            wanted=f"one of {', '.join(w.PART_KINDS)}",
            do=f"write {close!r}" if close else "write kind = ... there",
        )
        return None
    written = validated(raw, path, w.PART_KINDS[kind], name, mistakes, name)
    if written is None or not consistent(name, written, path, mistakes):
        return None
    try:
        values, ends = fitted_part(written)
    except CatalogueError as error:
        _refuse(error, "no-such-body", path, name, mistakes)
        return None
    plain = {"mains inlet": "inlet", "reverb tank": "tank", "Zener diode": "diode"}.get(kind, kind)
    plain = "transformer" if plain.endswith("transformer") else plain
    return _Piece(name, plain, stage, path, values, ends, written.note)


def _without_doubles(pieces: list[_Piece], mistakes: Mistakes) -> list[_Piece]:
    seen: dict[str, _Piece] = {}
    for piece in pieces:
        if piece.name in seen:
            first = mistakes.place(seen[piece.name].path)
            mistakes.add(
                "double-designator",
                piece.path,
                part=piece.name,
                what=f"{piece.name} is used twice",
                found=f"another {piece.name} in line {first.line}",
                wanted="each designator once",
                do="give one of them another number",
            )
        else:
            seen[piece.name] = piece
    return list(seen.values())


def _joined(
    data: Mapping[str, Any], stages: list[StageParts], pieces: list[_Piece], broken: set[str], mistakes: Mistakes
) -> Joints:
    joints = Joints()
    for piece in pieces:
        for name, section, _, joint in piece.ends:
            joints.terminal(f"{piece.name}{section}.{name}")
            if joint:
                joints.join(plain_terminal(joint), f"{piece.name}{section}.{name}", piece.path)
    for piece in pieces:
        _same_pins(piece, joints)
    groups: list[tuple[Any, KeyPath]] = [(g, p) for stage in stages for g, p in stage.joined]
    for name, members in table_of(data, "joints", mistakes).items():
        groups.append(([name, *members] if isinstance(members, list) else members, ("joints", name)))
    for group, path in groups:
        if not isinstance(group, list) or len(group) < 2 or not all(isinstance(x, str) and x for x in group):
            mistakes.add(
                "bad-value",
                path,
                what="joined is not a list of joints",
                found=repr(group)[:60],
                wanted='at least two names, e.g. ["V4a.cathode", "V4b.cathode"]',
                do="correct the list",
            )
            continue
        for other in group[1:]:
            joints.join(plain_terminal(group[0]), plain_terminal(other), path)
    tubes = {p.name: {e[0] for e in p.ends} for p in pieces if p.kind == "tube"}
    for stage in stages:
        for one, two, tube in stage.heaters:
            tapped = "heater_tap" in tubes.get(tube, set())
            joints.join(one, f"{tube}.heater1", stage.path)
            joints.join(one if tapped else two, f"{tube}.heater2", stage.path)
            if tapped:
                joints.join(two, f"{tube}.heater_tap", stage.path)
    for one, two, path in joints.clashes:
        _clash(one, two, path, mistakes)
    of_part = _terminals_of_parts(joints)
    for name, path in joints.unknown():
        part = name.split(".")[0]
        if part not in broken and part.rstrip("ab") not in broken:
            _unknown_terminal(name, path, of_part.get(part.rstrip("ab"), []), joints, mistakes)
    return joints


def _same_pins(piece: _Piece, joints: Joints) -> None:
    """Two electrodes on one pin (filament and cathode of a rectifier) are one joint."""
    by_pin: dict[int, str] = {}
    for name, section, pins, _ in piece.ends:
        for pin in pins:
            terminal = f"{piece.name}{section}.{name}"
            if pin in by_pin:
                joints.join(by_pin[pin], terminal, piece.path)
            by_pin.setdefault(pin, terminal)


def _clash(one: str, two: str, path: KeyPath, mistakes: Mistakes) -> None:
    bond = f'W1 = {{ purpose = "...", ends = ["{one}", "{two}"] }}'
    shorted = two.startswith("B+")
    mistakes.add(
        "supply-shorted" if shorted else "reserved-joined",
        path,
        grade=Grade.DANGER,
        what=f"{two} is joined to {one}" if shorted else f"{one} and {two} are joined by name",
        found=f"{one} and {two} as one joint",
        wanted="a supply that nothing shorts" if shorted else f"two joints; a wire between them is a part: {bond}",
        do="correct the names that are joined" if shorted else "take the name out, or write the bond",
    )


def _terminals_of_parts(joints: Joints) -> dict[str, list[str]]:
    found: dict[str, list[str]] = {}
    for terminal in joints.terminals:
        found.setdefault(terminal.split(".")[0].rstrip("ab"), []).append(terminal)
    return found


def _unknown_terminal(name: str, path: KeyPath, own: list[str], joints: Joints, mistakes: Mistakes) -> None:
    part = name.split(".")[0]
    close = mistakes.nearest(name, own or joints.terminals)
    wanted = f"one of {', '.join(own)}" if own else "a terminal of a part in this file, or a name of your own"
    mistakes.add(
        "unknown-terminal",
        path,
        part=part,
        what=f"there is no terminal {name}",
        found=name,
        wanted=wanted,
        do=f"write {close!r}" if close else "correct the name",
    )


def _finished(pieces: list[_Piece], stages: list[StageParts], joints: Joints, mistakes: Mistakes) -> tuple[b.Part, ...]:
    order = {stage.name: k for k, stage in enumerate(stages)}
    homes = _tube_stages(pieces, stages)
    parts = []
    for piece in pieces:
        stage = piece.stage or homes.get(piece.name, stages[0].name if stages else "")
        terminals = tuple(
            b.Terminal(piece.name, name, joints.name_of(f"{piece.name}{section}.{name}"), section, tuple(pins))
            for name, section, pins, _ in piece.ends
        )
        parts.append(
            b.Part(piece.name, piece.kind, stage, piece.values, terminals, mistakes.place(piece.path), piece.note)
        )
    return tuple(sorted(parts, key=lambda p: order.get(p.stage, 99)))


def _tube_stages(pieces: list[_Piece], stages: list[StageParts]) -> dict[str, str]:
    """Return for each tube the stage that names one of its electrodes first, heaters aside."""
    named: dict[str, list[str]] = {stage.name: [] for stage in stages}
    for piece in pieces:
        if piece.stage:
            named[piece.stage] += [joint for *_, joint in piece.ends]
    for stage in stages:
        groups = [group for group, _ in stage.joined if isinstance(group, list)]
        named[stage.name] += [joint for group in groups for joint in group if isinstance(joint, str)]
    homes: dict[str, str] = {}
    for name, joints in named.items():
        for joint in joints:
            if looks_like_terminal(joint) and joint.startswith("V") and ".heater" not in joint:
                homes.setdefault(joint.split(".")[0].rstrip("ab"), name)
    return homes


def _by_joint(parts: tuple[b.Part, ...]) -> dict[str, tuple[b.Terminal, ...]]:
    found: dict[str, list[b.Terminal]] = {}
    for part in parts:
        for terminal in part.terminals:
            found.setdefault(terminal.joint, []).append(terminal)
    return {joint: tuple(terminals) for joint, terminals in found.items()}
