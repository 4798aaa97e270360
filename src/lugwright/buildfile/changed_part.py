"""A part that has been read with another value in it: what a change does to it without reading the file again."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import Any

from lugwright.buildfile.build import Build, Can, Capacitor, Choke, Fitted, Jack, Part, Pot, Resistor, Speaker, Switch
from lugwright.buildfile.changes import new_value, said_change
from lugwright.quantities import component_value


@dataclass(frozen=True)
class ChangedPart:
    """A part with one value changed; ``name`` and ``key`` say which value it is."""

    part: Part
    name: str  # R17, of a can C6.a
    key: str  # value, values, setting, position, plug_in


def changed_part(build: Build, text: str, parts: Mapping[str, Part]) -> ChangedPart | None:
    """Return a part with a change such as ``R17=220k`` made in it; ``parts`` are those already changed.

    None where only the file as a whole says what the change does: another tube, another mains, a choke that swings, a
    part it has not.

    Raises
    ------
    ChangeError
        The part cannot be set to that.
    """
    name, value = said_change(text)
    designator, _, section = name.partition(".")
    part = parts.get(designator) or build.part_by_name.get(designator)
    if part is None or type(part.values) not in _WAYS or section not in _sections(part.values):
        return None
    way = _WAYS[type(part.values)]
    key, new = new_value(name, value, kind=way.kind, raw=way.raw(part.values))
    return ChangedPart(replace(part, values=way.fitted(part.values, key, new)), name, key)


def _sections(values: Fitted) -> tuple[str, ...]:
    if isinstance(values, Can):
        return tuple(chr(ord("a") + k) for k in range(len(values.farads)))
    return () if isinstance(values, Choke) and values.light_h else ("",)


@dataclass(frozen=True)
class _Way:
    """How the values of a kind of part are written, and how one that is written becomes one that is fitted."""

    kind: str
    raw: Callable[[Any], Mapping[str, Any]]
    fitted: Callable[[Any, str, Any], Fitted]


def _resistor(values: Resistor, key: str, new: Any) -> Fitted:
    return replace(values, ohm=component_value(new, "ohm").base)


def _capacitor(values: Capacitor, key: str, new: Any) -> Fitted:
    return replace(values, farad=component_value(new, "farad").base)


def _can(values: Can, key: str, new: Any) -> Fitted:
    pairs = zip(values.farads, new, strict=True)
    return replace(values, farads=tuple(b if a == b else component_value(b, "farad").base for a, b in pairs))


def _pot(values: Pot, key: str, new: Any) -> Fitted:
    return replace(values, setting=new) if key == "setting" else replace(values, ohm=component_value(new, "ohm").base)


def _choke(values: Choke, key: str, new: Any) -> Fitted:
    return replace(values, henry=component_value(new, "henry").base)


def _speaker(values: Speaker, key: str, new: Any) -> Fitted:
    return replace(values, ohm=new)


def _switch(values: Switch, key: str, new: Any) -> Fitted:
    return replace(values, position=new)


def _jack(values: Jack, key: str, new: Any) -> Fitted:
    return replace(values, plug_in=new)


_WAYS: Mapping[type, _Way] = {
    Resistor: _Way("resistor", lambda values: {}, _resistor),
    Capacitor: _Way("capacitor", lambda values: {}, _capacitor),
    Can: _Way("can", lambda values: {"values": list(values.farads)}, _can),
    Choke: _Way("choke", lambda values: {}, _choke),
    Speaker: _Way("speaker", lambda values: {"ohm": values.ohm}, _speaker),
    Pot: _Way("pot", lambda values: {"setting": values.setting}, _pot),
    Switch: _Way("switch", lambda values: {"positions": list(values.positions), "position": values.position}, _switch),
    Jack: _Way("jack", lambda values: {"plug_in": values.plug_in}, _jack),
}
