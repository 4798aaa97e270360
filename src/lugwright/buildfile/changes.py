"""What-ifs: the value of a part replaced in a build file as read, before anything is made of it."""

from __future__ import annotations

import copy
import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from lugwright.buildfile.kinds import kind_of
from lugwright.buildfile.mistakes import Mistakes, nearest
from lugwright.buildfile.stages import stage_parts
from lugwright.buildfile.tables import table_of
from lugwright.catalogue.load import tube_type
from lugwright.errors import CatalogueError, ChangeError, ValueSyntaxError
from lugwright.quantities import Kind, component_value

MAINS = "mains"  # stands among the parts: its volts can be set
_SHARE = re.compile(r"(\d+(?:\.\d+)?|\.\d+)\s*(%?)", re.ASCII)
_VOLTS = re.compile(r"(\d{1,4}(?:\.\d+)?)\s*V?", re.ASCII)


@dataclass(frozen=True)
class Changed:
    """One value replaced for a what-if, in the words of the build file."""

    part: str
    key: str  # value, setting, type, position, ...
    was: str
    now: str


@dataclass(frozen=True)
class _Written:
    """A part as the file describes it: where its keys are to be put, and all of them."""

    home: tuple[str, ...]  # below the document
    raw: Mapping[str, Any]
    kind: str


@dataclass(frozen=True)
class _New:
    """What one key becomes, and how the old and the new value are said."""

    key: str
    value: Any
    was: str
    now: str
    drops: tuple[str, ...] = ()  # keys that belong to the old value alone


def changed_document(
    data: Mapping[str, Any], changes: Sequence[str], file: str
) -> tuple[dict[str, Any], tuple[Changed, ...]]:
    """Return the document with each change (``R17=220k``) made in it, and what was changed.

    Raises
    ------
    ChangeError
        A text is no change, the part is not in the file, or its value cannot be that; all such mistakes at once.
    """
    document = copy.deepcopy(dict(data))
    written = _all_written(document, file)
    done: dict[tuple[str, str], Changed] = {}
    mistakes: list[ChangeError] = []
    for text in changes:
        try:
            home, new, changed = _change(text, written, done, file)
        except ChangeError as error:
            mistakes.append(error)
            continue
        done[changed.part, changed.key] = changed
        _put(document, home, new)
        written = _all_written(document, file)
    if mistakes:
        mistakes[0].others = tuple(mistakes[1:])
        raise mistakes[0]
    return document, tuple(done.values())


def said_change(text: str) -> tuple[str, str]:
    """Return part (or section of a can) and value of a change such as ``R17=220k``.

    Raises
    ------
    ChangeError
        It is none.
    """
    return _split(text)


def new_value(name: str, value: str, *, kind: str, raw: Mapping[str, Any]) -> tuple[str, Any]:
    """Return which key of a part as written a value is for, and what it becomes.

    Raises
    ------
    ChangeError
        The part cannot be set to that.
    """
    part, _, section = name.partition(".")
    new = _new_value(name, section, value, _Written((part,), raw, kind))
    return new.key, new.value


def _change(
    text: str, written: Mapping[str, _Written], done: Mapping[tuple[str, str], Changed], file: str
) -> tuple[tuple[str, ...], _New, Changed]:
    """Return where a change goes, what it puts there, and how it is told."""
    name, value = _split(text)
    part, section = _known(name, text, written, file)
    new = _new_value(name, section, value, written[part])
    if (name, new.key) in done:
        raise ChangeError(
            what=f"{name} is set twice",
            found=f"{name}={done[name, new.key].now} and {name}={value}",
            wanted="one value for it",
            do="take one of them out",
        )
    return written[part].home, new, Changed(name, new.key, new.was, new.now)


def _split(text: str) -> tuple[str, str]:
    name, equals, value = (piece.strip() for piece in text.partition("="))
    if not (name and equals and value):
        raise ChangeError(
            what=f"{text!r} is no change",
            found="a part without a value" if name else "a value without a part",
            wanted="a part and its value, such as R17=220k",
            do="write PART=VALUE, in quotes where there is a blank in it",
        )
    return name, value


def _all_written(document: Mapping[str, Any], file: str) -> dict[str, _Written]:
    """Return every part of a document, those of ready-made stages made."""
    unheard = Mistakes(file, (), {})  # the reader says them all when it comes to these tables
    found = {}
    if isinstance(mains := table_of(document, "build", unheard).get("mains"), dict):
        found[MAINS] = _Written(("build", MAINS), mains, MAINS)
    for name, raw in table_of(document, "tubes", unheard).items():
        keys = raw if isinstance(raw, dict) else {"type": raw}
        found[name] = _Written(("tubes", name), keys, "tube")
    ready = table_of(document, "ready", unheard)
    for count, (stage, raw) in enumerate(table_of(document, "stage", unheard).items(), start=1):
        for name, (keys, _) in stage_parts(stage, raw, 100 * count, ready, unheard).parts.items():
            if isinstance(keys, dict):
                found.setdefault(name, _Written(("stage", stage, name), keys, kind_of(name, keys)))
    return found


def _known(name: str, text: str, written: Mapping[str, _Written], file: str) -> tuple[str, str]:
    """Return the part of that name and, of a can, the section."""
    names = [each for part, one in written.items() for each in _names(part, one)]
    if name in names or name in written:
        part, _, section = name.partition(".")
        return part, section
    letters = re.split(r"\d", name, maxsplit=1)[0].casefold()
    alike = [each for each in [*names, *written] if re.split(r"\d", each, maxsplit=1)[0].casefold() == letters]
    close = nearest(name, alike or [*names, *written])
    raise ChangeError(
        what=f"there is no part {name} to set",
        found=text,
        wanted=f"a part of {file}",
        do=f"write {close!r}" if close else f"look its name up: lugwright parts {file}",
    )


def _names(part: str, written: _Written) -> Iterator[str]:
    if written.kind != "can":
        yield part
    elif isinstance(values := written.raw.get("values"), list):
        yield from (f"{part}.{chr(ord('a') + count)}" for count in range(len(values)))


def _put(document: dict[str, Any], home: tuple[str, ...], new: _New) -> None:
    """Write one key of a part; a part of a ready-made stage gets a table of its own there, which overrides."""
    table = document
    for name in home[:-1]:
        table = table[name]
    keys = table.get(home[-1], {})
    kept = {k: v for k, v in keys.items() if k not in new.drops} if isinstance(keys, dict) else {}
    table[home[-1]] = {**kept, new.key: new.value}


def _new_value(name: str, section: str, value: str, written: _Written) -> _New:
    setter = _SETTERS.get(written.kind)
    if setter is None or (written.kind == "can" and not section):
        sections = " or ".join(f"{each}={value}" for each in _names(name, written)) if setter else ""
        raise ChangeError(
            what=f"{name} has no one value that can be set",
            found=f"{name}={value}, and {name} is of the kind {written.kind}",
            wanted="a section of it" if sections else f"a part of one of the kinds {', '.join(_SETTERS)}",
            do=f"write {sections}" if sections else "change it in a copy of the build file",
        )
    try:
        return setter(section, value, written.raw)
    except _Refused as refused:
        raise ChangeError(
            what=f"{name} cannot be set to {value!r}", found=f"{name}={value}", wanted=refused.wanted, do=refused.do
        ) from None


class _Refused(Exception):
    """A value that a part cannot have."""

    def __init__(self, wanted: str, do: str = "correct that value") -> None:
        super().__init__(wanted)
        self.wanted, self.do = wanted, do


def _component(kind: Kind) -> Callable[[str, str, Mapping[str, Any]], _New]:
    def new(section: str, value: str, raw: Mapping[str, Any]) -> _New:
        return _New("value", _readable(value, kind), str(raw.get("value", "nothing")), value)

    return new


def _readable(value: str, kind: Kind) -> str:
    try:
        base = component_value(value, kind).base
    except ValueSyntaxError as error:
        raise _Refused(error.wanted, error.do) from None
    if base <= 0:
        raise _Refused(f"more than zero {kind}")
    return value


def _can(section: str, value: str, raw: Mapping[str, Any]) -> _New:
    values, at = list(raw["values"]), ord(section) - ord("a")
    was, values[at] = str(values[at]), _readable(value, "farad")
    return _New("values", values, was, value)


def _pot(section: str, value: str, raw: Mapping[str, Any]) -> _New:
    """Set where a pot stands, by a bare share or percent; what it is, by a resistance with its letter."""
    match = _SHARE.fullmatch(value)
    if match is None:
        return _component("ohm")(section, value, raw)
    share = float(match[1]) / (100.0 if match[2] else 1.0)
    if share > 1.0:
        raise _Refused(
            "a setting from 0 to 1 or from 0% to 100%, or a resistance with its letter such as 250k",
            "count from the counterclockwise end: 0.5 is halfway round",
        )
    was = raw.get("setting", 0.5)
    words = f"{100.0 * was:.3g}%" if isinstance(was, int | float) else str(was)
    return _New("setting", share, words, f"{100.0 * share:.3g}%")


def _tube(section: str, value: str, raw: Mapping[str, Any]) -> _New:
    try:
        name = tube_type(value).name
    except CatalogueError as error:
        raise _Refused(error.wanted, error.do) from None
    return _New("type", value, str(raw.get("type", "nothing")), name, drops=("measured", "measured_a", "measured_b"))


def _switch(section: str, value: str, raw: Mapping[str, Any]) -> _New:
    positions = raw.get("positions")
    names = [name for name in positions if isinstance(name, str)] if isinstance(positions, list) else []
    if value not in names:
        close = nearest(value, names)
        raise _Refused(f"one of {', '.join(names)}", f"write {close!r}" if close else "choose one")
    return _New("position", value, str(raw.get("position", names[-1])), value)


def _jack(section: str, value: str, raw: Mapping[str, Any]) -> _New:
    words = {True: "plugged", False: "empty"}
    if value not in words.values():
        raise _Refused(f"one of {', '.join(words.values())}", "say whether a plug is in it")
    return _New("plug_in", value == words[True], words[raw.get("plug_in") is True], value)


def _mains(section: str, value: str, raw: Mapping[str, Any]) -> _New:
    match = _VOLTS.fullmatch(value)
    if match is None:
        raise _Refused("volts such as 125")
    return _New("volts", float(match[1]), f"{raw.get('volts', 'nothing')} V", f"{match[1]} V")


def _speaker(section: str, value: str, raw: Mapping[str, Any]) -> _New:
    ohm = component_value(_readable(value, "ohm"), "ohm").base
    return _New("ohm", ohm, f"{raw.get('ohm', 'nothing')}", value)


_SETTERS: dict[str, Callable[[str, str, Mapping[str, Any]], _New]] = {
    "resistor": _component("ohm"),
    "pot": _pot,
    "capacitor": _component("farad"),
    "can": _can,
    "choke": _component("henry"),
    "tube": _tube,
    "switch": _switch,
    "jack": _jack,
    "speaker": _speaker,
    MAINS: _mains,
}
