"""One table of a data file, read strictly: wrong types, unknown keys and figures without source do not load."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from typing import Any, NoReturn

from lugwright.catalogue.nearest import nearest_name
from lugwright.catalogue.records import Figure
from lugwright.errors import CatalogueError
from lugwright.sources import Source

_READ = ("sheet", "quotation", "memory", "derived")


class Table:
    """A TOML table that knows its file and its place there, and which of its keys have been asked for."""

    def __init__(self, file: str, values: Mapping[str, Any], path: str = "") -> None:
        self.file, self.path = file, path
        self._values = values
        self._asked: set[str] = set()

    def where(self, key: str) -> str:
        """Return the key as it is named in messages."""
        return f"{self.path}.{key}" if self.path else key

    def fail(self, key: str, *, found: str, wanted: str) -> NoReturn:
        """Raise a CatalogueError that names file and key."""
        raise CatalogueError(
            what=f"{self.file}: {self.where(key)} cannot be used",
            found=found,
            wanted=wanted,
            do="correct the data file, or install the program again if you did not change it",
        )

    def has(self, key: str) -> bool:
        """Return whether the key is there."""
        self._asked.add(key)
        return key in self._values

    def _value(self, key: str, wanted: str) -> Any:
        if not self.has(key):
            self.fail(key, found="nothing", wanted=wanted)
        return self._values[key]

    def text(self, key: str, *, one_of: tuple[str, ...] = ()) -> str:
        """Return a text that is not empty, one of those named if any are."""
        wanted = " or ".join(f'"{name}"' for name in one_of) if one_of else "a text"
        value = self._value(key, wanted)
        if not isinstance(value, str) or not value or (one_of and value not in one_of):
            self.fail(key, found=repr(value), wanted=wanted)
        return value

    def texts(self, key: str) -> tuple[str, ...]:
        """Return a list of texts."""
        value = self._value(key, "a list of texts")
        if not isinstance(value, list) or not all(isinstance(item, str) and item for item in value):
            self.fail(key, found=repr(value), wanted="a list of texts")
        return tuple(value)

    def number(self, key: str) -> float:
        """Return a finite number."""
        value = self._value(key, "a number")
        if isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value):
            self.fail(key, found=repr(value), wanted="a number")
        return float(value)

    def numbers(self, key: str, count: int) -> tuple[float, ...]:
        """Return a list of so many numbers."""
        value = self._value(key, f"{count} numbers")
        plain = isinstance(value, list) and all(isinstance(n, int | float) and not isinstance(n, bool) for n in value)
        if not plain or len(value) != count:
            self.fail(key, found=repr(value), wanted=f"{count} numbers")
        return tuple(float(n) for n in value)

    def whole(self, key: str) -> int:
        """Return a whole number."""
        value = self._value(key, "a whole number")
        if isinstance(value, bool) or not isinstance(value, int):
            self.fail(key, found=repr(value), wanted="a whole number")
        return value

    def wholes(self, key: str) -> tuple[int, ...]:
        """Return a list of whole numbers, at least one."""
        value = self._value(key, "a list of whole numbers")
        plain = isinstance(value, list) and all(isinstance(n, int) and not isinstance(n, bool) for n in value)
        if not plain or not value:
            self.fail(key, found=repr(value), wanted="a list of whole numbers")
        return tuple(value)

    def flag(self, key: str) -> bool:
        """Return true or false; false where the key is left out."""
        if not self.has(key):
            return False
        value = self._values[key]
        if not isinstance(value, bool):
            self.fail(key, found=repr(value), wanted="true or false")
        return value

    def table(self, key: str) -> Table:
        """Return the table under this key."""
        value = self._value(key, "a table")
        if not isinstance(value, dict):
            self.fail(key, found=repr(value), wanted="a table")
        return Table(self.file, value, self.where(key))

    def tables(self, key: str) -> tuple[Table, ...]:
        """Return the list of tables under this key."""
        value = self._value(key, "a list of tables")
        if not isinstance(value, list) or not all(isinstance(item, dict) for item in value):
            self.fail(key, found=repr(value), wanted="a list of tables")
        return tuple(Table(self.file, item, f"{self.where(key)}[{n}]") for n, item in enumerate(value, start=1))

    def keys(self) -> Iterator[str]:
        """Return every key of the table, in file order."""
        return iter(self._values)

    def source(self, sources: Mapping[str, Source], key: str = "source") -> Source:
        """Return the source named here; nothing loads without one."""
        if not self.has(key):
            self.fail(key, found="no source", wanted=f"the name of a source: {', '.join(sources)}")
        name = self.text(key)
        if name not in sources:
            near = nearest_name(name, sources)
            self.fail(key, found=repr(name), wanted=f"a source of this file, perhaps {near!r}" if near else "a source")
        return sources[name]

    def figure(self, key: str, sources: Mapping[str, Source]) -> Figure:
        """Return a figure with its source, written ``{ value = 1.0, source = "sheet" }``."""
        entry = self.table(key)
        figure = Figure(entry.number("value"), entry.source(sources))
        entry.done()
        return figure

    def done(self) -> None:
        """Raise a CatalogueError for the first key that nobody asked for."""
        for key in self._values:
            if key not in self._asked:
                near = nearest_name(key, self._asked)
                self.fail(key, found="an unknown key", wanted=f"perhaps {near!r}" if near else "no such key")


def sources_of(file: Table) -> dict[str, Source]:
    """Return the sources of a data file by name."""
    found = {}
    listed = file.table("sources")
    for name in listed.keys():  # noqa: SIM118
        entry = listed.table(name)
        found[name] = Source(
            entry.text("title"),
            entry.text("edition") if entry.has("edition") else "",
            entry.text("read", one_of=_READ),
            entry.text("accuracy") if entry.has("accuracy") else "",
        )
        entry.done()
    return found
