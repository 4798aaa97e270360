"""What one stage of a build has to draw: two-lead pieces, blocks of several terminals, and what its joints are."""

from __future__ import annotations

import re
from dataclasses import dataclass

from lugwright.buildfile.build import (
    CHASSIS,
    EARTH,
    GROUND,
    Bond,
    Bridge,
    Build,
    Can,
    Capacitor,
    Choke,
    Diode,
    Fuse,
    Inlet,
    Jack,
    Lamp,
    Part,
    Pot,
    Speaker,
    Stage,
    Switch,
    Tank,
    Thermistor,
    Transformer,
    Tube,
)  # fmt: skip
from lugwright.buildfile.part_words import short_unit, value_words
from lugwright.circuit.operating import Idle
from lugwright.documents.drawings import circuit_symbols as symbols
from lugwright.documents.drawings.circuit_symbols import Symbol
from lugwright.documents.drawings.circuit_transformer import transformer

SIGNS = (GROUND, CHASSIS, EARTH)  # joints drawn as a sign wherever they occur
_HEATER = ("heater1", "heater2", "heater_tap")


@dataclass(frozen=True)
class Piece:
    """Something with two leads: a whole part, a can's section, a switch contact, a heater."""

    key: str
    kind: str
    ends: tuple[str, str]
    words: tuple[str, ...]


@dataclass(frozen=True)
class Block:
    """Something with several terminals; ``joints`` by terminal, open ones left out."""

    key: str
    symbol: Symbol
    joints: dict[str, str]
    words: tuple[str, ...]
    source: bool = False  # the signal comes from here


@dataclass(frozen=True)
class StagePieces:
    """Everything of one stage and how its joints are to be shown."""

    pieces: tuple[Piece, ...]
    blocks: tuple[Block, ...]
    heaters: tuple[Piece, ...]
    up: frozenset[str]  # supply joints: a flag at the top
    down: frozenset[str]  # bias joints and grounds: a flag or sign at the bottom
    outside: frozenset[str]  # joints that go on in another stage
    entering: frozenset[str]  # those of them that an earlier stage already has


def section_stages(build: Build) -> dict[str, str]:
    """Return the stage each tube section is drawn in: where most parts at its electrodes stand."""
    order = [stage.name for stage in build.stages]
    found: dict[str, str] = {}
    for part in build.parts:
        if isinstance(part.values, Tube):
            for section in part.values.type.sections:
                votes: dict[str, int] = {}
                for terminal in part.terminals:
                    weight = {"plate": 2, "cathode": 2}.get(terminal.name, 1)
                    if terminal.section == section.letter and terminal.name not in _HEATER:
                        for stage in _stages_at(build, terminal.joint):
                            votes[stage] = votes.get(stage, 0) + weight
                best = max(votes.values(), default=0)
                winners = [name for name in order if votes.get(name) == best and best]
                found[part.name + section.letter] = winners[0] if winners else part.stage
    return found


def _stages_at(build: Build, joint: str) -> set[str]:
    if joint in SIGNS or len(build.joints.get(joint, ())) > 8:
        return set()
    parts = (build.part(terminal.part) for terminal in build.joints.get(joint, ()))
    return {part.stage for part in parts if not isinstance(part.values, Tube | Transformer)}


def stage_pieces(build: Build, stage: Stage, idle: Idle, homes: dict[str, str]) -> StagePieces:
    """Return what a stage has to draw."""
    pieces: list[Piece] = []
    blocks: list[Block] = []
    springs = {t.joint for p in build.parts if isinstance(p.values, Tank) for t in p.terminals if t.name == "out"}
    for part in build.parts:
        if isinstance(part.values, Tube):
            blocks += [b for b in _sections(part) if homes[b.key] == stage.name]
        elif part.stage == stage.name:
            source = stage.duty == "input" or any(t.name == "tip" and t.joint in springs for t in part.terminals)
            found, made = _fitted(part, source=source)
            pieces += found
            blocks += made
    heaters = tuple(_heaters(build, stage))
    used = [j for p in (*pieces, *heaters) for j in p.ends] + [j for b in blocks for j in b.joints.values()]
    joints = [joint for joint in dict.fromkeys(used) if joint and joint not in SIGNS]
    mine = {piece.key.split(".")[0] for piece in pieces} | {block.key.split(".")[0] for block in blocks}
    outside = {j for j in joints if any(t.part + t.section not in mine for t in build.joints.get(j, ()))}
    outside |= {b.joints.get(port.terminal, "") for b in blocks for port in b.symbol.ports if port.way == "F"}
    outside |= {joint for joint in joints if used.count(joint) == 1} | {j for heater in heaters for j in heater.ends}
    outside -= {"", *SIGNS}
    up, down = _rails(build, stage, idle, outside)
    begins = _fed_by_mains if stage.duty in ("supply", "bias") else _earlier
    entering = frozenset(joint for joint in outside if begins(build, stage, joint))
    return StagePieces(tuple(pieces), tuple(blocks), heaters, up, down | frozenset(SIGNS), frozenset(outside), entering)


def _fed_by_mains(build: Build, stage: Stage, joint: str) -> bool:
    """Return whether a joint of a supply hangs on a winding of the power transformer."""
    fitted = [build.part(t.part).values for t in build.joints.get(joint, ()) if build.part(t.part).stage != stage.name]
    return any(isinstance(values, Transformer) and values.role == "power" for values in fitted)


def _earlier(build: Build, stage: Stage, joint: str) -> bool:
    order = [s.name for s in build.stages]
    now = order.index(stage.name)
    stages = [build.part(terminal.part).stage for terminal in build.joints.get(joint, ())]
    return any(order.index(name) < now for name in stages if name in order)


def _rails(build: Build, stage: Stage, idle: Idle, outside: set[str]) -> tuple[frozenset[str], frozenset[str]]:
    if stage.duty in ("supply", "mains", "bias"):
        return frozenset(), frozenset()
    duties = {s.name: s.duty for s in build.stages}
    fed = {
        joint
        for joint in outside
        if any(duties.get(build.part(t.part).stage) in ("supply", "bias") for t in build.joints.get(joint, ()))
    }
    volts = {joint: idle.joints[joint].volts for joint in fed if joint in idle.joints}
    up = frozenset(joint for joint in fed if volts.get(joint, 0.0) > 20.0)
    return up, frozenset(joint for joint in fed if volts.get(joint, 0.0) < -5.0)


def _sections(part: Part) -> list[Block]:
    values = part.values
    if not isinstance(values, Tube):
        return []
    made = []
    for section in values.type.sections:
        joints = {t.name: t.joint for t in part.terminals if t.section == section.letter and t.name not in _HEATER}
        pins = {name: ",".join(str(pin) for pin in numbers) for name, numbers in section.pins.items()}
        if "plate1" in pins:
            pins.setdefault("cathode", str(values.type.heater.pins.get("heater2", "")))
            joints.setdefault("cathode", next((t.joint for t in part.terminals if t.name == "heater2"), ""))
            symbol = symbols.rectifier(pins)
        else:
            symbol = symbols.pentode(pins) if "screen" in pins else symbols.triode(pins)
        kept = {name: joint for name, joint in joints.items() if joint}
        made.append(Block(part.name + section.letter, symbol, kept, (part.name + section.letter, values.type.name)))
    return made


def _two(part: Part, kind: str, *words: str) -> Piece:
    first, second = part.terminals[0], part.terminals[1]
    return Piece(part.name, kind, (first.joint or str(first), second.joint or str(second)), (part.name, *words))


def _split(part: Part) -> tuple[str, ...]:
    """Return the value in two short lines: value, rating."""
    words = re.sub(r" \(.*\)$", "", value_words(part.values))
    found = re.fullmatch(r"(\S+ \S+) (.*)", words)
    return (found[1], found[2]) if found else (words,)


def _fitted(part: Part, *, source: bool) -> tuple[list[Piece], list[Block]]:
    """Return what a part other than a tube is drawn as; ``source``: the signal comes in here, were it a jack."""
    values = part.values
    joints = {t.name: t.joint for t in part.terminals if t.joint}
    match values:
        case Can():
            return _can(part, values), []
        case Pot():
            return _pot(part, values, joints)
        case Switch():
            return _switch(part, values, joints)
        case Jack():
            symbol = symbols.jack(switched=values.switched, mirrored=not source)
            return [], [Block(part.name, symbol, joints, (part.name, *_wrapped(values.label, 12)), source)]
        case Inlet():
            return [], [Block(part.name, symbols.inlet(), joints, (part.name, value_words(values)), True)]
        case Transformer():
            block = Block(part.name, transformer(values, joints), joints, (part.name, values.role, "transformer"))
            return [], [block]
        case Bridge() | Tank():
            symbol = symbols.rows_of_flags(tuple(t.name for t in part.terminals))
            return [], [Block(part.name, symbol, joints, (part.name, *_split(part)))]
    return [_two_lead(part)], []


def _two_lead(part: Part) -> Piece:
    values = part.values
    match values:
        case Capacitor():
            kind = "polar" if values.polar else "capacitor"
            return _two(part, kind, short_unit(values.farad, "F"), f"{values.volts:g} V")
        case Choke():
            return _two(part, "choke", short_unit(values.henry, "H"), short_unit(values.ohm, "Ω"))
        case Diode(zener_v=None):
            return _two(part, "diode", f"{values.inverse_v:g} V", f"{values.amps:g} A")
        case Diode():
            return _two(part, "zener", f"{values.zener_v:g} V", f"{values.watts:g} W")
        case Fuse():
            return _two(part, "fuse", f"{values.amps:g} A", values.speed)
        case Lamp():
            return _two(part, "lamp", f"{values.volts:g} V", f"{values.amps:g} A")
        case Thermistor():
            return _two(part, "thermistor", short_unit(values.cold_ohm, "Ω"), "cold")
        case Speaker():
            return _two(part, "speaker", short_unit(values.ohm, "Ω"), f"{values.watts:g} W")
        case Bond():
            return _two(part, "bond", *_wrapped(values.purpose, 24))
    return _two(part, "resistor", *_split(part))


def _wrapped(words: str, width: int) -> tuple[str, ...]:
    lines = [""]
    for word in words.split():
        if lines[-1] and len(lines[-1]) + len(word) + 1 > width:
            lines.append(word)
        else:
            lines[-1] = f"{lines[-1]} {word}".strip()
    return tuple(line for line in lines if line)


def _can(part: Part, values: Can) -> list[Piece]:
    minus = part.terminal("minus").joint
    return [
        Piece(f"{part.name}.{t.name}", "polar", (t.joint or str(t), minus),
              (f"{part.name}.{t.name}", short_unit(farad, "F"), f"{values.volts:g} V can"))
        for t, farad in zip(part.terminals, values.farads, strict=False)
    ]  # fmt: skip


def _pot(part: Part, values: Pot, joints: dict[str, str]) -> tuple[list[Piece], list[Block]]:
    words = tuple(w for w in (part.name, values.label, short_unit(values.ohm, "Ω"), values.taper) if w)
    one, wiper, three = (joints.get(name, "") for name in ("1", "2", "3"))
    contact = [t for t in part.terminals if t.name in ("s1", "s2")]
    extra = []
    if len(contact) == 2:
        kind = "contact closed" if values.switch_closed else "contact open"
        poles = (contact[0].joint or str(contact[0]), contact[1].joint or str(contact[1]))
        extra = [Piece(f"{part.name}.s", kind, poles, (f"{part.name} switch",))]
    ends = [joint for joint in dict.fromkeys((three, wiper, one)) if joint]
    if len(ends) == 2 and one != three:
        kind = "rheostat" if wiper else "resistor"
        return [Piece(part.name, kind, (ends[0], ends[1]), words), *extra], []
    top, bottom = ("1", "3") if three in SIGNS and one not in SIGNS else ("3", "1")
    kept = {name: joint for name, joint in joints.items() if name in ("1", "2", "3")}
    return extra, [Block(part.name, symbols.pot(top, bottom), kept, words)]


def _switch(part: Part, values: Switch, joints: dict[str, str]) -> tuple[list[Piece], list[Block]]:
    pieces, blocks = [], []
    for pole in range(1, values.poles + 1):
        key = f"{part.name}.{pole}"
        common = joints.get(f"{pole}.common", f"{key}.common")
        throws = [str(k) for k in range(1, len(values.positions) + 1) if joints.get(f"{pole}.{k}")]
        at = str(values.positions.index(values.position) + 1)
        words = (key, values.label)
        if len(throws) == 1:
            closed = "contact closed" if throws[0] == at else "contact open"
            state = f'closed: "{values.positions[int(throws[0]) - 1]}"'
            pieces.append(Piece(key, closed, (common, joints[f"{pole}.{throws[0]}"]), (*words, state)))
            continue
        mine = {f"{pole}.{k}": joints[f"{pole}.{k}"] for k in throws} | {f"{pole}.common": common}
        if len(throws) == 2:
            high, low = sorted(throws, key=lambda k: (mine[f"{pole}.{k}"] in SIGNS, int(k)))
            ends = (f"{pole}.{high}", f"{pole}.{low}")
            symbol = symbols.change_over(upper=at == high, throws=ends, common=f"{pole}.common")
            states = tuple(values.positions[int(k) - 1] for k in (high, low))
            blocks.append(Block(key, symbol, mine, (*words, f"up: {states[0]}", f"down: {states[1]}")))
        else:
            shown = throws or [str(k) for k in range(1, len(values.positions) + 1)]
            names = tuple(f"{pole}.{k}" for k in shown)
            states = tuple(f"{k}: {values.positions[int(k) - 1]}" for k in shown)
            symbol = symbols.rotary(names, common=f"{pole}.common", resting=f"{pole}.{at}")
            blocks.append(Block(key, symbol, mine, (*words, *states)))
    return pieces, blocks


def _heaters(build: Build, stage: Stage) -> list[Piece]:
    """Return the heaters of all tubes, drawn in the first heater stage."""
    first = next((s.name for s in build.stages if s.duty == "heater"), None)
    if stage.name != first:
        return []
    made = []
    for part in build.parts:
        if not isinstance(part.values, Tube):
            continue
        at = {t.name: (t.joint or str(t), t.pins[0]) for t in part.terminals if t.name in _HEATER}
        ends: dict[str, list[int]] = {}
        for joint, pin in at.values():
            ends.setdefault(joint, []).append(pin)
        heater = part.values.type.heater
        in_series = "heater_tap" in at and at["heater1"][0] != at["heater2"][0]
        volts = heater.volts * 2.0 if in_series else heater.volts
        amps = heater.amps / 2.0 if in_series else heater.amps
        names = [joint for joint in ends if len(ends) == 2 or joint in (at["heater1"][0], at["heater2"][0])]
        if len(names) == 2:
            pins = " to ".join("+".join(str(pin) for pin in ends[joint]) for joint in names)
            words = (f"{part.name} {part.values.type.name}", f"pins {pins}", f"{volts:g} V {amps:g} A")
            made.append(Piece(f"{part.name}.heater", "heater", (names[0], names[1]), words))
    return made
