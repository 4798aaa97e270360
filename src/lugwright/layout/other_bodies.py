"""The same part with another body, of those that are made."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from lugwright.buildfile.build import Capacitor, Part, Resistor
from lugwright.catalogue.load import body_row, body_rows
from lugwright.errors import CatalogueError

RATED_MOST = 4.0  # times the rating the part has now: beyond it a body is no longer the same kind of part
CAPACITORS = {"film": "film capacitor", "electrolytic": "axial electrolytic", "mica": "mica capacitor",
              "ceramic": "ceramic capacitor"}  # fmt: skip


def other_bodies(part: Part) -> list[tuple[str, Part]]:
    """Return the part at the higher ratings that give it another length, with words; the nearest length first."""
    values = part.values
    if not isinstance(values, Resistor | Capacitor):
        return []
    now_mm = values.body.length_mm
    found = sorted(_rated(part, values), key=lambda item: (abs(item[0] - now_mm), item[1]))
    return [
        (f"{part.name}: {words}, a body of {length:g} mm in place of {now_mm:g} mm", other)
        for length, words, other in found
        if length != now_mm
    ]


def _rated(part: Part, values: Resistor | Capacitor) -> Iterator[tuple[float, str, Part]]:
    """Yield (length of the body, rating in words, part) for each rating it is made in, from the present one up."""
    if isinstance(values, Resistor):
        kind = f"{values.style} resistor"
        for watts in sorted({r.watts for r in body_rows(kind) if values.watts <= r.watts <= RATED_MOST * values.watts}):
            row = body_row(kind, watts=watts)
            fitted = replace(values, watts=watts, limiting_v=row.volts, body=row.body)
            yield row.body.length_mm, f"watts = {watts:g}", replace(part, values=fitted)
        return
    kind = CAPACITORS[values.style]
    for volts in sorted({r.volts for r in body_rows(kind) if values.volts <= r.volts <= RATED_MOST * values.volts}):
        try:
            row = body_row(kind, farad=values.farad, volts=volts)
        except CatalogueError:
            continue
        fitted_c = replace(values, volts=volts, body=row.body)
        yield row.body.length_mm, f"volts = {volts:g}", replace(part, values=fitted_c)
