"""Stages written out part by part, in the build file's own form."""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Iterator, Mapping
from typing import Any

from lugwright.buildfile.build import (
    Bond,
    Bridge,
    Build,
    Can,
    Capacitor,
    Choke,
    Diode,
    Fitted,
    Fuse,
    Inlet,
    Jack,
    Lamp,
    Part,
    Pot,
    Resistor,
    Speaker,
    Switch,
    Tank,
    Thermistor,
    Transformer,
    Tube,
    Winding,
)  # fmt: skip
from lugwright.catalogue.load import body_row
from lugwright.quantities import rkm

Keys = dict[str, Any]


def stages_text(build: Build) -> str:
    """Return every stage with each of its parts written out, as TOML."""
    return "\n\n".join("\n".join(_stage_lines(build, name)) for name in _stage_names(build)) + "\n"


def _stage_names(build: Build) -> list[str]:
    return list(dict.fromkeys([*(stage.name for stage in build.stages), *(part.stage for part in build.parts)]))


def _stage_lines(build: Build, name: str) -> Iterator[str]:
    heading = {stage.name: stage for stage in build.stages}.get(name)
    here = [part for part in build.parts if part.stage == name]
    parts = [part for part in here if not isinstance(part.values, Tube)]
    yield f"[stage.{_key(name)}]"
    if heading is not None:
        yield f"title = {_text(heading.title)}"
        yield f"duty = {_text(heading.duty)}"
    if joined := [group for part in here if isinstance(part.values, Tube) for group in _joined(part)]:
        yield f"joined = {_value(joined)}"
    for part in parts:
        if not isinstance(part.values, Transformer):
            yield f"{_key(part.name)} = {_inline(part_keys(part))}"
    for part in parts:
        if isinstance(part.values, Transformer):
            yield f"[stage.{_key(name)}.{_key(part.name)}]"
            yield from _transformer_lines(part, part.values)


def _joined(tube: Part) -> list[list[str]]:
    """Return the electrodes of a tube whose joint bears another name, each group behind that name."""
    groups: dict[str, list[str]] = {}
    for terminal in tube.terminals:
        if str(terminal) != terminal.joint:
            groups.setdefault(terminal.joint, []).append(str(terminal))
    return [[joint, *terminals] for joint, terminals in groups.items()]


def part_keys(part: Part) -> Keys:
    """Return what is written of a part: its kind, its values, its ends."""
    note = {"note": part.note} if part.note else {}
    return {"kind": _kind(part), **_VALUES[type(part.values)](part.values), **note, **_ends(part)}


def _kind(part: Part) -> str:
    """Return the word the reader knows the part by."""
    if isinstance(part.values, Transformer):
        return f"{part.values.role} transformer"
    if isinstance(part.values, Diode):
        return "diode" if part.values.zener_v is None else "Zener diode"
    return {"inlet": "mains inlet", "tank": "reverb tank"}.get(part.kind, part.kind)


def _ends(part: Part) -> Keys:
    values = part.values
    joints = {terminal.name: terminal.joint for terminal in part.terminals}
    if isinstance(values, Jack | Inlet):
        return dict(joints)
    if isinstance(values, Switch):
        return {"poles": _poles(values, joints)}
    if isinstance(values, Pot) and "s1" in joints:
        return {"ends": [joints[n] for n in ("1", "2", "3")], "switch": [joints["s1"], joints["s2"]]}
    return {"ends": list(joints.values())}


def _poles(values: Switch, joints: Mapping[str, str]) -> list[list[str]]:
    throws = range(1, len(values.positions) + 1)
    return [[joints.get(f"{pole}.{end}", "") for end in ("common", *throws)] for pole in range(1, values.poles + 1)]


def _transformer_lines(part: Part, values: Transformer) -> Iterator[str]:
    yield f"kind = {_text(_kind(part))}"
    yield f"magnetizing = {_value(values.magnetizing_h)}"
    yield f"leakage = {_value(values.leakage_h)}"
    if part.note:
        yield f"note = {_text(part.note)}"
    for winding in values.windings:
        yield f"windings.{_key(winding.name)} = {_inline(_winding(part, values, winding))}"


def _winding(part: Part, values: Transformer, winding: Winding) -> Keys:
    joints = {terminal.name: terminal.joint for terminal in part.terminals}
    measure = "volts" if values.role == "power" else "impedance" if winding.impedances_ohm else "turns"
    return {
        measure: list(winding.impedances_ohm or winding.turns),
        "ohms": list(winding.ohms),
        **({} if winding.amps is None else {"amps": winding.amps}),
        **({"colors": list(winding.colors)} if winding.colors else {}),
        "ends": [joints.get(end, joints.get(f"{winding.name}.{end}", "")) for end in winding.ends],
    }


def _percent(tolerance: float) -> float:
    return round(tolerance * 100.0, 6)


def _resistor(v: Resistor) -> Keys:
    return {
        "value": rkm(v.ohm, "ohm"),
        "watts": v.watts,
        "tolerance": _percent(v.tolerance),
        **({} if v.limiting_v == body_row(f"{v.style} resistor", watts=v.watts).volts else {"volts": v.limiting_v}),
        **({} if v.style == "metal film" else {"style": v.style}),
    }


def _capacitor(v: Capacitor) -> Keys:
    return {
        "value": rkm(v.farad, "farad"),
        "volts": v.volts,
        "style": v.style,
        "tolerance": _percent(v.tolerance),
    }


def _can(v: Can) -> Keys:
    values = [rkm(farad, "farad") for farad in v.farads]
    return {"values": values, "volts": v.volts, "tolerance": _percent(v.tolerance)}


def _pot(v: Pot) -> Keys:
    return {
        "label": v.label,
        "value": rkm(v.ohm, "ohm"),
        "taper": v.taper,
        "setting": v.setting,
        "watts": v.watts,
        "tolerance": _percent(v.tolerance),
    }


def _diode(v: Diode) -> Keys:
    if v.zener_v is not None:
        return {"zener_volts": v.zener_v, "watts": v.watts}
    return {"volts": v.inverse_v, "amps": v.amps}


def _jack(v: Jack) -> Keys:
    return {"label": v.label, "isolated": v.isolated, "switched": v.switched, "plug_in": v.plug_in}


def _switch(v: Switch) -> Keys:
    return {
        "label": v.label,
        "positions": list(v.positions),
        "position": v.position,
        "volts": v.volts,
        "amps": v.amps,
    }


_VALUES: dict[type[Fitted], Callable[[Any], Keys]] = {
    Resistor: _resistor,
    Capacitor: _capacitor,
    Can: _can,
    Pot: _pot,
    Choke: lambda v: {
        "value": rkm(v.henry, "henry"),
        "ohm": v.ohm,
        "amps": v.amps,
        **({"light": rkm(v.light_h, "henry")} if v.light_h else {}),
    },
    Diode: _diode,
    Bridge: lambda v: {"volts": v.inverse_v, "amps": v.amps},
    Jack: _jack,
    Switch: _switch,
    Fuse: lambda v: {"amps": v.amps, "speed": v.speed, "volts": v.volts, "ohm": v.ohm},
    Lamp: lambda v: {"volts": v.volts, "amps": v.amps},
    Thermistor: lambda v: {
        "cold_ohm": v.cold_ohm,
        "hot_ohm": v.hot_ohm,
        "hot_amps": v.hot_a,
        **({} if v.fit is None else {"fit": list(v.fit)}),
        **({} if v.fit_from_a is None else {"fit_from": v.fit_from_a}),
    },
    Inlet: lambda v: {"cord": v.cord},
    Speaker: lambda v: {"ohm": v.ohm, "watts": v.watts},
    Tank: lambda v: {"input": v.input_ohm, "output": v.output_ohm},
    Bond: lambda v: {"purpose": v.purpose},
}


def _inline(keys: Keys) -> str:
    return "{ " + ", ".join(f"{_key(name)} = {_value(value)}" for name, value in keys.items()) + " }"


def _value(value: object) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int | float):
        return f"{value:.12g}"
    if isinstance(value, list):
        return "[" + ", ".join(_value(item) for item in value) + "]"
    return _text(str(value))


def _text(text: str) -> str:
    """Return a TOML basic string; its escapes are those of JSON."""
    return json.dumps(text, ensure_ascii=False)


def _key(name: str) -> str:
    return name if re.fullmatch(r"[A-Za-z0-9_-]+", name) else _text(name)
