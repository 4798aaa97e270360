"""Joints: same name, same joint; named joints and terminals grown together."""

from __future__ import annotations

import re

from lugwright.buildfile.locate import KeyPath

_TERMINAL = re.compile(r"[A-Z]{1,2}\d{1,4}[ab]?\.[\w.]+")
# European names for electrodes, accepted on reading.
_PLAIN = {"anode": "plate", "g1": "grid", "g2": "screen", "g3": "suppressor", "HT": "B+"}
_RESERVED = ("ground", "chassis", "earth")


def looks_like_terminal(name: str) -> bool:
    """Return whether a joint's name points at a part's terminal, such as V1a.plate."""
    return _TERMINAL.fullmatch(name) is not None


def plain_terminal(name: str) -> str:
    """Return a joint's name with European electrode names turned into ours: V1a.anode, HT2, 0V."""
    if name.startswith("V") and "." in name:
        part, _, electrode = name.partition(".")
        return f"{part}.{_PLAIN.get(electrode, electrode)}"
    if re.fullmatch(r"HT\d+", name):
        return f"B+{name[2:]}"
    return {"0V": "ground", "PE": "earth"}.get(name, name)


class Joints:
    """Groups of names that are one joint."""

    def __init__(self) -> None:
        self.terminals: dict[str, int] = {}
        self._parent: dict[str, str] = {}
        self._first: dict[str, KeyPath] = {}
        self._order: dict[str, int] = {}
        self.clashes: list[tuple[str, str, KeyPath]] = []

    def terminal(self, name: str) -> None:
        """Announce a terminal of a part in the file."""
        self.terminals.setdefault(name, len(self.terminals))
        self._parent.setdefault(name, name)

    def join(self, one: str, two: str, path: KeyPath) -> None:
        """Make two names one joint, unless they must stay apart: then it is a clash."""
        for name in (one, two):
            self._parent.setdefault(name, name)
            self._first.setdefault(name, path)
            self._order.setdefault(name, len(self._order))
        first, second = sorted((self._root(one), self._root(two)), key=self._rank)
        if first == second:
            return
        if first in _RESERVED and (second in _RESERVED or second.startswith("B+")):
            self.clashes.append((first, second, path))
        else:
            self._parent[second] = first

    def _rank(self, name: str) -> tuple[int, int]:
        """Rank names for a joint: the three reserved ones, B+, free names, then terminals; earliest first."""
        if name in _RESERVED:
            return 0, _RESERVED.index(name)
        order = self._order.get(name, len(self._order))
        return (3 if looks_like_terminal(name) else 1 if name.startswith("B+") else 2), order

    def _root(self, name: str) -> str:
        while self._parent[name] != name:
            self._parent[name] = self._parent[self._parent[name]]
            name = self._parent[name]
        return name

    def name_of(self, name: str) -> str:
        """Return the name of the joint a name belongs to."""
        return self._root(name) if name in self._parent else name

    def path_of(self, name: str) -> KeyPath:
        """Return where a name was first written."""
        return self._first.get(name, ())

    def is_named(self, name: str) -> bool:
        """Return whether anything ends on a joint of that name; on ground, chassis and earth something always does."""
        return name in self._parent or name in _RESERVED

    def unknown(self) -> list[tuple[str, KeyPath]]:
        """Return names that look like a terminal but are none, with where they were first written."""
        return [
            (name, self._first.get(name, ()))
            for name in self._parent
            if looks_like_terminal(name) and name not in self.terminals
        ]
