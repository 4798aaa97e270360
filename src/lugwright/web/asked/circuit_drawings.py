"""The circuit as the page draws it: stage by stage, idle volts in place, areas to point at."""

from __future__ import annotations

from typing import Any

from lugwright.buildfile.build import Build, Jack, Pot, Speaker, Switch, Tube
from lugwright.buildfile.part_words import part_words
from lugwright.documents.drawings.circuit_stage import StageDrawing, stage_svgs
from lugwright.documents.drawings.circuit_touch import touchable_svg
from lugwright.web.asked.asked import Asked, NoArgs
from lugwright.web.desk import Desk


def _drawings(desk: Desk, args: NoArgs) -> dict[str, Any]:
    opened = desk.opened
    build = opened.written
    drawings: dict[str, list[dict[str, str]]] = {}
    for drawing in stage_svgs(build, opened.idle):
        figure = {"title": drawing.title, "svg": touchable_svg(drawing, _named(build, drawing))}
        drawings.setdefault(drawing.stage, []).append(figure)
    stages = [
        {"name": stage.name, "title": stage.title or stage.name, "figures": drawings[stage.name]}
        for stage in build.stages
        if stage.name in drawings
    ]
    points = [*build.joints, *(p.name for p in build.parts if isinstance(p.values, Speaker))]
    points += [
        str(t) for p in build.parts if isinstance(p.values, Jack | Tube) for t in p.terminals if t.joint != str(t)
    ]
    return {
        "stages": stages,
        "knobs": _knobs(build),
        "points": points,
        "parts": [part.name for part in build.parts],
        "joints": list(build.joints),
    }


def _knobs(build: Build) -> list[str]:
    """Return what a player turns and switches: pots with a label, but those that set the idle, and switches."""
    setting = {stage.name for stage in build.stages if stage.duty in ("bias", "mains", "supply")}
    parts = [part for part in build.parts if part.stage not in setting]
    pots = [part.name for part in parts if isinstance(part.values, Pot) and part.values.label]
    return [*pots, *(part.name for part in parts if isinstance(part.values, Switch))]


def _named(build: Build, drawing: StageDrawing) -> dict[str, tuple[str, str]]:
    """Return part and words of every piece that is drawn, such as V1a or C6.a."""
    found = {}
    for piece in drawing.parts:
        name = part_of_piece(build, piece)
        found[piece] = (name, part_words(build.part(name)))
    return found


def part_of_piece(build: Build, piece: str) -> str:
    """Return the part that a drawn piece or a computed one belongs to: V1a to V1, C6.a to C6, T1.hv to T1."""
    name = piece.partition(".")[0]
    return name if name in build.part_by_name else name.rstrip("abcdefghijklmnopqrstuvwxyz")


CIRCUIT_DRAWINGS = Asked("circuit drawings", _drawings)
