"""A tube type from its data file."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields, replace

from lugwright.catalogue.records import (
    TUBE_LIMITS,
    Capacitances,
    Figure,
    Heater,
    PentodeLaw,
    RectifierLaw,
    TriodeLaw,
    TubeLaw,
    TubeSection,
    TubeType,
)
from lugwright.catalogue.table import Table, sources_of
from lugwright.catalogue.tube_doubt import PublishedRow, power_doubt
from lugwright.sources import Source

CONFIDENCE = ("read", "high", "medium", "low")
USES = ("fit", "check", "disputed")
KINDS = ("double triode", "triode", "pentode", "beam tetrode", "rectifier")
ELECTRODES = ("plate", "grid", "screen", "suppressor", "cathode", "shield", "plate1", "plate2")
_LAWS: dict[str, type[TriodeLaw] | type[PentodeLaw] | type[RectifierLaw]] = {
    "triode": TriodeLaw,
    "pentode": PentodeLaw,
    "rectifier": RectifierLaw,
}
_ROW_NUMBERS = ("plate_v", "screen_v", "grid_v", "plate_a", "screen_a", "gm_s", "rp_ohm", "mu", "screen_mu")
COUPLED_ROW = (
    "supply_v", "plate_ohm", "next_ohm", "cathode_ohm", "screen_ohm", "plate_a", "cathode_a", "gain",
    "output_rms_v", "distortion",
)  # fmt: skip
FULL_DRIVE_ROW = (
    "plate_v", "screen_v", "grid_v", "drive_v", "load_ohm", "tap", "plate_a", "screen_a", "cathode_a", "power_w",
    "distortion",
)  # fmt: skip
SUPPLY_ROW = ("mains_hz", "plate_rms_v", "output_a", "supply_ohm", "reservoir_f", "output_v")


def tube_from(file: Table) -> TubeType:
    """Return the tube type a data file describes; CatalogueError where it is not complete and sourced."""
    if file.whole("schema") != 1:
        file.fail("schema", found=str(file.whole("schema")), wanted="1")
    sources = sources_of(file)
    law, law_source = _law(file)
    kind = file.text("kind", one_of=KINDS)
    published, driven = _published(file, sources), _driven(file, sources)
    supplies = _circuit_rows(file, "supply", SUPPLY_ROW, sources)
    stated = file.text("power_doubt") if file.has("power_doubt") else None
    tube = TubeType(
        name=file.text("name"),
        aliases=file.texts("aliases"),
        kind=kind,
        socket=file.text("socket"),
        sections=_sections(file.table("pins"), sources),
        heater=_heater(file.table("heater"), sources),
        limits=_limits(file.table("limits"), sources),
        law=law,
        law_source=law_source,
        spread=file.figure("spread", sources).value,
        sources=sources,
        idle_figures=tuple(row.figures for row in published if not row.tied),
        supply_rows=supplies,
        full_drive=tuple(row.figures for row in driven),
        coupled_stages=_circuit_rows(file, "coupled_stages", COUPLED_ROW, sources),
        rating_system=file.table("limits").text("system"),
        notes=file.texts("notes") if file.has("notes") else (),
        capacitances=_capacitances(file, sources),
        power_doubt=stated or power_doubt(kind, published, driven, len(supplies)),
    )
    file.done()
    return tube


def _sections(pins: Table, sources: Mapping[str, Source]) -> tuple[TubeSection, ...]:
    pins.source(sources)
    if pins.has("a"):
        sections = tuple(TubeSection(letter, _electrodes(pins.table(letter))) for letter in ("a", "b"))
    else:
        sections = (TubeSection("", _electrodes(pins.table("tube"))),)
    pins.done()
    return sections


def _electrodes(section: Table) -> dict[str, tuple[int, ...]]:
    for name in section.keys():  # noqa: SIM118
        if name not in ELECTRODES:
            section.fail(name, found="an unknown electrode", wanted=", ".join(ELECTRODES))
    return {name: section.wholes(name) for name in ELECTRODES if section.has(name)}


def _heater(heater: Table, sources: Mapping[str, Source]) -> Heater:
    volts, amps = heater.figure("volts", sources), heater.figure("amps", sources)
    pins = heater.table("pins")
    found = {name: pins.whole(name) for name in ("heater1", "heater2", "heater_tap") if pins.has(name)}
    pins.done()
    for name in ("heater1", "heater2"):
        if name not in found:
            pins.fail(name, found="nothing", wanted="a whole number")
    record = Heater(volts.value, amps.value, found, amps.source, heater.flag("is_cathode"), heater.flag("filament"))
    heater.done()
    return record


def _capacitances(file: Table, sources: Mapping[str, Source]) -> dict[str, Capacitances]:
    if not file.has("capacitances"):
        return {}
    entry = file.table("capacitances")
    found = {}
    for key, letter in (("tube", ""), ("a", "a"), ("b", "b")):
        if entry.has(key):
            section = entry.table(key)
            names = [f.name for f in fields(Capacitances) if section.has(f.name)]
            found[letter] = Capacitances(**{name: section.figure(name, sources) for name in names})
            section.done()
    entry.done()
    return found


def _limits(limits: Table, sources: Mapping[str, Source]) -> dict[str, Figure]:
    limits.text("system")
    found = {name: limits.figure(name, sources) for name in TUBE_LIMITS if limits.has(name)}
    limits.done()
    return found


def _law(file: Table) -> tuple[TubeLaw | None, Source | None]:
    if not file.has("law"):
        return None, None
    entry = file.table("law")
    record = _LAWS[entry.text("kind", one_of=tuple(_LAWS))]
    values = {f.name: entry.number(f.name) for f in fields(record) if entry.has(f.name)}
    missing = [f.name for f in fields(record) if f.name not in values]
    if missing:
        entry.fail(missing[0], found="nothing", wanted="a number")
    source = Source(entry.text("source"), read="derived", accuracy=entry.text("accuracy"))
    entry.has("left_out_power")  # how far a fit missed each fitted pair it had not seen: for the reference page
    entry.done()
    return record(**values), source


def _published(file: Table, sources: Mapping[str, Source]) -> tuple[PublishedRow, ...]:
    return tuple(
        _row(row, _ROW_NUMBERS, sources) for row in (file.tables("published") if file.has("published") else ())
    )


def _driven(file: Table, sources: Mapping[str, Source]) -> tuple[PublishedRow, ...]:
    rows = []
    for row in file.tables("full_drive") if file.has("full_drive") else ():
        tubes = 1.0 if row.text("mode", one_of=("single", "push-pull", "ultralinear")) == "single" else 2.0
        found = _row(row, FULL_DRIVE_ROW, sources)
        rows.append(replace(found, figures={**found.figures, "tubes": tubes}))
    return tuple(rows)


def _row(row: Table, names: tuple[str, ...], sources: Mapping[str, Source]) -> PublishedRow:
    row.source(sources)
    use = row.text("use", one_of=USES)
    confidence = row.text("confidence", one_of=CONFIDENCE)
    row.has("note")
    # A triode-connected row is no point of the pentode.
    found = PublishedRow(use, confidence, row.has("connection"), {n: row.number(n) for n in names if row.has(n)})
    row.done()
    return found


def _circuit_rows(
    file: Table, key: str, names: tuple[str, ...], sources: Mapping[str, Source]
) -> tuple[Mapping[str, float], ...]:
    rows = []
    for row in file.tables(key) if file.has(key) else ():
        row.source(sources)
        if row.has("use"):
            row.text("use", one_of=USES)
        if row.has("confidence"):
            row.text("confidence", one_of=CONFIDENCE)
        row.has("note")
        rows.append({name: row.number(name) for name in names if row.has(name)})
        row.done()
    return tuple(rows)
