"""A build file changed in few places: everything else in it, comments too, stays as the person wrote it."""

from __future__ import annotations

from collections.abc import Mapping

import tomlkit
from tomlkit.items import InlineTable, Item, Table

from lugwright.errors import ChangeError


def with_strips_at(text: str, places: Mapping[str, tuple[tuple[float, float], float]], file: str) -> str:
    """Return the text of a build file with strips at other places: name -> ((x, y) in mm, turn in degrees).

    Raises
    ------
    ChangeError
        The file does not state such a strip.
    """
    document = tomlkit.parse(text)
    strips = document.get("strips")
    for name, (at, turn) in places.items():
        strip = strips.get(name) if isinstance(strips, Table | InlineTable) else None
        if not isinstance(strip, Table | InlineTable):
            raise ChangeError(
                what=f"strip {name} cannot be moved in {file}",
                found=f"it states no strip {name} under [strips]",
                wanted="a strip that the file states",
                do="keep the plan without the file",
            )
        strip["at"] = _pair(at)
        if turn or "turn" in strip:
            strip["turn"] = _number(turn)
    return tomlkit.dumps(document)


def _pair(at: tuple[float, float]) -> Item:
    return tomlkit.item([_number(value) for value in at])


def _number(value: float) -> int | float:
    return int(value) if value == int(value) else value
