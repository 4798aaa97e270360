"""A finding as pages show it."""

from __future__ import annotations

from typing import Any

from lugwright.buildfile.build import Build
from lugwright.findings import Finding


def told_finding(finding: Finding, build: Build | None) -> dict[str, Any]:
    """Return a finding as the template finding.html.jinja shows it."""
    return {
        "grade": finding.grade.value,
        "what": finding.what,
        "found": finding.found,
        "wanted": finding.wanted,
        "do": finding.do,
        "rule": finding.rule,
        "source": finding.source,
        "place": str(finding.place) if finding.place else "",
        "part": part_of(finding.part, build),
    }


def part_of(name: str, build: Build | None) -> str:
    """Return the part that a name is of, such as V1 of V1a and T1 of T1.hv; "" where it is of none."""
    if build is None:
        return ""
    whole = name.partition(".")[0]
    return next((each for each in (whole, whole[:-1]) if each in build.part_by_name), "")
