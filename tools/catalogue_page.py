"""Write docs/reference/catalogue.md from the data files.

python tools/catalogue_page.py
"""

from __future__ import annotations

from dataclasses import fields
from pathlib import Path

from lugwright.catalogue import load
from lugwright.catalogue.records import BodyRow, TubeType
from lugwright.quantities import with_unit

PAGE = Path(__file__).parents[1] / "docs/reference/catalogue.md"
INTRO = """# Catalogue

Made by `tools/catalogue_page.py` from the data files in `src/lugwright/catalogue/data`; change those, not this page.

A figure without a source does not load. A source marked *(from memory)* was not at hand when the figure was written:
look it up on the maker's sheet before you rely on it. Voltages in these circuits kill; a limit in a table is no
statement that working near it is safe.

**How a data file is written.** One type, one file, TOML. `[sources.NAME]` states `title`, `edition`, `read`
(`sheet`, `quotation`, `memory` or `derived`) and `accuracy`; every figure is `{ value = ..., source = "NAME" }`, in
volts, amperes, ohms, farads, watts and millimeters. Unknown keys, missing figures and missing sources are refused
with file and key.

**Limits.** *Design-center* ratings are meant for nominal mains and parts, *design-maximum* ratings for the worst
case. A limit that is not known is left out, and the check that needs it is not made. `grid_negative_v` is a
magnitude. Rectifiers: `supply_ohm` is the least total resistance per plate at the lowest voltage of the sheet's
rows; the rows themselves are in the file (`supply`).

**Capacitances.** Inside the glass, cold, without socket. For pentodes and beam tetrodes `grid_cathode_f` is what
sheets call input capacitance (grid to everything but the plate) and `plate_cathode_f` the output capacitance.

**Laws.** `[law]` is written by `tools/fit_tube.py`, which fits the equations of `lugwright.circuit.tubes` to the
`published` rows of the same file and notes how well they are met. Rows on which sheets contradict each other are
marked `disputed`. Real tubes are looser than any law: the spread says how far plate current strays between them.
"""


def page() -> str:
    """Return the page."""
    tubes = [load.tube_type(name) for name in load.tube_names()]
    parts = [INTRO, "## Tubes\n", *(_tube(tube) for tube in tubes), "## Sockets\n", _sockets(tubes), "## Strips\n"]
    parts += [_strips(), "## Wire\n", _wire(), "## Bodies of parts\n", *(_bodies(kind) for kind in load.body_kinds())]
    parts += ["## Panel parts\n", _panel()]
    return "\n".join(parts)


def _table(head: tuple[str, ...], rows: list[tuple[str, ...]]) -> str:
    lines = [head, tuple("---" for _ in head), *rows]
    return "\n".join("| " + " | ".join(cells) + " |" for cells in lines) + "\n"


def _tube(tube: TubeType) -> str:
    pins = ", ".join(
        f"{f'{letter}.' if letter else ''}{electrode} {'/'.join(map(str, numbers))}"
        for letter, electrode, numbers in tube.terminals()
    )
    also = f" Also called {', '.join(tube.aliases)}." if tube.aliases else ""
    heater = f"Heater {with_unit(tube.heater.volts, 'V')}, {with_unit(tube.heater.amps, 'A')}."
    limits = [(f"`{name}`", f"{figure.value:g}", str(figure.source)) for name, figure in tube.limits.items()]
    lines = [
        f"### {tube.name}\n",
        f"{tube.kind.capitalize()}, {tube.socket} socket.{also} {heater} Spread ±{100 * tube.spread:.0f} %.\n",
        f"Pins: {pins}.\n",
        *(f"- {note}" for note in tube.notes),
        *([""] if tube.notes else []),
        _table((f"limit ({tube.rating_system})", "value", "source"), limits),
        *_capacitances(tube),
        f"Law: {tube.law_source.accuracy if tube.law_source else 'none'}.\n",
    ]
    return "\n".join(lines)


def _capacitances(tube: TubeType) -> list[str]:
    """Return the table of capacitances, nothing for a type without."""
    rows = []
    for letter, section in tube.capacitances.items():
        known = [(f.name, getattr(section, f.name)) for f in fields(section)]
        rows += [(letter or "-", f"`{n}`", f"{1e12 * c.value:.4g}", str(c.source)) for n, c in known if c]
    return [_table(("section", "capacitance", "pF", "source"), rows)] if rows else []


def _sockets(tubes: list[TubeType]) -> str:
    rows = []
    for name in ("B7G", "noval", "octal"):
        s = load.socket_type(name)
        fits = ", ".join(tube.name for tube in tubes if tube.socket == name) or "-"
        numbers = (s.pin_circle_mm, s.pin_step_deg, s.first_pin_deg, s.hole_mm, s.fixing_centers_mm)
        rows.append((name, str(s.pin_count), *(f"{n:g}" for n in numbers), str(s.leads_per_pin), fits))
    head = ("socket", "pins", "pin circle mm", "step deg", "pin 1 deg", "hole mm", "screws mm", "leads", "tubes")
    return "Pins count clockwise seen from the wiring side.\n\n" + _table(head, rows)


def _strips() -> str:
    strips = [load.strip_type(name) for name in load.strip_names()]
    rows = [
        (
            s.name,
            *(f"{n:g}" for n in (s.pitch_mm, s.lug_width_mm, s.lug_height_mm)),
            str(s.leads_per_lug),
            s.creepage_group,
        )
        for s in strips
    ]
    return _table(("strip", "pitch mm", "lug width mm", "lug height mm", "leads a lug", "material group"), rows)


def _wire() -> str:
    rows = [
        (
            w.name,
            *(
                f"{n:.4g}"
                for n in (w.conductor_mm, w.outside_mm, 1000 * w.ohm_per_m, w.insulation_v, w.temperature_c, w.max_a)
            ),
            w.insulation,
        )
        for w in load.wire_types()
    ]
    return _table(("wire", "conductor mm", "outside mm", "mΩ/m", "V", "°C", "A", "insulation"), rows)


def _bodies(kind: str) -> str:
    def cells(row: BodyRow) -> tuple[str, ...]:
        rating = with_unit(row.watts, "W") if row.watts else with_unit(row.farad, "F")
        body = row.body
        numbers = (body.diameter_mm, body.length_mm, body.lead_mm, body.grams)
        return (rating, f"{row.volts:g}", f"±{100 * row.tolerance:g} %", *(f"{n:g}" for n in numbers), str(body.source))

    head = ("up to", "V", "tolerance", "diameter mm", "length mm", "lead mm", "g", "source")
    return f"### {kind}\n\n" + _table(head, [cells(row) for row in load.body_rows(kind)])


def _panel() -> str:
    parts = [load.panel_part(name) for name in load.panel_part_names()]
    rows = [
        (p.name, f"{p.cutout_mm[0]:g} x {p.cutout_mm[1]:g}" if p.cutout_mm else f"{p.hole_mm:g}", f"{p.depth_mm:g}",
         ", ".join(p.lugs) if len(p.lugs) < 10 else f"{len(p.lugs)} lugs", str(p.source))
        for p in parts
    ]  # fmt: skip
    return _table(("part", "hole mm", "depth mm", "lugs", "source"), rows)


if __name__ == "__main__":
    PAGE.write_text(page(), encoding="utf-8")
