"""What is wrong with a build: collected, shown all at once, never raised."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum


class Grade(Enum):
    """How bad a finding is, worst first."""

    DANGER = "danger"  # can hurt a person; cannot be silenced
    FAULT = "fault"  # will not work, or will burn
    DOUBT = "doubt"  # may not work
    NOTE = "note"  # worth knowing

    @property
    def rank(self) -> int:
        """Return 0 for the worst grade."""
        return list(Grade).index(self)


@dataclass(frozen=True)
class Place:
    """A place in a file a person wrote."""

    file: str
    line: int = 0
    column: int = 0

    def __str__(self) -> str:
        """Return ``file:line:column``, leaving out what is not known."""
        return ":".join([self.file, *(str(n) for n in (self.line, self.column) if n)])


@dataclass(frozen=True)
class Finding:
    """One thing that is wrong, doubtful or worth knowing, in four lines."""

    rule: str
    grade: Grade
    what: str
    found: str
    wanted: str
    do: str
    part: str = ""
    place: Place | None = None
    source: str = ""
    excerpt: str = ""

    def __str__(self) -> str:
        """Return the finding as it is printed, plain text."""
        head = f"{self.place}: " if self.place else ""
        lines = [f"{head}{self.grade.value}: {self.what} [{self.rule}]"]
        if self.excerpt and self.place:
            lines.append(f"{self.place.line:>5} | {self.excerpt}")
            lines.append(f"      | {' ' * (self.place.column - 1)}^")
        lines += [f"  found:  {self.found}", f"  wanted: {self.wanted}", f"  do:     {self.do}"]
        return "\n".join(lines)


def sorted_by_grade(findings: list[Finding]) -> list[Finding]:
    """Return the findings worst first, then by place in the file, rule and part."""
    return sorted(
        findings,
        key=lambda f: (f.grade.rank, f.place.line if f.place else 0, f.place.column if f.place else 0, f.rule, f.part),
    )
