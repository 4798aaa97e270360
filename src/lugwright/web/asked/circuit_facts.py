"""What is known of each part and joint at idle, in words, for the card beside the drawing."""

from __future__ import annotations

from collections import defaultdict
from typing import Any

from lugwright.buildfile.build import Build
from lugwright.buildfile.part_words import value_words
from lugwright.circuit.operating import Idle, JointIdle, PartIdle, Rating, TubeIdle
from lugwright.documents.book.mains_side import mains_joints
from lugwright.quantities import with_unit
from lugwright.web.asked.asked import Asked, NoArgs
from lugwright.web.asked.circuit_drawings import part_of_piece
from lugwright.web.asked.part_trials import trials
from lugwright.web.desk import Desk

Rows = list[tuple[str, str]]
LEAST_AC_V = 1.0  # rms; less is ripple, and said as such
STEADY_SHARE = 0.01  # of the peak: a smaller mean says nothing about a piece that alternates
AT_MAINS = "On the mains, {volts:g} V: live with the plug in, before the switch also with it off. It can kill."


def _facts(desk: Desk, args: NoArgs) -> dict[str, Any]:
    opened = desk.opened
    build, idle = opened.written, opened.idle
    mains = mains_joints(build)
    rated = defaultdict(list)
    for rating in opened.ratings[0]:
        rated[part_of_piece(build, rating.part)].append(rating)
    stages = {stage.name: stage.title or stage.name for stage in build.stages}
    pieces = _pieces(build, idle)
    return {
        "parts": {
            part.name: {
                "words": value_words(part.values),
                "stage": stages.get(part.stage, ""),
                "note": part.note,
                "ends": [(str(t), t.joint) for t in part.terminals if t.joint],
                "idle": pieces[part.name],
                "ratings": [_rating(each) for each in rated[part.name]],
                "tries": trials(part),
            }
            for part in build.parts
        },
        "joints": {joint: _joint(build, idle, joint, mains) for joint in build.joints},
    }


def _pieces(build: Build, idle: Idle) -> dict[str, list[dict[str, Any]]]:
    """Return by part what each piece of it carries; what a mains joint carries is never said as harmless volts."""
    found: dict[str, list[dict[str, Any]]] = defaultdict(list)
    for name, tube in idle.tubes.items():
        found[part_of_piece(build, name)].append({"name": name, "rows": _tube(tube)})
    for name, piece in idle.parts.items():
        if name not in idle.tubes:
            found[part_of_piece(build, name)].append({"name": name, "rows": _carries(piece)})
    return found


def _carries(piece: PartIdle) -> Rows:
    alternates = piece.peak_v > 1.05 * abs(piece.volts) + LEAST_AC_V
    rows = []
    if not alternates or abs(piece.volts) > STEADY_SHARE * piece.peak_v:
        rows += [("volts across", with_unit(piece.volts, "V")), ("current", with_unit(piece.amps, "A"))]
    if alternates:
        rows.append(("volts, peak", with_unit(piece.peak_v, "V")))
    if piece.rms_a > 1.05 * abs(piece.amps) + 1e-6:
        rows.append(("current, rms", with_unit(piece.rms_a, "A")))
    return [*rows, ("heat", with_unit(abs(piece.watts), "W"))]


def _tube(tube: TubeIdle) -> Rows:
    rows = []
    if tube.amplifies:  # a rectifier's volts swing with the mains: their mean says nothing
        rows.append(("plate to cathode", with_unit(tube.plate_to_cathode_v, "V")))
        rows.append(("grid to cathode", with_unit(tube.grid_to_cathode_v, "V")))
    rows += [("plate current", with_unit(tube.plate_a, "A")), ("plate heat", with_unit(tube.plate_w, "W"))]
    if tube.screen_to_cathode_v is not None:
        rows += [
            ("screen to cathode", with_unit(tube.screen_to_cathode_v, "V")),
            ("screen current", with_unit(tube.screen_a, "A")),
            ("screen heat", with_unit(tube.screen_w, "W")),
        ]
    if tube.amplifies:
        rows.append(("gm", f"{1e3 * tube.transconductance_a_per_v:.2f} mA/V"))
        rows.append(("plate resistance", with_unit(tube.plate_resistance_ohm, "Ω")))
    return rows


def _rating(rating: Rating) -> dict[str, Any]:
    least = "at least " if rating.at_least else ""
    value, limit = with_unit(rating.value, rating.unit), with_unit(rating.limit, rating.unit)
    return {
        "part": rating.part,
        "what": rating.what,
        "words": f"{value} of {least}{limit} ({rating.share:.0%})",
        "over": rating.share > 1.0,
    }


def _joint(build: Build, idle: Idle, joint: str, mains: frozenset[str]) -> dict[str, Any]:
    meets = [str(terminal) for terminal in build.joints[joint]]
    if joint in mains:
        return {"rows": [], "meets": meets, "danger": AT_MAINS.format(volts=build.mains_v)}
    reading = idle.joints.get(joint)
    return {"rows": _levels(reading) if reading else [], "meets": meets, "danger": ""}


def _levels(reading: JointIdle) -> Rows:
    rows = [("volts to ground, DC", with_unit(reading.volts, "V", figures=4))]
    if reading.ripple_rms_v > max(LEAST_AC_V, 0.3 * abs(reading.volts)):
        return [*rows, ("volts to ground, AC rms", with_unit(reading.ripple_rms_v, "V"))]
    return [*rows, ("ripple, peak to peak", with_unit(reading.ripple_peak_to_peak_v, "V"))]


CIRCUIT_FACTS = Asked("circuit facts", _facts)
