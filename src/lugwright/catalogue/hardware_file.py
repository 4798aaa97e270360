"""Sockets, strips, wire, bodies and panel parts from their data files."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from lugwright.catalogue.records import Body, BodyRow, PanelPart, SocketType, StripType, WireType
from lugwright.catalogue.table import Table, sources_of
from lugwright.catalogue.wire import awg_diameter_mm, awg_resistance_ohm_per_m
from lugwright.sources import Source

SOCKET_FIGURES = ("pin_count", "pin_circle_mm", "pin_step_deg", "first_pin_deg", "hole_mm", "fixing_centers_mm",
                  "fixing_hole_mm", "lug_height_mm", "leads_per_pin")  # fmt: skip
STRIP_FIGURES = ("pitch_mm", "lug_width_mm", "lug_height_mm", "board_width_mm", "foot_hole_mm", "leads_per_lug")
WIRE_FIGURES = ("conductor_mm", "outside_mm", "insulation_v", "temperature_c", "max_a")
PANEL_FIGURES = ("hole_mm", "lugs", "leads_per_lug", "depth_mm", "width_mm")
WIRE_KINDS = ("solid", "stranded", "bare", "shielded", "mains")


def socket_from(file: Table) -> SocketType:
    """Return the socket a data file describes."""
    sources = sources_of(file)
    socket = SocketType(
        name=file.text("name"),
        pin_count=int(file.figure("pin_count", sources).value),
        pin_circle_mm=file.figure("pin_circle_mm", sources).value,
        pin_step_deg=file.figure("pin_step_deg", sources).value,
        first_pin_deg=file.figure("first_pin_deg", sources).value,
        hole_mm=file.figure("hole_mm", sources).value,
        fixing_centers_mm=file.figure("fixing_centers_mm", sources).value,
        fixing_hole_mm=file.figure("fixing_hole_mm", sources).value,
        lug_height_mm=file.figure("lug_height_mm", sources).value,
        leads_per_pin=int(file.figure("leads_per_pin", sources).value),
        source=file.table("pin_circle_mm").source(sources),
        figures=_figure_sources(file, SOCKET_FIGURES, sources),
    )
    file.done()
    return socket


def strip_from(file: Table) -> StripType:
    """Return the terminal strip a data file describes."""
    sources = sources_of(file)
    strip = StripType(
        name=file.text("name"),
        pitch_mm=file.figure("pitch_mm", sources).value,
        lug_width_mm=file.figure("lug_width_mm", sources).value,
        lug_height_mm=file.figure("lug_height_mm", sources).value,
        board_width_mm=file.figure("board_width_mm", sources).value,
        foot_hole_mm=file.figure("foot_hole_mm", sources).value,
        leads_per_lug=int(file.figure("leads_per_lug", sources).value),
        creepage_group=file.text("creepage_group", one_of=("I", "II", "III")),
        source=file.table("pitch_mm").source(sources),
        figures=_figure_sources(file, STRIP_FIGURES, sources),
    )
    file.done()
    return strip


def wire_from(file: Table) -> WireType:
    """Return the wire a data file describes; diameter (unless stranded) and resistance follow from its gauge."""
    sources = sources_of(file)
    awg = file.whole("awg")
    stranded = file.figure("conductor_mm", sources).value if file.has("conductor_mm") else None
    wire = WireType(
        name=file.text("name"),
        kind=file.text("kind", one_of=WIRE_KINDS),
        awg=awg,
        conductor_mm=round(awg_diameter_mm(awg), 4) if stranded is None else stranded,
        outside_mm=file.figure("outside_mm", sources).value,
        insulation_v=file.figure("insulation_v", sources).value,
        temperature_c=file.figure("temperature_c", sources).value,
        max_a=file.figure("max_a", sources).value,
        ohm_per_m=awg_resistance_ohm_per_m(awg),
        insulation=file.text("insulation"),
        source=file.table("outside_mm").source(sources),
        figures=_figure_sources(file, WIRE_FIGURES, sources),
    )
    file.done()
    return wire


def _figure_sources(file: Table, names: Iterable[str], sources: Mapping[str, Source]) -> dict[str, Source]:
    return {name: file.table(name).source(sources) for name in names if file.has(name)}


def body_rows_from(file: Table) -> Iterator[BodyRow]:
    """Return the rows of one kind of part, as the file lists them."""
    sources = sources_of(file)
    kind = file.text("kind")
    tolerance = file.figure("tolerance", sources).value
    lead = file.figure("lead_mm", sources)
    rows = file.tables("rows")
    file.done()
    for row in rows:
        yield _body_row(row, kind, tolerance, lead.value, sources)


def _body_row(row: Table, kind: str, tolerance: float, lead_mm: float, sources: Mapping[str, Source]) -> BodyRow:
    body = Body(
        row.number("diameter_mm"),
        row.number("length_mm"),
        row.number("lead_mm") if row.has("lead_mm") else lead_mm,
        row.number("grams"),
        row.source(sources),
    )
    ratings = {name: row.number(name) if row.has(name) else 0.0 for name in ("watts", "farad")}
    tolerance = row.number("tolerance") if row.has("tolerance") else tolerance
    found = BodyRow(kind, ratings["watts"], ratings["farad"], row.number("volts"), tolerance, body)
    row.done()
    return found


def panel_part_from(file: Table) -> PanelPart:
    """Return the panel part a data file describes."""
    sources = sources_of(file)
    lugs = file.table("lugs")
    lugs.source(sources)
    places = {name: _three(lugs, name) for name in lugs.keys() if name != "source"}  # noqa: SIM118
    holes = file.tables("extra_holes") if file.has("extra_holes") else ()
    part = PanelPart(
        name=file.text("name"),
        hole_mm=file.figure("hole_mm", sources).value,
        lugs=places,
        leads_per_lug=int(file.figure("leads_per_lug", sources).value),
        depth_mm=file.figure("depth_mm", sources).value,
        width_mm=file.figure("width_mm", sources).value,
        source=file.table("lugs").source(sources),
        extra_holes=tuple(_hole(hole, sources) for hole in holes),
        cutout_mm=_two(file, "cutout_mm") if file.has("cutout_mm") else None,
        figures=_figure_sources(file, PANEL_FIGURES, sources),
    )
    file.done()
    return part


def _three(table: Table, key: str) -> tuple[float, float, float]:
    along, out, height = table.numbers(key, 3)
    return along, out, height


def _two(table: Table, key: str) -> tuple[float, float]:
    width, height = table.numbers(key, 2)
    return width, height


def _hole(hole: Table, sources: Mapping[str, Source]) -> tuple[float, float, float]:
    hole.source(sources)
    place = _three(hole, "at_and_diameter_mm")
    hole.done()
    return place
