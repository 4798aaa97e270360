"""The cards before the iron is hot: metalwork and mounting."""

from __future__ import annotations

import math
from collections.abc import Iterator

from lugwright.buildfile.build import Build, Can, Jack, Placement, Star, Strip, Transformer, Tube
from lugwright.buildfile.part_words import part_words
from lugwright.workorder.cautions import CAUTIONS
from lugwright.workorder.phases import METALWORK, MOUNTING
from lugwright.workorder.results import Job

PER_CARD = 8
_DIRECTION = ("rear", "right", "front", "left")
_TEMPLATE = (
    "Print the drill template with scaling off and measure both check bars before anything is marked.",
    "Tape it down, center-punch every hole, drill a pilot, then drill or punch to size.",
    "Deburr both faces and every hole a wire passes; grommets into those holes.",
    "Scrape the metal bare where the earth bolt, the feet of the strips and the bond bolt go.",
    "Try every part in its hole, photograph it, take it out again and wash all swarf away.",
)


def metalwork_cards(build: Build) -> list[Job]:
    """Return the card for drilling and deburring."""
    chassis = build.chassis
    size = (
        f"Chassis {chassis.width_mm:g} x {chassis.depth_mm:g} x {chassis.height_mm:g} mm inside, "
        f"{chassis.material} {chassis.thickness_mm:g} mm."
        if chassis
        else "No chassis is stated in the build file."
    )
    return [_card(METALWORK, "Drill, punch, deburr", (size, *_TEMPLATE), ())]


def mounting_cards(build: Build) -> list[Job]:
    """Return the cards for sockets, panel parts, strips, and last the heavy parts."""
    cards = []
    for title, rows in (
        ("Sockets", list(_sockets(build))),
        ("Panel parts", list(_panel(build))),
        ("Terminal strips", [(strip.name, _strip_words(strip)) for strip in build.strips]),
        ("Stars", [(star.name, _star_words(star)) for star in build.stars]),
        ("Cans, choke, transformers", list(_heavy(build))),
    ):
        for start in range(0, len(rows), PER_CARD):
            some = rows[start : start + PER_CARD]
            part = f" ({start // PER_CARD + 1} of {math.ceil(len(rows) / PER_CARD)})" if len(rows) > PER_CARD else ""
            cards.append(
                _card(MOUNTING, f"Mount: {title}{part}", tuple(words for _, words in some), tuple(n for n, _ in some))
            )
    return cards


def _card(phase: str, title: str, text: tuple[str, ...], parts: tuple[str, ...]) -> Job:
    return Job(
        number=0, phase=phase, title=title, text=text, parts=parts, wires=(), leads=(), solder=(), waits=(), covers=(),
        cautions=CAUTIONS[phase],
    )  # fmt: skip


def _placed(build: Build) -> Iterator[tuple[str, Placement]]:
    for part in build.parts:
        if part.name in build.placements:
            yield part.name, build.placements[part.name]


def _sockets(build: Build) -> Iterator[tuple[str, str]]:
    for name, placement in _placed(build):
        part = build.part(name)
        if isinstance(part.values, Tube):
            x, y = placement.at
            yield (
                name,
                f"{part_words(part)} at x {x:g}, y {y:g} mm, turned {placement.turn:g}°: key or gap "
                f"{_toward(placement.turn)}, pins counted clockwise from it on the wiring side.",
            )


def _toward(turn: float) -> str:
    quarter, rest = divmod(turn % 360.0, 90.0)
    direction = _DIRECTION[int(quarter)]
    return f"toward the {direction}" if rest == 0.0 else f"{rest:g}° clockwise of the {direction}"


def _panel(build: Build) -> Iterator[tuple[str, str]]:
    for name, placement in _placed(build):
        if placement.panel == "plate":
            continue
        part = build.part(name)
        along, height = placement.at
        from_end = "the left end" if placement.panel in ("front", "rear") else "the rear end"
        text = f"{part_words(part)} in the {placement.panel} panel, {along:g} mm from {from_end}, {height:g} mm up."
        if isinstance(part.values, Jack) and part.values.isolated:
            text += " Ohmmeter from its sleeve to the metal: over range."
        yield name, text


def _strip_words(strip: Strip) -> str:
    x, y = strip.at
    runs = {0: "to the right", 90: "toward the front", 180: "to the left", 270: "toward the rear"}
    way = runs.get(int(strip.turn % 360), f"turned {strip.turn:g}°")
    feet = " and ".join(str(foot) for foot in strip.feet)
    foot = f"foot at lug {feet}, bolted to bare metal" if feet else "no foot"
    return f"Strip {strip.name}: {strip.lugs} lugs, lug 1 at x {x:g}, y {y:g} mm, lugs run {way}; {foot}."


def _star_words(star: Star) -> str:
    x, y = star.at
    return (
        f"Star {star.name}: {star.lugs} solder lugs in a ring about one screw at x {x:g}, y {y:g} mm, lug 1 to the "
        f"rear, counted clockwise, {star.height_mm:g} mm above the plate on insulating washers. Ohmmeter from its lugs "
        "to the metal: over range."
    )


def _heavy(build: Build) -> Iterator[tuple[str, str]]:
    rows = []
    for name, placement in _placed(build):
        part = build.part(name)
        if placement.panel != "plate" or isinstance(part.values, Tube):
            continue
        x, y = placement.at
        text = f"{part_words(part)} at x {x:g}, y {y:g} mm, turned {placement.turn:g}°."
        if isinstance(part.values, Transformer):
            text += " Leads through their grommets, not cut yet."
        rows.append((0 if isinstance(part.values, Can) else 1, name, text))
    for _, name, text in sorted(rows, key=lambda row: row[0]):
        yield name, text
