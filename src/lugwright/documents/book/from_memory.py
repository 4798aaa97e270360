"""Every catalogue figure a build rests on that comes from memory: tubes, bodies, sockets, strips, panel parts, wire."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace

from lugwright.buildfile.build import Build, Can, Capacitor, Diode, Part, Resistor, Tube
from lugwright.catalogue.records import Body, PanelPart, SocketType, StripType, TubeType, WireType
from lugwright.documents.book.records import Unconfirmed
from lugwright.documents.drawings.fittings import Fittings
from lugwright.layout.results import Plan
from lugwright.quantities import with_unit
from lugwright.sources import Source

FIGURES = {  # name in the catalogue -> what it is called, its unit
    "plate_w": ("plate heat", "W"), "screen_w": ("screen heat", "W"), "plate_v": ("plate volts", "V"),
    "screen_v": ("screen volts", "V"), "plate_cold_v": ("cold plate volts", "V"),
    "screen_cold_v": ("cold screen volts", "V"), "cathode_a": ("cathode current", "A"),
    "grid_negative_v": ("negative grid volts", "V"), "heater_cathode_v": ("heater to cathode volts", "V"),
    "grid_ohm_fixed": ("grid circuit, fixed bias", "Ω"), "grid_ohm_self": ("grid circuit, cathode bias", "Ω"),
    "inverse_v": ("inverse volts", "V"), "plate_peak_a": ("peak plate current", "A"),
    "output_a": ("output current", "A"), "reservoir_f": ("reservoir", "F"), "plate_rms_v": ("plate volts, rms", "V"),
    "supply_ohm": ("least plate supply resistance", "Ω"),
    "pin_count": ("pins", ""), "pin_circle_mm": ("pin circle", "mm"), "pin_step_deg": ("angle from pin to pin", "°"),
    "first_pin_deg": ("angle from key to pin 1", "°"), "hole_mm": ("hole", "mm"),
    "fixing_centers_mm": ("screws apart", "mm"), "fixing_hole_mm": ("screw holes", "mm"),
    "lug_height_mm": ("lugs above the metal", "mm"), "leads_per_pin": ("most leads to a pin", ""),
    "pitch_mm": ("lug to lug", "mm"), "lug_width_mm": ("lug width", "mm"), "board_width_mm": ("board width", "mm"),
    "foot_hole_mm": ("foot hole", "mm"), "leads_per_lug": ("most leads to a lug", ""),
    "depth_mm": ("depth", "mm"), "width_mm": ("width", "mm"),
    "conductor_mm": ("conductor", "mm"), "outside_mm": ("outside", "mm"), "insulation_v": ("insulation", "V"),
    "temperature_c": ("temperature", "°C"), "max_a": ("current", "A"),
}  # fmt: skip
_PREFIXED = ("A", "F", "Ω")
Hardware = SocketType | StripType | PanelPart | WireType


def figures_from_memory(
    build: Build, fittings: Fittings, wires: Sequence[WireType] = (), plan: Plan | None = None
) -> Iterator[Unconfirmed]:
    """Yield what of the catalogue is from memory, a line for each thing and source.

    ``wires`` is what the reels may hold; only what the plan cuts is named.
    """
    yield from _tubes(build)
    yield from _bodies(build)
    sockets = _users((p.values.socket, p.name) for p in build.parts if isinstance(p.values, Tube))
    strips = _users((strip.type, strip.name) for strip in build.strips)
    panel = _users((row.name, part) for part, row in fittings.panel.items())
    rows = {row.name: row for row in fittings.panel.values()}
    yield from (found for name, of in sockets.items() for found in _hardware("sockets", fittings.sockets[name], of))
    yield from (found for name, of in strips.items() for found in _hardware("strips", fittings.strips[name], of))
    yield from (found for name, of in panel.items() for found in _hardware("panel parts", rows[name], of))
    cut = {wire.type for wire in plan.wires} if plan else set()
    yield from _alike(found for wire in wires if wire.name in cut for found in _hardware("wire", wire, ()))


def _tubes(build: Build) -> Iterator[Unconfirmed]:
    users = _users((p.values.type.name, p.name) for p in build.parts if isinstance(p.values, Tube))
    types = {part.values.type.name: part.values.type for part in build.parts if isinstance(part.values, Tube)}
    for name, of in users.items():
        yield from _lines("tubes", name, of, _tube_figures(types[name]))


def _tube_figures(kind: TubeType) -> Iterator[tuple[str, Source]]:
    yield f"heater {kind.heater.volts:g} V, {kind.heater.amps:g} A", kind.heater.source
    for limit, figure in sorted(kind.limits.items()):
        yield _words(limit, figure.value), figure.source
    if kind.law_source is not None:
        yield "how plate current follows the volts", kind.law_source


def _bodies(build: Build) -> Iterator[Unconfirmed]:
    bodies: dict[tuple[str, Source], dict[str, Body]] = {}
    for part in build.parts:
        body = _body(part)
        if body is not None:
            bodies.setdefault((_kind(part), body.source), {})[part.name] = body
    for (kind, source), of in bodies.items():
        sizes = sorted({(body.diameter_mm, body.length_mm) for body in of.values()})
        words = ", ".join(f"{diameter:g} × {length:g}" for diameter, length in sizes)
        limits = "limiting volts, tolerance, " if kind.endswith("resistor") else ""
        yield from _lines("bodies", kind, tuple(of), [(f"{limits}leads, weight, size {words} mm", source)])


def _body(part: Part) -> Body | None:
    return part.values.body if isinstance(part.values, Resistor | Capacitor | Can | Diode) else None


def _kind(part: Part) -> str:
    style = part.values.style if isinstance(part.values, Resistor | Capacitor) else ""
    return f"{style} {part.kind}".strip()


def _hardware(group: str, row: Hardware, of: tuple[str, ...]) -> Iterator[Unconfirmed]:
    found = [(_hardware_words(row, name), source) for name, source in row.figures.items()]
    yield from _lines(group, row.name, of, found)


def _hardware_words(row: Hardware, name: str) -> str:
    if name == "hole_mm" and isinstance(row, PanelPart) and row.cutout_mm:
        return f"cutout {row.cutout_mm[0]:g} × {row.cutout_mm[1]:g} mm"
    return "where its lugs stand" if name == "lugs" else _words(name, float(getattr(row, name)))


def _words(name: str, value: float) -> str:
    called, unit = FIGURES[name]
    number = with_unit(value, unit) if unit in _PREFIXED else f"{value:g} {unit}".strip()
    return f"{called} {number}"


def _lines(group: str, name: str, of: tuple[str, ...], figures: Iterable[tuple[str, Source]]) -> Iterator[Unconfirmed]:
    by_source: dict[Source, list[str]] = {}
    for words, source in figures:
        if not source.confirmed:
            by_source.setdefault(source, []).append(words)
    for source, found in by_source.items():
        yield Unconfirmed(group, name, of, ", ".join(found), source)


def _alike(figures: Iterable[Unconfirmed]) -> Iterator[Unconfirmed]:
    """Yield wires that share a figure and its source on one line."""
    found: dict[tuple[str, Source], list[Unconfirmed]] = {}
    for figure in figures:
        found.setdefault((figure.what, figure.source), []).append(figure)
    yield from (replace(same[0], name=", ".join(figure.name for figure in same)) for same in found.values())


def _users(pairs: Iterable[tuple[str, str]]) -> Mapping[str, tuple[str, ...]]:
    """Return who uses each name, both in their order."""
    found: dict[str, list[str]] = {}
    for name, user in pairs:
        found.setdefault(name, []).append(user)
    return {name: tuple(of) for name, of in sorted(found.items())}
