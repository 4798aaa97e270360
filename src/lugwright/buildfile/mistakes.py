"""Mistakes in a build file as findings: pydantic's errors and our own, in the builder's words."""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from lugwright.buildfile.locate import KeyPath
from lugwright.findings import Finding, Grade, Place

if TYPE_CHECKING:
    from pydantic import BaseModel, ValidationError

REFERENCE = "docs/reference/build_file.md"
MAX_FINDINGS, MAX_COMPARISONS = 500, 30_000


def nearest(name: str, known: Iterable[str]) -> str:
    """Return the known name that resembles this one most, or an empty text."""
    lowered = {k.casefold(): k for k in known}
    found = difflib.get_close_matches(name.casefold(), list(lowered), n=1, cutoff=0.6)
    return lowered[found[0]] if found else ""


def printable(text: str) -> str:
    """Return a text in which nothing can act on a terminal: control characters written as codes."""
    return "".join(c if c.isprintable() or c == "\t" else f"\\x{ord(c):02x}" for c in text)


@dataclass
class Mistakes:
    """Collects findings with their place and excerpt in one text."""

    file: str
    lines: Sequence[str]
    places: Mapping[KeyPath, tuple[int, int]]
    findings: list[Finding] = field(default_factory=list)
    aliases: dict[KeyPath, KeyPath] = field(default_factory=dict)  # made by a ready-made stage -> where it is written
    not_shown: int = 0
    _comparisons: int = 0

    def nearest(self, name: str, known: Iterable[str]) -> str:
        """Return the known name that resembles this one, or an empty text; also after very many mistakes."""
        names = list(known)
        self._comparisons += len(names)
        return nearest(name, names) if self._comparisons <= MAX_COMPARISONS else ""

    def place(self, path: KeyPath) -> Place:
        """Return the place of a key path, or of its nearest parent."""
        for length in range(len(path), 0, -1):
            if (alias := self.aliases.get(tuple(path[:length]))) is not None:
                return self.place((*alias, *path[length:]) if (*alias, *path[length:]) in self.places else alias)
            if (found := self.places.get(tuple(path[:length]))) is not None:
                return Place(self.file, *found)
        return Place(self.file, 1, 1)

    def add(
        self,
        rule: str,
        path: KeyPath,
        *,
        what: str,
        found: str,
        wanted: str,
        do: str,
        grade: Grade = Grade.FAULT,
        part: str = "",
    ) -> None:
        """Add one finding at a key path; after very many only what can hurt."""
        if len(self.findings) >= MAX_FINDINGS and grade is not Grade.DANGER:
            self.not_shown += 1
            return
        place = self.place(path)
        excerpt = self.lines[place.line - 1] if 0 < place.line <= len(self.lines) else ""
        self.findings.append(
            Finding(
                rule=rule,
                grade=grade,
                what=printable(what),
                found=printable(found),
                wanted=printable(wanted),
                do=printable(do),
                part=part,
                place=place,
                source=REFERENCE,
                excerpt=printable(excerpt[:200]) if place.column <= 200 else "",
            )
        )

    def add_validation(
        self, error: ValidationError, path: KeyPath, model: type[BaseModel], who: str, raw: object, part: str = ""
    ) -> None:
        """Add every error of a failed table; where one of several forms would do, all that fail speak as one."""
        at: dict[KeyPath, list[Any]] = {}
        for item in error.errors(include_url=False):
            where = tuple(x for x in item["loc"] if not (isinstance(x, str) and ("[" in x or x in _UNION_NAMES)))
            at.setdefault(where, []).append(item)
        for where, items in at.items():
            if not any(len(deeper) > len(where) and deeper[: len(where)] == where for deeper in at):
                self._one(items, where, path, model, who, raw, part)

    def _one(
        self, items: list[Any], where: KeyPath, path: KeyPath, model: type[BaseModel], who: str, raw: object, part: str
    ) -> None:
        key = ".".join(str(x) for x in where)
        kind = items[0]["type"]
        if kind == "missing":
            self._missing(path, where, model, who, raw, part)
        elif kind == "extra_forbidden":
            self._unknown(path, where, model, who, part)
        else:
            wanted, do = _wanted(items, model, where)
            self.add(
                "bad-value",
                (*path, *where),
                part=part,
                what=f"{who}: {key} cannot be used",
                found=f"{key} = {_short(items[0]['input'])}",
                wanted=wanted,
                do=do,
            )

    def _missing(self, path: KeyPath, where: KeyPath, model: type[BaseModel], who: str, raw: object, part: str) -> None:
        name = str(where[-1])
        written = ", ".join(raw) if isinstance(raw, dict) and raw else "nothing"
        self.add(
            "missing-key",
            path,
            part=part,
            what=f"{who}: {name} is missing",
            found=f"only {written}" if written != "nothing" else "nothing",
            wanted=_description(model, where) or name,
            do=f"write {name} = ... there",
        )

    def _unknown(self, path: KeyPath, where: KeyPath, model: type[BaseModel], who: str, part: str) -> None:
        name, known = str(where[-1]), _known_keys(model, where[:-1])
        close = self.nearest(name, known)
        self.add(
            "unknown-key",
            (*path, *where[:-1], name, "=") if (*path, *where[:-1], name, "=") in self.places else (*path, *where),
            part=part,
            what=f"{who}: unknown key {name!r}",
            found=name,
            wanted=f"one of {', '.join(known)}",
            do=f"write {close!r}" if close else "take it out, or correct its name",
        )


_UNION_NAMES = {"float", "constrained-float", "list", "int", "str"}


def _submodel(model: type[BaseModel], where: KeyPath) -> type[BaseModel]:
    from pydantic import BaseModel  # who only wants a word that resembles another need not load it

    for name in where:
        info = model.model_fields.get(str(name)) if isinstance(name, str) else None
        annotation = info.annotation if info else None
        for candidate in (annotation, *getattr(annotation, "__args__", ())):
            if isinstance(candidate, type) and issubclass(candidate, BaseModel):
                model = candidate
    return model


def _known_keys(model: type[BaseModel], where: KeyPath) -> list[str]:
    return list(_submodel(model, where).model_fields)


def _description(model: type[BaseModel], where: KeyPath) -> str:
    info = _submodel(model, where[:-1]).model_fields.get(str(where[-1])) if where else None
    return (info.description or "") if info else ""


def _short(value: object) -> str:
    text = f'"{value}"' if isinstance(value, str) else str(value)
    return text if len(text) <= 60 else text[:57] + "..."


def _wanted(items: list[Any], model: type[BaseModel], where: KeyPath) -> tuple[str, str]:
    context = items[0].get("ctx") or {}
    if items[0]["type"].startswith("value_"):
        return str(context["wanted"]), str(context.get("do", 'write it as in "4k7", "22n", "5H"'))
    described = _description(model, tuple(x for x in where if not isinstance(x, int)))
    wanted = " or ".join(dict.fromkeys(_form(item) for item in items))
    return (f"{wanted}: {described}" if described else wanted), "correct that value"


def _form(item: Any) -> str:
    words = _WANTED.get(item["type"])
    return words.format(**(item.get("ctx") or {})) if words else str(item["msg"])


_WANTED = {
    "string_type": "text in quotes",
    "float_type": "a number",
    "int_type": "a whole number",
    "bool_type": "true or false",
    "list_type": "a list in square brackets",
    "dict_type": "a table in braces",
    "model_type": "a table in braces",
    "greater_than": "a number above {gt:g}",
    "greater_than_equal": "a number not below {ge:g}",
    "less_than_equal": "a number not above {le:g}",
    "finite_number": "a finite number",
    "too_short": "at least {min_length} entries",
    "too_long": "at most {max_length} entries",
    "string_too_short": "at least {min_length} letter",
    "string_too_long": "at most {max_length} letters",
    "string_pattern_mismatch": "plain text without control characters",
    "literal_error": "{expected}",
}
