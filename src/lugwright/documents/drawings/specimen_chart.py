"""A measured tube as a chart: what was read, the fitted curves through it, and the published average."""

from __future__ import annotations

from lugwright.documents.drawings.chart import Axis, Series, chart_svg
from lugwright.solve.results import CurveFamily, CurveLine, SpecimenFit

SIZE_MM = (160.0, 110.0)
FITTED, PUBLISHED, READ = 0, 1, 2


def specimen_chart_svg(fit: SpecimenFit, family: CurveFamily) -> str:
    """Return the chart of one electrode's current."""
    lines = [_series(line, FITTED, line.label, named="end") for line in family.fitted]
    lines += [_series(line, PUBLISHED, "published average") for line in family.published]
    lines += [_series(line, READ, "read", joined=False) for line in family.read]
    across = "plate to cathode, V" if family.along == "plate" else "grid to cathode, V"
    return chart_svg(
        [*_one_key_each(lines), Series("fitted", (), style=FITTED)],
        x=Axis(across, low=0.0 if family.along == "plate" else None, high=None if family.along == "plate" else 0.0),
        y=Axis(f"{family.electrode} current, mA", low=0.0),
        title=f"{fit.type} {fit.tube!r}: {family.electrode} current",
        legend="below",
        size_mm=SIZE_MM,
    )


def _series(line: CurveLine, style: int, name: str, *, joined: bool = True, named: str = "legend") -> Series:
    points = tuple((v, 1e3 * a) for v, a in zip(line.volts, line.amps, strict=True))
    return Series(name, points, joined=joined, style=style, named="end" if named == "end" else "legend")


def _one_key_each(lines: list[Series]) -> list[Series]:
    """Return the lines with each name once in the legend."""
    seen: set[str] = set()
    found = []
    for line in lines:
        again = line.named == "legend" and line.name in seen
        seen.add(line.name)
        found.append(
            Series(line.name, line.points, joined=line.joined, style=line.style, named="no") if again else line
        )
    return found
