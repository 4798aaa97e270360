"""What was measured, fitted and set, as builders say it: R3 98.7k, mains 118, T1 hv 682 V, V5 6L6GC #12."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from pydantic import ValidationError

from lugwright.bringup.as_built import MAINS, stated_words
from lugwright.bringup.meter_value import Shown, shown
from lugwright.buildfile.build import Build, Can, Capacitor, Choke, Part, Pot, Resistor, Switch, Transformer, Tube
from lugwright.buildfile.mistakes import nearest, printable
from lugwright.catalogue.load import tube_type
from lugwright.errors import CatalogueError, ReadingError, ValueSyntaxError
from lugwright.log.measured_bodies import AS_BUILT, AS_BUILT_OF, SETTING, TUBE_FITTED, AsBuiltBody, MeasuredSection
from lugwright.log.state import Bench
from lugwright.quantities import component_value

# of hand meters on the ranges these are read on, from memory of their data sheets
ACCURACY = {"ohm": 0.01, "winding ohm": 0.02, "farad": 0.03, "unloaded volts": 0.01, "mains volts": 0.01}
MOST_LABEL = 80  # letters of what is written on a tube
Written = tuple[str, str, dict[str, object]]  # kind, subject, body
_SHARE = re.compile(r"(\d+(?:\.\d+)?) ?%", re.ASCII)
_CURRENT = re.compile(r"(.*?),? ?(\d+(?:\.\d+)?) ?mA at ([-+\d./ ]+?)(?: ?V)?", re.ASCII | re.IGNORECASE)


def as_built_from_words(build: Build, bench: Bench, what: str, value: str, *, accuracy: float | None = None) -> Written:
    """Return an entry of the log for something measured, fitted or set.

    Parameters
    ----------
    build : Build
        As its file states it.
    bench : Bench
        What the log says already.
    what, value : str
        ``R3`` and ``98.7k``; ``mains`` and ``118``; ``T1 hv`` and ``682 V``; ``V5`` and ``6L6GC #12``.
    accuracy : float, optional
        Of the meter, relative; the usual of a hand meter where it is not given. [-]

    Returns
    -------
    tuple
        Kind, subject and body of the entry.

    Raises
    ------
    ReadingError
        The build has no such part, or it cannot have that value.

    Source
    ------
    The build file.
    """
    if not (what.isprintable() and value.isprintable()):
        raise _refused(what, value[:60], "printable letters", "write it on one line, without control characters")
    name, *rest = " ".join(what.replace("lead ", " ").split()).split(" ")
    if name.casefold() == MAINS and not rest:
        return _measure(build, what, "mains volts", _volts(what, value), accuracy)
    part, section = _part(build, name)
    how = _SAID.get(type(part.values))
    if how is None:
        raise _refused(what, f"{part.name} is a {part.kind}", _KINDS, "leave it out")
    return how(_Said(build, bench, part, section, " ".join(rest), what, value, accuracy))


@dataclass(frozen=True)
class _Said:
    """One thing that is said, in its pieces."""

    build: Build
    bench: Bench
    part: Part
    section: str  # of a can or a tube
    rest: str
    what: str
    value: str
    accuracy: float | None


def _part(build: Build, name: str) -> tuple[Part, str]:
    """Return the part of that name and what is behind its point, or the letter of a tube's section."""
    known = {part.name.casefold(): part for part in build.parts}
    plain, _, section = name.casefold().partition(".")
    if plain in known:
        return known[plain], section
    if plain[:-1] in known and isinstance(known[plain[:-1]].values, Tube) and plain[-1] in "abcd":
        return known[plain[:-1]], plain[-1]
    close = nearest(name, [*(part.name for part in build.parts), MAINS])
    raise _refused(
        name, printable(name)[:60], f"a part of {build.file}, or mains",
        f"write {close!r}" if close else f"look its name up: lugwright parts {build.file}",
    )  # fmt: skip


def _ohmic(said: _Said) -> Written:
    if said.section or said.rest:
        raise _refused(
            said.what, f"{said.part.name} {said.section}{said.rest}", f"{said.part.name} alone", "write that"
        )
    if isinstance(said.part.values, Pot) and (share := _SHARE.fullmatch(said.value.strip())):
        return _setting(said, f"{float(share[1]):g} %", float(share[1]) / 100.0)
    return _measure(said.build, said.what, "ohm", _ohms(said.what, said.value), said.accuracy, said.part)


def _farad(said: _Said) -> Written:
    values = said.part.values
    sections = [chr(ord("a") + k) for k in range(len(values.farads))] if isinstance(values, Can) else []
    if sections and said.section not in sections:
        names = " or ".join(f"{said.part.name}.{section}" for section in sections)
        raise _refused(said.what, said.what, names, "say which section was measured")
    try:
        farad = component_value(said.value, "farad").base
    except ValueSyntaxError as error:
        raise _refused(said.what, error.found, error.wanted, error.do) from None
    ends = [said.section] if sections else []
    return _measure(said.build, said.what, "farad", farad, said.accuracy, said.part, ends)


def _winding(said: _Said) -> Written:
    values = said.part.values
    ends = _ends(said, values) if isinstance(values, Transformer) else []
    found = _value(said.what, said.value)
    if found.unit in ("ohm", ""):
        if not found.unit:
            raise _refused(said.what, said.value, "volts without load, or ohms: 682 V, 3.2 ohm", "write the unit")
        return _measure(said.build, said.what, "winding ohm", found.value, said.accuracy, said.part, ends)
    role = values.role if isinstance(values, Transformer) else ""
    if found.unit != "V" or role != "power":
        raise _refused(
            said.what, f"{said.value} of {said.part.name}, {role} transformer",
            "volts without load of a power transformer, or ohms of a winding", "measure its ohms: they are enough",
        )  # fmt: skip
    if any(end.startswith("primary.") for end in ends):
        raise _refused(
            said.what, said.value, "the volts of the other windings", f"write what is on the primary as: {MAINS} 118"
        )
    mains = said.bench.as_built.get(MAINS)
    if mains is None:
        raise _refused(
            said.what, said.value, "the mains volts at the same moment, before the volts of a winding",
            f"measure them first: lugwright as-built FILE {MAINS} 118",
        )  # fmt: skip
    return _measure(
        said.build, said.what, "unloaded volts", found.value, said.accuracy, said.part, ends, mains.body.value
    )


def _ends(said: _Said, values: Transformer) -> list[str]:
    """Return the two leads that are meant: of ``hv`` the outer ones, of ``hv.1 to hv.2`` these."""
    words = [piece.strip() for piece in f"{said.section} {said.rest}".strip().casefold().split(" to ")]
    names = {w.name.casefold(): [w.ends[0], w.ends[-1]] for w in values.windings}
    ends = {end.casefold(): end for w in values.windings for end in w.ends}
    if len(words) == 1 and words[0] in names:
        return names[words[0]]
    if len(words) == 2 and all(word in ends for word in words) and words[0] != words[1]:
        pair = [ends[word] for word in words]
        if any(set(pair) <= set(w.ends) for w in values.windings):
            return pair
    last, name = values.windings[-1], said.part.name
    raise _refused(
        said.what, printable(said.what)[:60], f"a winding of {name}: {', '.join(w.name for w in values.windings)}",
        f'write "{name} {last.name}", or two leads of it: "{name} {last.ends[0]} to {last.ends[-1]}"',
    )  # fmt: skip


def _tube(said: _Said) -> Written:
    values = said.part.values
    before = said.bench.tubes.get(said.part.name)
    text, measured = _measured_section(said)
    kind, _, label = text.strip().partition(" ")
    if not kind and before is not None:
        kind, label = before.body.type, before.body.label
    elif not kind and isinstance(values, Tube):
        kind = values.type.name
    try:
        name = tube_type(kind).name
    except CatalogueError as error:
        raise _refused(said.what, kind, error.wanted, error.do) from None
    label = label.strip()[:MOST_LABEL]
    same = before is not None and (before.body.type, before.body.label) == (name, label)
    known = {one.section: one.model_dump() for one in before.body.measured} if before is not None and same else {}
    if measured is not None:
        known[str(measured["section"])] = measured
    body: dict[str, object] = {"socket": said.part.name, "type": name, "label": label}
    return (
        TUBE_FITTED,
        f"{said.part.name} {name} {label}".strip(),
        {**body, "measured": [*known.values()]},
    )


def _measured_section(said: _Said) -> tuple[str, dict[str, object] | None]:
    """Return what stands before a measured current, and that current with its volts."""
    match = _CURRENT.fullmatch(" ".join(said.value.replace("\u2212", "-").split()))
    if match is None:
        return said.value, None
    volts = [float(piece) for piece in re.split(r"[/ ]+", match[3].strip()) if re.fullmatch(r"[-+]?\d+(\.\d+)?", piece)]
    values = said.part.values
    screened = isinstance(values, Tube) and any("screen" in section.pins for section in values.type.sections)
    if len(volts) != 2 + screened or len(volts) != len(re.split(r"[/ ]+", match[3].strip())):
        form = "34.2 mA at 400/400/-38 (plate, screen, grid)" if screened else "1.1 mA at 250/-2 (plate, grid)"
        raise _refused(said.what, printable(said.value)[:60], f"a current and its volts: {form}", "write them so")
    sections = {section.letter for section in values.type.sections} if isinstance(values, Tube) else {""}
    if said.section not in sections:
        names = " or ".join(f"{said.part.name}{letter}" for letter in sorted(sections))
        raise _refused(said.what, said.what, names, "say which section was measured")
    found: dict[str, object] = {"section": said.section, "plate_a": float(match[2]) / 1e3, "plate_v": volts[0]}
    found |= {"screen_v": volts[1] if screened else None, "grid_v": volts[-1]}
    try:
        MeasuredSection.model_validate(found)
    except ValidationError as error:
        said_of = ".".join(str(piece) for piece in error.errors()[0]["loc"])
        raise _refused(said.what, f"{said.value}: {said_of}", "what a tube can have", "correct that figure") from None
    return match[1], found


def _switch(said: _Said) -> Written:
    values = said.part.values
    positions = values.positions if isinstance(values, Switch) else ()
    found = next((p for p in positions if p.casefold() == said.value.strip().casefold()), None)
    if found is None:
        close = nearest(said.value, positions)
        raise _refused(
            said.what, printable(said.value)[:60], f"one of {', '.join(positions)}",
            f"write {close!r}" if close else "choose one",
        )  # fmt: skip
    return _setting(said, found, None)


def _setting(said: _Said, position: str, share: float | None) -> Written:
    if share is not None and share > 1.0:
        raise _refused(said.what, position, "0 % to 100 %, from the counterclockwise end", "halfway round is 50 %")
    return SETTING, f"{said.part.name} at {position}", {"control": said.part.name, "position": position, "share": share}


def _measure(
    build: Build, what: str, of: str, value: float, accuracy: float | None, part: Part | None = None,
    ends: list[str] | None = None, at_mains_v: float | None = None,
) -> Written:  # fmt: skip
    unit, low, high = AS_BUILT_OF[of]
    if not low <= value <= high:
        raise _refused(what, f"{value:g} {unit}", f"{low:g} to {high:g} {unit}", "check the letter before the unit")
    body: dict[str, object] = {
        "of": of, "part": "" if part is None else part.name, "ends": ends or [], "value": value, "unit": unit,
        "accuracy": ACCURACY[of] if accuracy is None else accuracy,
    }  # fmt: skip
    if at_mains_v is not None:
        body["at_mains_v"] = at_mains_v
    stated = stated_words(build, AsBuiltBody.model_validate({**body, "at_mains_v": at_mains_v}))
    return AS_BUILT, subject_of(body), {**body, "stated": stated[:400]}


def subject_of(body: Mapping[str, Any]) -> str:
    """Return what a measured value is about, in words: of several of the same the last one counts."""
    if body["of"] == "mains volts":
        return MAINS
    ends = body["ends"]
    if body["of"] == "farad":
        return f"{body['part']}{'.' if ends else ''}{''.join(ends)}"
    if not ends:
        return f"{body['part']}"
    return f"{body['part']} {ends[0]} to {ends[1]}, {'volts' if body['of'] == 'unloaded volts' else 'ohms'}"


def _value(what: str, value: str) -> Shown:
    found = shown(value)
    if found.value == float("inf"):
        raise _refused(what, "over range", "what the part has", "look for what is open before it is written down")
    return found


def _ohms(what: str, value: str) -> float:
    found = _value(what, value)
    if found.unit not in ("", "ohm"):
        raise _refused(what, value, 'a resistance such as "98k7"', "correct that value")
    return found.value


def _volts(what: str, value: str) -> float:
    found = _value(what, value)
    if found.unit not in ("", "V") or found.alternating is False:
        raise _refused(what, value, "volts of alternating current such as 118", "correct that value")
    return found.value


_SAID: Mapping[type[Any], Callable[[_Said], Written]] = {
    Resistor: _ohmic,
    Pot: _ohmic,
    Choke: _ohmic,
    Capacitor: _farad,
    Can: _farad,
    Transformer: _winding,
    Tube: _tube,
    Switch: _switch,
}
_KINDS = "a resistor, pot, choke, capacitor, transformer, tube or switch, or mains"


def _refused(what: str, found: str, wanted: str, do: str) -> ReadingError:
    return ReadingError(
        what=f"{printable(what)[:60]} cannot be written down so", found=printable(found), wanted=wanted, do=do
    )
