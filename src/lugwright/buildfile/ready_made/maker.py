"""How a ready-made stage makes ordinary parts out of a few keys."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from lugwright.buildfile.locate import KeyPath

DESIGNATOR = re.compile(r"[A-Z]{1,2}[0-9]{1,4}")
OWN_KEYS = ("use", "title", "duty", "numbers", "joined")


class ReadyMadeError(Exception):
    """A key of a ready-made stage is missing or cannot be used: path below the stage, found, wanted, do."""

    def __init__(self, key: str, *, found: str, wanted: str, do: str = "") -> None:
        super().__init__(key)
        self.key, self.found, self.wanted = key, found, wanted
        self.do = do or f"write {key} = ... in the stage"


@dataclass
class Maker:
    """The keys of one stage, and the parts made from them so far."""

    stage: str
    table: Mapping[str, Any]
    numbers: int
    parts: dict[str, dict[str, Any]] = field(default_factory=dict)
    roles: dict[str, KeyPath] = field(default_factory=dict)  # designator -> path of its role in the stage
    joined: list[list[str]] = field(default_factory=list)
    heaters: list[tuple[str, str, str]] = field(default_factory=list)  # side 1, side 2, tube
    used: set[str] = field(default_factory=set)
    missing: list[ReadyMadeError] = field(default_factory=list)
    _counts: dict[str, int] = field(default_factory=dict)

    def joint(self, key: str, default: str | None = None) -> str:
        """Return the joint a key names; without a default it must be there."""
        self.used.add(key)
        value = self.table.get(key, default)
        if isinstance(value, str) and value:
            return value
        return self._refuse(key, value, "the name of a joint in quotes")

    def names(self, key: str, default: list[str] | None = None) -> list[str]:
        """Return a list of names, such as the tubes of a heater supply."""
        self.used.add(key)
        value = self.table.get(key, default)
        if isinstance(value, list) and value and all(isinstance(name, str) for name in value):
            return list(value)
        self._refuse(key, value, 'a list of names, e.g. ["V1", "V2"]')
        return []

    def word(self, key: str, choices: tuple[str, ...]) -> str:
        """Return one of some words; the first by default."""
        self.used.add(key)
        value = self.table.get(key, choices[0])
        if value in choices:
            return str(value)
        self._refuse(key, value, f"one of {', '.join(choices)}")
        return choices[0]

    def tables(self, key: str) -> list[dict[str, Any]]:
        """Return a list of tables, such as the nodes of a supply."""
        self.used.add(key)
        value = self.table.get(key)
        if isinstance(value, list) and value and all(isinstance(row, dict) for row in value):
            return [dict(row) for row in value]
        self._refuse(key, value, "a list of tables in braces")
        return []

    def _refuse(self, key: str, value: object, wanted: str) -> str:
        self.missing.append(ReadyMadeError(key, found="nothing" if value is None else repr(value), wanted=wanted))
        return f"{self.stage} {key}"

    def has(self, key: str) -> bool:
        """Return whether the builder wrote this key and did not leave it out with false."""
        if self.table.get(key) is False:
            self.used.add(key)
        return key in self.table and self.table[key] is not False

    def part(self, role: str, letters: str, ends: list[str], default: str | None = None, **fixed: Any) -> str:
        """Make one part from its role: a value, a table of keys, or false to leave it out; return its name."""
        self.used.add(role)
        written = self.table.get(role, default)
        number = self._counts.get(letters, 0) + 1
        self._counts[letters] = number
        name = f"{letters}{self.numbers + number}"
        if written is False:
            return ""
        if written is None:
            self._refuse(role, None, f'a value such as "100k" for the part {role}, or false to leave it out')
            return ""
        return self.add(name, written if isinstance(written, dict) else {"value": written}, (role,), ends=ends, **fixed)

    def add(self, name: str, written: Mapping[str, Any], path: KeyPath, **fixed: Any) -> str:
        """Add one part; what is written wins over what the stage fixes."""
        keys = {**fixed, **written}
        chosen = keys.pop("name", name)
        if not isinstance(chosen, str) or not DESIGNATOR.fullmatch(chosen):
            self._refuse(str(path[0]), chosen, 'a designator such as "R3" as its name')
            chosen = name
        if chosen in self.parts:
            self._refuse_name(chosen, written_for=path)
        self.parts[chosen] = keys
        self.roles[chosen] = path
        return chosen

    def _refuse_name(self, name: str, *, written_for: KeyPath) -> None:
        """Refuse a designator that another part of this stage has: the other part would vanish."""
        first, second = (".".join(str(step) for step in path) for path in (self.roles[name], written_for))
        self.missing.append(
            ReadyMadeError(
                str(written_for[0]),
                found=f"{name} for {second}, and {name} for {first} as well",
                wanted="a designator of its own for each part of the stage",
                do='write name = "..." for one of them, or start the stage at another number with numbers = ...',
            )
        )
