"""The catalogue by name. Nothing is read before it is asked for, and no file twice."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Callable, Iterable
from functools import cache
from importlib.resources import files
from typing import TypeVar

from lugwright.catalogue.hardware_file import body_rows_from, panel_part_from, socket_from, strip_from, wire_from
from lugwright.catalogue.nearest import nearest_name
from lugwright.catalogue.records import BodyRow, PanelPart, SocketType, StripType, TubeType, WireType
from lugwright.catalogue.table import Table
from lugwright.catalogue.tube_file import tube_from
from lugwright.errors import CatalogueError
from lugwright.quantities import with_unit

_SWITCH = re.compile(r"switch ([1-9]\d?) pole ([1-9]\d?) position")
_Entry = TypeVar("_Entry", SocketType, StripType, WireType, PanelPart)


def read_table(text: str, file: str) -> Table:
    """Return a data file's text as a table; CatalogueError when it is no TOML."""
    try:
        return Table(file, tomllib.loads(text))
    except tomllib.TOMLDecodeError as error:
        raise CatalogueError(
            what=f"{file}: not a TOML file",
            found=str(error),
            wanted="a data file of the catalogue",
            do="correct the data file, or install the program again if you did not change it",
        ) from error


def tube_type(name: str) -> TubeType:
    """Return the tube type of this name or alias, upper or lower case alike."""
    return _known_tube(name.strip().casefold(), name)


def tube_names() -> tuple[str, ...]:
    """Return the names of all tube types, without aliases, sorted."""
    return tuple(sorted(_tube(stem).name for stem in _stems("tubes")))


def tube_aliases() -> tuple[str, ...]:
    """Return every name a tube may be called by, aliases included, sorted."""
    return tuple(sorted({name for stem in _stems("tubes") for name in (_tube(stem).name, *_tube(stem).aliases)}))


def socket_type(name: str) -> SocketType:
    """Return the socket of this name."""
    return _by_name("socket", name, _sockets())


def strip_type(name: str) -> StripType:
    """Return the terminal strip of this name."""
    return _by_name("terminal strip", name, _strips())


def strip_names() -> tuple[str, ...]:
    """Return the names of all terminal strips, sorted."""
    return tuple(_strips())


def panel_part_names() -> tuple[str, ...]:
    """Return the names of all panel parts, sorted."""
    return tuple(_panel_parts())


@cache
def wire_types() -> tuple[WireType, ...]:
    """Return every wire of the catalogue, sorted by name."""
    return tuple(sorted(_entries("wire", wire_from).values(), key=lambda wire: wire.name))


def panel_part(name: str) -> PanelPart:
    """Return the panel part of this name.

    A switch is named ``switch 2 pole 3 position``: the smallest one with as many poles and positions is given.
    """
    switch = _SWITCH.fullmatch(name.strip())
    if switch:
        poles, positions = int(switch[1]), int(switch[2])
        fitting = [
            (int(found[1]), int(found[2]), part)
            for known, part in _panel_parts().items()
            if (found := _SWITCH.fullmatch(known)) and int(found[1]) >= poles and int(found[2]) >= positions
        ]
        if fitting:
            return min(fitting, key=lambda row: (row[0] * row[1], row[0]))[2]
    return _by_name("panel part", name, _panel_parts())


def body_kinds() -> tuple[str, ...]:
    """Return the kinds of parts that have bodies, sorted."""
    return tuple(sorted(_bodies()))


def body_rows(kind: str) -> tuple[BodyRow, ...]:
    """Return every body of this kind, in the order of its data file."""
    if kind not in _bodies():
        raise _unknown("kind of part", kind, _bodies())
    return _bodies()[kind]


def body_row(kind: str, *, watts: float = 0.0, farad: float = 0.0, volts: float = 0.0) -> BodyRow:
    """Return the smallest body of this kind that is good for at least these ratings.

    Parameters
    ----------
    kind : str
        One of `body_kinds`, for example ``"metal film resistor"``. [-]
    watts, farad, volts : float
        Least power, capacitance and voltage; 0 where it does not matter. [W], [F], [V]

    Returns
    -------
    BodyRow
        The row with the least volume.

    Source
    ------
    The data files of parts, each row with its own.
    """
    rows = body_rows(kind)
    slack = 1.0 + 1e-9  # 22e-6 and 2.2e-5 are one value
    fitting = [r for r in rows if r.watts * slack >= watts and r.farad * slack >= farad and r.volts * slack >= volts]
    if not fitting:
        wanted = {"W": watts, "F": farad, "V": volts}
        largest = {"W": max(r.watts for r in rows), "F": max(r.farad for r in rows), "V": max(r.volts for r in rows)}
        asked = [unit for unit, value in wanted.items() if value]
        raise CatalogueError(
            what=f"no {kind} large enough",
            found=" and ".join(with_unit(wanted[unit], unit) for unit in asked),
            wanted="at most "
            + " and ".join(with_unit(largest[unit], unit) for unit in asked)
            + ", not always together",
            do="use two parts, or state the body of this one in the build file",
        )
    return min(fitting, key=lambda r: (r.body.diameter_mm**2 * r.body.length_mm, r.watts, r.farad, r.volts))


@cache
def _stems(folder: str) -> tuple[str, ...]:
    found = (files("lugwright.catalogue") / "data" / folder).iterdir()
    return tuple(sorted(file.name.removesuffix(".toml") for file in found if file.name.endswith(".toml")))


def _open(folder: str, stem: str) -> Table:
    file = files("lugwright.catalogue") / "data" / folder / f"{stem}.toml"
    return read_table(file.read_text(encoding="utf-8"), f"{folder}/{stem}.toml")


@cache
def _tube(stem: str) -> TubeType:
    return tube_from(_open("tubes", stem))


@cache
def _known_tube(folded: str, name: str) -> TubeType:
    if folded in _stems("tubes"):
        return _tube(folded)
    for stem in _stems("tubes"):
        if folded in {known.casefold() for known in (_tube(stem).name, *_tube(stem).aliases)}:
            return _tube(stem)
    raise _unknown("tube", name, tube_aliases())


@cache
def _sockets() -> dict[str, SocketType]:
    return _entries("sockets", socket_from)


@cache
def _strips() -> dict[str, StripType]:
    return _entries("strips", strip_from)


@cache
def _panel_parts() -> dict[str, PanelPart]:
    return _entries("panel", panel_part_from)


@cache
def _bodies() -> dict[str, tuple[BodyRow, ...]]:
    rows = [row for stem in _stems("parts") for row in body_rows_from(_open("parts", stem))]
    return {kind: tuple(row for row in rows if row.kind == kind) for kind in sorted({row.kind for row in rows})}


def _entries(folder: str, read: Callable[[Table], _Entry]) -> dict[str, _Entry]:
    found = [read(_open(folder, stem)) for stem in _stems(folder)]
    return {entry.name: entry for entry in sorted(found, key=lambda entry: entry.name)}


def _by_name(what: str, name: str, known: dict[str, _Entry]) -> _Entry:
    folded = {key.casefold(): entry for key, entry in known.items()}
    entry = folded.get(name.strip().casefold())
    if entry is None:
        raise _unknown(what, name, known)
    return entry


def _unknown(what: str, name: str, known: Iterable[str]) -> CatalogueError:
    names = sorted(known)
    near = nearest_name(name, names)
    return CatalogueError(
        what=f"no such {what} in the catalogue",
        found=repr(name),
        wanted=f"a name such as {near!r}" if near else "one of " + ", ".join(names),
        do=f"write {near!r} if that is what you mean" if near else "choose one of these names",
    )
